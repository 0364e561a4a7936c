"""What the values of a profile are made of: UUIDs, units, and bits of a frame that say something; bounded."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, model_validator

from drivers.gatt import uuid16
from drivers.reading import Quantity

MAX_FRAME = 512
"""Octets of one notification at most: the longest attribute value of the Bluetooth Core Specification."""


class Strict(BaseModel):
    """A frozen, strict model that refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", defer_build=True)


def full_uuid(text: str) -> str:
    """Return the full lower-case UUID of "0x2C0B", "2C0B" or a full one; ValueError for anything else."""
    short = text.lower().removeprefix("0x")
    if re.fullmatch(r"[0-9a-f]{4}", short):
        return uuid16(int(short, 16))
    if re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", short):
        return short
    raise ValueError(f"{text!r} is not a UUID; write four hexadecimal digits or the full form")


Uuid = Annotated[str, Field(max_length=40), AfterValidator(full_uuid)]
Role = Literal["reading", "stream", "peak"]
Unit = Literal[
    "mm", "µm", "cm", "m", "in", "ft", "thou",
    "N·m", "cN·m", "dN·m", "daN·m", "N·cm", "kgf·m", "kgf·cm", "lbf·ft", "lbf·in", "ozf·in",
]  # fmt: skip
LENGTHS = frozenset({"mm", "µm", "cm", "m", "in", "ft", "thou"})
_AMOUNT = rf"^[0-9]{{1,6}}(\.[0-9]{{1,6}})? ({'|'.join(get_args(Unit))}|%)$"
Amount = Annotated[str, StringConstraints(max_length=24, pattern=_AMOUNT)]
"""A number and a unit, such as "0.01 mm"; an accuracy may be in % of the reading."""


def quantity_of(unit: str) -> Quantity:
    """Return what a unit of a profile measures."""
    return "length" if unit in LENGTHS else "torque"


Form = Literal["unsigned", "signed", "sign-magnitude", "bcd", "float", "medical"]
Order = Literal["little", "big"]
Exponent = Annotated[int, Field(ge=-12, le=6)]
Factor = Annotated[Decimal, Field(gt=0, allow_inf_nan=False, max_digits=24)]
Octet = Annotated[int, Field(ge=0, le=255)]
At = Annotated[int, Field(ge=0, lt=MAX_FRAME)]


class Bits(Strict):
    """Bits of one octet, and what they must be."""

    at: At
    """Which octet of the frame, the first is 0."""
    mask: Octet = 0xFF
    """Which of its bits."""
    equals: Octet
    """What the octet is under the mask."""

    @model_validator(mode="after")
    def _within(self) -> "Bits":
        if not self.mask or self.equals & ~self.mask:
            raise ValueError(f"equals {self.equals} has bits that the mask {self.mask} leaves out, or the mask is 0")
        return self

    def hold(self, frame: bytes) -> bool:
        """Say whether the bits of a frame are so; a frame too short for it has no such bits."""
        return self.at < len(frame) and frame[self.at] & self.mask == self.equals


class Counter(Strict):
    """Octets that count the frames: a frame sent twice has the same count."""

    at: At
    """Where its first octet is."""
    octets: int = Field(default=1, ge=1, le=4)
    """How many octets."""

    def read(self, frame: bytes, order: Order) -> int | None:
        """Return the count of a frame, or None when it is too short to have one."""
        end = self.at + self.octets
        return int.from_bytes(frame[self.at : end], order) if end <= len(frame) else None

    def missed(self, before: int, now: int) -> int:
        """Return how many frames are missing between two counts; a count that went back began anew."""
        turns = 1 << (8 * self.octets)
        ahead = (now - before) % turns
        return ahead - 1 if 1 <= ahead < turns // 2 else 0


class UnitCase(Strict):
    """The unit that a code of the unit field, or the text after the number, stands for."""

    unit: Unit
    """The unit that is meant."""
    exponent: Exponent | None = None
    """Power of ten in this unit, where it differs from that of the value."""

    def power(self, usual: int) -> int:
        """Return the power of ten in this unit; `usual` is that of the value."""
        return usual if self.exponent is None else self.exponent


class UnitCode(UnitCase):
    """The unit that a code of the unit field stands for."""

    equals: Octet
    """What the octet is under the mask."""


class UnitText(UnitCase):
    """The unit that the text after the number stands for."""

    equals: str = Field(min_length=1, max_length=12, pattern=r"^\S(.*\S)?$")


class UnitField(Strict):
    """Which bits of a frame say the unit; a code that is not listed gives no reading."""

    at: At
    """Which octet of the frame says the unit, the first is 0."""
    mask: Octet = 0xFF
    """Which of its bits."""
    cases: tuple[UnitCode, ...] = Field(min_length=1, max_length=32)
    """What each code stands for."""

    @model_validator(mode="after")
    def _distinct(self) -> "UnitField":
        codes = [case.equals for case in self.cases]
        if len(set(codes)) < len(codes) or any(code & ~self.mask for code in codes):
            raise ValueError("each code of a unit field stands once, and has no bits that the mask leaves out")
        one_quantity(case.unit for case in self.cases)
        return self


def one_quantity(units: Iterable[Unit]) -> None:
    """ValueError where some of the units are of length and some of torque."""
    if len({quantity_of(unit) for unit in units}) > 1:
        raise ValueError("one value is a length or a torque, not now this and now that")


class ModeCode(Strict):
    """The mode that a code of the mode field stands for."""

    equals: Octet
    """What the octet is under the mask."""
    mode: str = Field(pattern=r"^[a-z][a-z ]{0,22}[a-z]$")
    """What the tool's display or its manual calls it, such as "absolute" or "held"."""
    reads: bool = True
    """Whether a value in this mode is a reading; where it is not, it is kept and the person is told."""


class ModeField(Strict):
    """Which bits of a frame say the mode of the tool; a code that is not listed gives no reading."""

    at: At
    """Which octet of the frame says the mode, the first is 0."""
    mask: Octet = 0xFF
    """Which of its bits."""
    cases: tuple[ModeCode, ...] = Field(min_length=1, max_length=32)
    """What each code stands for."""

    @model_validator(mode="after")
    def _distinct(self) -> "ModeField":
        codes = [case.equals for case in self.cases]
        if len(set(codes)) < len(codes) or any(code & ~self.mask for code in codes):
            raise ValueError("each code of a mode field stands once, and has no bits that the mask leaves out")
        if not any(case.reads for case in self.cases):
            raise ValueError("at least one mode gives readings")
        return self
