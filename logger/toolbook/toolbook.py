"""The tools one owns: identity, what is stated of them, calibration, who added and who retired them; pure.

A tool is known by its serial number or, where it tells none, by the name that a person confirmed at its display. An
address is kept as evidence and is never an identity.
"""

import re
from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from drivers.reading import RADIO, ToolState
from drivers.typed import TYPED
from logger.confined import Confined, Line, Name
from logger.errors import BadInput
from logger.sheets.written import ToolKind
from logger.units import unit_of

TORQUE_KINDS = frozenset({"torque wrench", "setting wrench"})
_RESERVED = frozenset({TYPED, RADIO})


ToolId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,23}$")]
"""The short name a person uses: letters, digits, `_` and `-`, at most 24, beginning with a letter."""
Told = Annotated[str, StringConstraints(max_length=64)]
"""What a tool tells of itself, as it came."""
Day = Annotated[str, StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
Instant = Annotated[str, StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:.]{8,15}Z$")]
Amount = Annotated[str, StringConstraints(pattern=r"^[0-9]{1,6}(\.[0-9]{1,6})? [^ ]{1,8}$")]
"""A number and a unit of the tool's own kind, such as "0.03 mm"; an accuracy may be in %: "4 %"."""
Factor = Annotated[str, StringConstraints(pattern=r"^[0-9]{1,2}(\.[0-9]{1,4})?$")]


class Retired(Confined):
    """A tool that is not to be used any more; it stays in the book."""

    when: Instant
    by: Name
    why: Line


class Tool(Confined):
    """One tool; amounts are text with their unit, an accuracy may be in %; dates are YYYY-MM-DD."""

    id: ToolId
    kind: ToolKind
    serial: Told = ""
    """Its own serial number: its identity."""
    pin: Told = ""
    """The name it advertises, as its identity where it tells no serial number."""
    address: Told = ""
    """Where it answered when it was added: evidence, no identity."""
    model: Told = ""
    profile: Told = ""
    accuracy: Amount | None = None
    """The largest error as plus or minus."""
    of_reference: bool = False
    """Whether an accuracy in % is of the true value, as ISO 6789 has it for torque."""
    resolution: Amount | None = None
    calibration_u: Amount | None = None
    """The expanded uncertainty of its calibration."""
    calibration_k: Factor = "2"
    calibrated: Day | None = None
    due: Day | None = None
    certificate: Told = ""
    compared: Told = ""
    """The value on its display that was found equal to the one received, when it was added."""
    added: Instant
    added_by: Name
    retired: Retired | None = None

    @property
    def identity(self) -> str:
        """What the drivers call it; empty for a tool without a radio."""
        return self.serial or self.pin

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.id.lower() in _RESERVED:
            raise ValueError(f'"{self.id}" is a word of the program; choose another id')
        if self.serial and self.pin:
            raise ValueError("give a serial or a pin, not both: a tool has one identity")
        if not re.search(r"[1-9]", self.calibration_k):
            raise ValueError("calibration_k is a coverage factor, such as 2")
        for day in (self.calibrated, self.due):
            _known_day(day)
        if self.calibrated and self.due and self.due < self.calibrated:
            raise ValueError(f"due {self.due} lies before calibrated {self.calibrated}")
        for key in ("accuracy", "resolution", "calibration_u"):
            _fits(key, getattr(self, key), self.kind)
        return self


def _known_day(day: str | None) -> None:
    if day is not None:
        try:
            date.fromisoformat(day)
        except ValueError:
            raise ValueError(f"{day} is no day of the calendar") from None


def _fits(key: str, amount: str | None, kind: str) -> None:
    if amount is None:
        return
    number, _, unit = amount.partition(" ")
    if not re.search(r"[1-9]", number):
        raise ValueError(f"{key} {amount} is zero; leave it out where it is not known")
    if unit == "%":
        if key == "resolution":
            raise ValueError(f"resolution {amount} is in %; write the step of its display")
        return
    found, wanted = unit_of(unit), "torque" if kind in TORQUE_KINDS else "length"
    if found is None or found[0] != wanted:
        raise ValueError(f"{key} {amount} is no {wanted}, as a {kind} has it")


class Toolbook(Confined):
    """The whole book; a tool that was retired keeps its id for ever, so that a trail's words keep their meaning."""

    format: Literal[1] = 1
    tool: tuple[Tool, ...] = Field(default=(), max_length=200)

    @model_validator(mode="after")
    def _once(self) -> Self:
        for twice in _twice(tool.id.lower() for tool in self.tool):
            raise ValueError(f"the id {twice} stands twice")
        for twice in _twice(tool.identity for tool in self.active if tool.identity):
            raise ValueError(f"two tools that are in use have the identity {twice!r}")
        clash = {tool.id for tool in self.active} & {t.identity for t in self.active if t.identity != t.id}
        if clash:
            raise ValueError(f"{min(clash)} is the id of one tool and the identity of another")
        return self

    @property
    def active(self) -> tuple[Tool, ...]:
        """The tools that are in use."""
        return tuple(tool for tool in self.tool if tool.retired is None)


def _twice(names: Iterable[str]) -> list[str]:
    return [name for name, times in Counter(names).items() if times > 1]


def find(book: Toolbook, name: str) -> Tool | None:
    """Return the tool in use with this id or this identity, or None."""
    return next((tool for tool in book.active if name and name in (tool.id, tool.identity)), None)


def identified(book: Toolbook, identity: str) -> Tool | None:
    """Return the tool in use with this identity, or None; a device that calls itself by an id is not that tool."""
    return next((tool for tool in book.active if tool.identity and tool.identity == identity), None)


def known(book: Toolbook, state: ToolState) -> Tool | None:
    """Return the tool in use that a tool in reach claims to be, or None."""
    return identified(book, state.serial or state.tool)


def added(book: Toolbook, tool: Tool) -> Toolbook:
    """Return the book with one more tool; BadInput when its id or its identity is taken."""
    if any(tool.id.lower() == each.id.lower() for each in book.tool):
        raise BadInput(f"The id {tool.id} is taken (a retired tool keeps its id too).", "Choose another with --id.")
    other = find(book, tool.identity)
    if other is not None:
        raise BadInput(
            f"This tool is in the toolbook already, as {other.id}.",
            f"To state something else of it: evenhand tools retire {other.id} WHY, then add it again.",
        )
    if find(book, tool.id) is not None:
        raise BadInput(f"{tool.id} is what another tool is known by.", "Choose another with --id.")
    return Toolbook(tool=(*book.tool, tool))


def retired(book: Toolbook, name: str, how: Retired) -> Toolbook:
    """Return the book with a tool retired; BadInput when there is none in use of that id."""
    found = next((tool for tool in book.active if tool.id.lower() == name.lower()), None)
    if found is None:
        ids = ", ".join(tool.id for tool in book.active) or "none"
        raise BadInput(f"No tool in use has the id {name!r}.", f"In use: {ids}.")
    gone = found.model_copy(update={"retired": how})
    return Toolbook(tool=tuple(gone if tool is found else tool for tool in book.tool))
