"""How the values of a profile are described: a tagged union of what a characteristic may carry, strict and bounded."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, StringConstraints, model_validator

from drivers.gatt import SIG_VALUES
from drivers.reading import Quantity

from .fields import (
    MAX_FRAME,
    At,
    Bits,
    Counter,
    Exponent,
    Factor,
    Form,
    ModeField,
    Order,
    Role,
    Strict,
    Unit,
    UnitField,
    UnitText,
    Uuid,
    one_quantity,
    quantity_of,
)
from .template import Template, TemplateError


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
        _not_a_length_stream(self.role, value.quantity)
        return self


class DescribedValue(ValueBase):
    """A number that descriptor 0x2904 describes, with a unit we know."""

    decode: Literal["described"]
    characteristic: Uuid | Literal["any"] = "any"


def _not_a_length_stream(role: Role, quantity: Quantity) -> None:
    if role != "reading" and quantity != "torque":
        raise ValueError(f"a length can only be a reading, not a {role}")


WIDTHS: dict[Form, tuple[int, ...]] = {
    **dict.fromkeys(("unsigned", "signed", "sign-magnitude", "bcd"), (8, 16, 24, 32, 40, 48, 56, 64)),
    "float": (32, 64),
    "medical": (16, 32),
}
"""Form -> the widths it comes in, in bits."""


def _check_number(form: Form, width: int, mask: int | None, sign: Bits | None) -> None:
    allowed = WIDTHS[form]
    if width not in allowed:
        raise ValueError(f'width of form "{form}" is one of {", ".join(map(str, allowed))}, not {width}')
    if sign is not None and form not in {"unsigned", "bcd"}:
        raise ValueError(f'a sign of its own is for "unsigned" and "bcd"; "{form}" has one already')
    bits = format(mask, "b") if mask is not None else ""
    if bits and (form in {"float", "medical"} or len(bits) > width or "1" in bits.rstrip("0").lstrip("1")):
        raise ValueError("a mask is for whole numbers, within the width, and its bits are in one piece")


def _check_units(unit: Unit | None, units: UnitField | None) -> None:
    if (unit is None) == (units is None):
        raise ValueError("give a unit, or the bits that say it ([values.units]), and not both")


class NumberForm(Strict):
    """How a number lies in a frame, and what it says of its unit."""

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
    unit: Unit | None = None
    units: UnitField | None = None
    """In place of a fixed unit: the bits that say it."""

    @model_validator(mode="after")
    def _is_one_number(self) -> Self:
        _check_units(self.unit, self.units)
        _check_number(self.form, self.width, self.mask, self.sign)
        return self

    @property
    def reach(self) -> int:
        """Octets that a frame has at least."""
        ends = [each.at + 1 for each in (self.sign, self.units) if each]
        return max([self.offset + self.width // 8, *ends])


class OtherWay(NumberForm):
    """Another way to read the number of a frame; its keys mean what they mean of a number."""


class NumberValue(ValueBase, NumberForm):
    """A number at an offset of a frame."""

    decode: Literal["number"]
    characteristic: Uuid
    factor: Factor | None = None
    """Exact decimal that the number is multiplied with besides, such as "0.03125"."""
    lengths: tuple[Annotated[int, Field(ge=1, le=MAX_FRAME)], ...] = Field(default=(), max_length=16)
    """Octets of a frame; a frame of another length is another kind of message and is set aside."""
    header: tuple[Bits, ...] = Field(default=(), max_length=32)
    """What marks this kind of message; a frame without it is set aside."""
    fixed: tuple[Bits, ...] = Field(default=(), max_length=MAX_FRAME)
    """Bits whose change has a meaning that is not known: a frame in which they differ gives no reading."""
    agree: tuple[OtherWay, ...] = Field(default=(), max_length=16)
    """Other ways to read it that no frame has ruled out: where one of them says something else there is no reading."""
    button: Bits | None = None
    """Bits that are so in a frame that was asked for by the button; another frame is set aside."""
    counter: Counter | None = None
    mode: ModeField | None = None
    """The bits that say the mode of the tool."""
    unknown: int | None = None
    """What the number is, before it is scaled, when the tool means "not known"."""

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        self._check_reach()
        _not_a_length_stream(self.role, self.quantity)
        return self

    def _check_reach(self) -> None:
        if self.lengths and self.reach > min(self.lengths):
            raise ValueError(f"it reaches octet {self.reach - 1}, beyond a frame of {min(self.lengths)} octets")
        if self.reach > MAX_FRAME:
            raise ValueError(f"it reaches beyond the {MAX_FRAME} octets of a frame")

    @property
    def reach(self) -> int:
        """Octets that a frame has at least."""
        ends = [each.at + 1 for each in (*self.header, *self.fixed, self.button, self.mode) if each]
        ends += [each.reach for each in self.agree]
        ends += [self.counter.at + self.counter.octets] if self.counter else []
        return max([super().reach, *ends])

    @property
    def quantity(self) -> Quantity:
        """What it measures."""
        if self.units is not None:
            return quantity_of(self.units.cases[0].unit)
        return quantity_of(self.unit or "")


def _template(text: str) -> str:
    try:
        Template.parse(text)
    except TemplateError as error:
        raise ValueError(str(error)) from None
    return text


class TextBase(ValueBase):
    """A number written out in text."""

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
    def _consistent(self) -> Self:
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
        one_quantity(case.unit for case in self.units)
        _not_a_length_stream(self.role, self.quantity)
        return self

    @property
    def _picture_mark(self) -> str:
        return next((mark for mark in ".," if self.picture and mark in self.picture), "none")

    @property
    def quantity(self) -> Quantity:
        """What it measures."""
        return quantity_of(self.unit or self.units[0].unit)


class TextValue(TextBase):
    """A number written out in text over a characteristic."""

    decode: Literal["text"]
    characteristic: Uuid


class TypedValue(TextBase):
    """A number that a tool types as a keyboard does, one a line; what ends the line is taken off before."""

    decode: Literal["typed"]
    characteristic: Literal["keys"] = "keys"
    role: Literal["reading"] = "reading"


Value = Annotated[SigValue | DescribedValue | NumberValue | TextValue | TypedValue, Field(discriminator="decode")]
