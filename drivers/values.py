"""How the values of a profile are described: a tagged union of what a characteristic may carry, strict and bounded."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, model_validator

from .gatt import SIG_VALUES, uuid16
from .reading import Quantity
from .template import Template, TemplateError

MAX_FRAME = 512
"""Octets of one notification at most: the longest attribute value of the Bluetooth Core Specification."""


class Strict(BaseModel):
    """A frozen, strict model that refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


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


def quantity_of(unit: str) -> Quantity:
    """Return what a unit of a profile measures."""
    return "length" if unit in LENGTHS else "torque"


class ValueBase(Strict):
    """What every value says."""

    role: Role
    """"reading": one value per press; "stream": values all the time; "peak": the peak of a pull."""
    user_description: str | None = Field(default=None, min_length=1, max_length=64)
    """Text of descriptor 0x2901; tells two characteristics of one UUID apart. A value without it takes a
    characteristic that has none, or that is the only one of its UUID."""


class SigValue(ValueBase):
    """A value of a Bluetooth SIG type: Torque, Length or Linear Position."""

    decode: Literal["sig"]
    characteristic: Uuid

    @model_validator(mode="after")
    def _known(self) -> "SigValue":
        value = SIG_VALUES.get(self.characteristic)
        if value is None:
            raise ValueError('decode "sig" knows 0x2C0B (torque), 0x2C0A (length), 0x2C08 (linear position)')
        if self.role != "reading" and value.quantity != "torque":
            raise ValueError(f"a length can only be a reading, not a {self.role}")
        return self


class DescribedValue(ValueBase):
    """A number that descriptor 0x2904 describes, with a unit we know."""

    decode: Literal["described"]
    characteristic: Uuid | Literal["any"] = "any"


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


class UnitCase(Strict):
    """The unit that a code of the unit field, or the text after the number, stands for."""

    unit: Unit
    """The unit that is meant."""
    exponent: Exponent | None = None
    """Power of ten in this unit, where it differs from that of the value."""


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
        _one_quantity(case.unit for case in self.cases)
        return self


def _one_quantity(units: Iterable[Unit]) -> None:
    if len({quantity_of(unit) for unit in units}) > 1:
        raise ValueError("one value is a length or a torque, not now this and now that")


WIDTHS: dict[Form, tuple[int, ...]] = {
    **dict.fromkeys(("unsigned", "signed", "sign-magnitude", "bcd"), (8, 16, 24, 32, 40, 48, 56, 64)),
    "float": (32, 64),
    "medical": (16, 32),
}


class NumberValue(ValueBase):
    """A number at an offset of a frame."""

    decode: Literal["number"]
    characteristic: Uuid
    form: Form
    """"medical" is SFLOAT (16 bits) or FLOAT (32 bits); the sign of "sign-magnitude" is the top bit."""
    offset: At
    """Where its first octet is in the frame, the first is 0."""
    width: int
    """In bits: 8 to 64 in whole octets; 32 or 64 for "float", 16 or 32 for "medical"."""
    order: Order = "little"
    mask: int | None = Field(default=None, ge=1)
    """Which bits of the field are the number, in one piece; none of a float."""
    sign: Bits | None = None
    """Bits that are so when the number is negative; for "unsigned" and "bcd"."""
    exponent: Exponent = 0
    """Power of ten that the number is multiplied with."""
    factor: Factor | None = None
    """Exact decimal that the number is multiplied with besides, such as "0.03125"."""
    unit: Unit | None = None
    units: UnitField | None = None
    """In place of a fixed unit: the bits that say it."""
    lengths: tuple[Annotated[int, Field(ge=1, le=MAX_FRAME)], ...] = Field(default=(), max_length=16)
    """Octets of a frame; a frame of another length is another kind of message and is set aside."""
    header: tuple[Bits, ...] = Field(default=(), max_length=32)
    """What marks this kind of message; a frame without it is set aside."""
    fixed: tuple[Bits, ...] = Field(default=(), max_length=MAX_FRAME)
    """Bits whose change has a meaning that is not known: a frame in which they differ gives no reading."""
    button: Bits | None = None
    """Bits that are so in a frame that was asked for by the button; another frame is set aside."""
    counter: Counter | None = None
    unknown: int | None = None
    """What the number is, before it is scaled, when the tool means "not known"."""

    @model_validator(mode="after")
    def _consistent(self) -> "NumberValue":
        allowed = WIDTHS[self.form]
        if self.width not in allowed:
            raise ValueError(f'width of form "{self.form}" is one of {", ".join(map(str, allowed))}, not {self.width}')
        if (self.unit is None) == (self.units is None):
            raise ValueError("give a unit, or the bits that say it ([values.units]), and not both")
        if self.sign is not None and self.form not in {"unsigned", "bcd"}:
            raise ValueError(f'a sign of its own is for "unsigned" and "bcd"; "{self.form}" has one already')
        self._check_mask()
        self._check_reach()
        _not_a_length_stream(self.role, self.quantity)
        return self

    def _check_mask(self) -> None:
        if self.mask is None:
            return
        bits = format(self.mask, "b")
        if self.form in {"float", "medical"} or len(bits) > self.width or "1" in bits.rstrip("0").lstrip("1"):
            raise ValueError("a mask is for whole numbers, within the width, and its bits are in one piece")

    def _check_reach(self) -> None:
        if self.lengths and self.reach > min(self.lengths):
            raise ValueError(f"it reaches octet {self.reach - 1}, beyond a frame of {min(self.lengths)} octets")
        if self.reach > MAX_FRAME:
            raise ValueError(f"it reaches beyond the {MAX_FRAME} octets of a frame")

    @property
    def reach(self) -> int:
        """Octets that a frame has at least."""
        bits = [*self.header, *self.fixed, *(b for b in (self.sign, self.button) if b)]
        ends = [self.offset + self.width // 8, *(each.at + 1 for each in bits)]
        ends += [self.units.at + 1] if self.units else []
        return max([*ends, self.counter.at + self.counter.octets if self.counter else 0])

    @property
    def quantity(self) -> Quantity:
        """What it measures."""
        if self.units is not None:
            return quantity_of(self.units.cases[0].unit)
        return quantity_of(self.unit or "")


def _not_a_length_stream(role: Role, quantity: Quantity) -> None:
    if role != "reading" and quantity != "torque":
        raise ValueError(f"a length can only be a reading, not a {role}")


def _template(text: str) -> str:
    try:
        Template.parse(text)
    except TemplateError as error:
        raise ValueError(str(error)) from None
    return text


class TextValue(ValueBase):
    """A number written out in text."""

    decode: Literal["text"]
    characteristic: Uuid
    pattern: Annotated[str, StringConstraints(min_length=8, max_length=120), AfterValidator(_template)]
    """What a message looks like: text as it is, and {number}, {unit}, {digits} or {word} (ignored), {space}."""
    mark: Literal[".", ",", "none"] = "."
    """The decimal mark; it is never guessed."""
    picture: Annotated[str, StringConstraints(max_length=24, pattern=r"^[+-]?0{1,12}([.,]0{1,9})?$")] | None = None
    """The number's fixed format, such as "+0000.00": "+" always a sign, "-" only where negative, none never."""
    exponent: Exponent = 0
    """Power of ten that the number is multiplied with."""
    unit: Unit | None = None
    units: tuple[UnitText, ...] = Field(default=(), max_length=32)
    """In place of a fixed unit: what the text at {unit} stands for; another text gives no reading."""
    terminator: str = Field(default="", max_length=4)
    """What ends a message, such as "\\r\\n"; a message may come in several notifications. Empty: each one is whole."""

    @model_validator(mode="after")
    def _consistent(self) -> "TextValue":
        template = Template.parse(self.pattern)
        if (self.unit is None) == (not self.units):
            raise ValueError("give a unit, or what the unit's text stands for ([[values.units]]), and not both")
        if template.has("unit") != bool(self.units):
            raise ValueError("the pattern has {unit} when, and only when, [[values.units]] are given")
        texts = [case.equals for case in self.units]
        if len(set(texts)) < len(texts):
            raise ValueError("each text of a unit stands once")
        if self.picture is not None and self._picture_mark != self.mark:
            raise ValueError(f"the picture {self.picture!r} has another decimal mark than {self.mark!r}")
        _one_quantity(case.unit for case in self.units)
        _not_a_length_stream(self.role, self.quantity)
        return self

    @property
    def _picture_mark(self) -> str:
        return next((mark for mark in ".," if self.picture and mark in self.picture), "none")

    @property
    def quantity(self) -> Quantity:
        """What it measures."""
        return quantity_of(self.unit or self.units[0].unit)


Value = Annotated[SigValue | DescribedValue | NumberValue | TextValue, Field(discriminator="decode")]
