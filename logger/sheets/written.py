"""What the keys of a sheet are made of: quantities with their unit, windows, titles, lines; read from text."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StringConstraints
from pydantic_core import PydanticCustomError

from logger.confined import Id, Line
from logger.errors import BadInput
from logger.units import Quantity, parse_quantity

ToolKind = Literal["caliper", "depth gauge", "tape", "rule", "torque wrench", "setting wrench"]
"""A setting wrench clicks at what it was set to; a torque wrench measures."""
Fastener = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_-]{0,31}(\.[a-z][a-z0-9_-]{0,31})?$")]
"""A torque step, or one of its fasteners: `axle_nut` or `lock_nuts.left`."""


def _quantity(value: object) -> Quantity:
    """Read a quantity; an error pydantic can collect, so that all problems of a sheet are told at once."""
    if isinstance(value, Quantity):
        return value
    if not isinstance(value, str):
        raise PydanticCustomError("quantity", "a quantity is text with a unit", {"found": value})
    try:
        return parse_quantity(value)
    except BadInput as error:
        raise PydanticCustomError("quantity", "{why}", {"why": str(error), "found": value}) from error


def as_tuple(value: object) -> object:
    """Return a list as a tuple; anything else as it is, for its own key to judge."""
    return tuple(value) if isinstance(value, list) else value


def _window(value: object) -> tuple[Quantity, ...]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise PydanticCustomError("window", "a window is a list of two quantities", {"found": value})
    return tuple(_quantity(item) for item in value)


Text = Annotated[Quantity, BeforeValidator(_quantity)]
"""A quantity written as text with its unit, "36 mm"."""
Window = Annotated[tuple[Quantity, Quantity], BeforeValidator(_window)]
"""The lowest and the highest value that pass, limits included, both in the unit as written."""
Guarded = Literal["both", "low", "high"]
Title = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=r"\S")]
"""What is read first; up to 34 characters can be read from two metres."""
Aside = Annotated[str, StringConstraints(max_length=300)]
"""A line that may be left out."""
Lines = Annotated[tuple[Line, ...], BeforeValidator(as_tuple)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(as_tuple)]
