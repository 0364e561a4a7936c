"""When a profile takes a streamed length to stand still."""

from fractions import Fraction
from typing import Annotated

from pydantic import AfterValidator, Field

from .fields import Amount, Strict

_MILLIMETRES: dict[str, Fraction] = {
    "mm": Fraction(1),
    "µm": Fraction(1, 1000),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction("25.4"),
    "ft": Fraction("304.8"),
    "thou": Fraction("0.0254"),
}
"""Exact by definition of the inch (international yard and pound agreement, 1959)."""


def _length(text: str) -> str:
    if text.split()[1] not in _MILLIMETRES:
        raise ValueError(f"{text!r} is not a length")
    return text


Length = Annotated[Amount, AfterValidator(_length)]


class Steady(Strict):
    """When a streamed value stands still."""

    band: Length
    """Between the lowest and the highest value while it stands, at most."""
    for_ms: int = Field(ge=100, le=10_000)
    """How long it stands, in milliseconds."""
    away: Length
    """How far it moves from what was read last before it can be read again; more than this."""


COMMON = Steady(band="0.02 mm", for_ms=600, away="0.20 mm")
"""For a profile that states none: two steps of a common caliper, for as long as a look takes (ours, no source)."""


def length_in(amount: str, unit: str) -> Fraction:
    """Return a length such as "0.02 mm", exactly, in another unit of length."""
    number, of = amount.split()
    return Fraction(number) * _MILLIMETRES[of] / _MILLIMETRES[unit]
