"""A number at an offset of a frame: octets <-> exact value and unit, both ways, without I/O or state."""

from decimal import Context, Decimal, Inexact

from drivers.gatt import within_reason
from drivers.octets import FLOAT, FLOAT32, FLOAT64, SFLOAT, FrameError, Number, NumberFormat, Special, shift
from drivers.profile.fields import Bits, ModeCode, Unit, UnitCase
from drivers.profile.values import NumberValue, OtherWay

from .said import AsideError, Said

EXACT = Context(prec=60, traps=[Inexact])
"""64 bits have twenty digits and a factor 24 at most; what would be rounded is refused."""
_FLOATS: dict[tuple[str, int], NumberFormat] = {
    ("float", 32): FLOAT32,
    ("float", 64): FLOAT64,
    ("medical", 16): SFLOAT,
    ("medical", 32): FLOAT,
}


def read_number(value: NumberValue, frame: bytes) -> Said:
    """Return what a frame says; AsideError for another kind of message, FrameError when it gives no reading."""
    _check_kind(value, frame)
    _check_fixed(value, frame)
    case, mode = _unit_of(value, frame), _mode_of(value, frame)
    number = field_number(value, frame)
    if isinstance(number, Special) or number == value.unknown:
        return Said(number if isinstance(number, Special) else Special.NOT_KNOWN, case.unit, value.quantity, mode)
    if value.sign is not None and value.sign.hold(frame):
        number = number.copy_negate()  # keeps the sign of a zero, so that the frame can be written again
    scaled = shift(number, case.power(value.exponent))
    _check_agreed(value, frame, scaled, case.unit)
    scaled = scaled if value.factor is None else EXACT.multiply(scaled, value.factor)
    within_reason(scaled)
    return Said(scaled, case.unit, value.quantity, mode)


def _check_kind(value: NumberValue, frame: bytes) -> None:
    if value.lengths and len(frame) not in value.lengths:
        raise AsideError(f"It has {_octets(frame)}, as another kind of message.")
    if not all(bits.hold(frame) for bits in value.header):
        raise AsideError("Its first octets are those of another kind of message.")
    if len(frame) < value.reach:
        raise FrameError(f"It has {_octets(frame)} where {value.reach} are needed.")
    if value.button is not None and not value.button.hold(frame):
        raise AsideError("Its button was not pressed.")


def _octets(frame: bytes | bytearray) -> str:
    return f"{len(frame)} octet{'' if len(frame) == 1 else 's'}"


def _check_fixed(value: NumberValue, frame: bytes) -> None:
    for bits in value.fixed:
        if changed := (frame[bits.at] & bits.mask) ^ bits.equals:
            raise FrameError(
                f"Octet {bits.at} has bits (0x{changed:02X}) whose meaning the profile does not know; "
                "learn the tool again with such a reading."
            )


def _check_agreed(value: NumberValue, frame: bytes, scaled: Decimal, unit: str) -> None:
    for other in value.agree:
        if _said_otherwise(other, frame) != (scaled, unit):
            raise FrameError(
                "It can be read in more than one way, which nothing has told apart so far; "
                "learn the tool again with such a reading."
            )


def _said_otherwise(other: OtherWay, frame: bytes) -> tuple[Decimal, str] | None:
    """Return what a frame says by another way of reading, or None where that way gives no number."""
    try:
        case, number = _unit_of(other, frame), field_number(other, frame)
    except FrameError:
        return None
    if isinstance(number, Special):
        return None
    number = number.copy_negate() if other.sign is not None and other.sign.hold(frame) else number
    return shift(number, case.power(other.exponent)), case.unit


def _unit_of(value: NumberValue | OtherWay, frame: bytes) -> UnitCase:
    if value.units is None:
        return UnitCase(unit=_some(value.unit))
    code = frame[value.units.at] & value.units.mask
    for case in value.units.cases:
        if case.equals == code:
            return case
    raise FrameError(f"Its unit code 0x{code:02X} is not one that the profile knows.")


def _mode_of(value: NumberValue, frame: bytes) -> str:
    if value.mode is None:
        return ""
    case = _mode_case(value, frame)
    if case is None:
        code = frame[value.mode.at] & value.mode.mask
        raise FrameError(f"Its mode code 0x{code:02X} is not one that the profile knows.")
    if not case.reads:
        raise FrameError(f"The tool is in the mode {case.mode!r}, which gives no reading; set it to another mode.")
    return case.mode


def _mode_case(value: NumberValue, frame: bytes) -> ModeCode | None:
    field = value.mode
    if field is None:
        return None
    return next((case for case in field.cases if case.equals == frame[field.at] & field.mask), None)


def _some(unit: Unit | None) -> Unit:
    if unit is None:
        raise FrameError("The profile names no unit.")
    return unit


def field_number(value: NumberValue | OtherWay, frame: bytes) -> Number:
    """Return the number in the field, before sign bit, scale and unit; FrameError where there is none."""
    field = frame[value.offset : value.offset + value.width // 8]
    if (form := _FLOATS.get((value.form, value.width))) is not None:
        return form.decode(field if value.order == "little" else field[::-1])
    mask, low = _mask(value)
    raw = (int.from_bytes(field, value.order) & mask) >> low
    width = (mask >> low).bit_length()
    if value.form == "bcd":
        digits = format(raw, "x")
        if not digits.isdecimal():
            raise FrameError("Its field holds no decimal digits.")
        return Decimal(digits)
    top = 1 << (width - 1)
    if value.form == "signed" and raw & top:
        return Decimal(raw - 2 * top)
    if value.form == "sign-magnitude" and raw & top:
        return Decimal(raw - top).copy_negate()
    return Decimal(raw)


def _mask(value: NumberValue | OtherWay) -> tuple[int, int]:
    mask = (1 << value.width) - 1 if value.mask is None else value.mask
    return mask, (mask & -mask).bit_length() - 1


def write_number(value: NumberValue, number: Number, unit: str, over: bytes = b"") -> bytes:
    """Return the frame of a value; what the profile does not describe is as in the frame `over`, or zero.

    FrameError when this layout cannot carry the number or the unit.
    """
    frame = bytearray(over or bytes(max([value.reach, *value.lengths[:1]])))
    if len(frame) < value.reach:
        raise FrameError(f"It has {_octets(frame)} where {value.reach} are needed.")
    case = _write_unit(value, unit, frame)
    for bits in (*value.header, *value.fixed, *((value.button,) if value.button else ())):
        _write_bits(bits, frame)
    _write_mode(value, frame)
    if isinstance(number, Special):
        count: Number = Decimal(value.unknown) if value.unknown is not None and number is Special.NOT_KNOWN else number
    else:
        count = shift(_divided(number, value.factor), -case.power(value.exponent))
        if value.sign is not None:
            negative = count.is_signed() and (bool(count) or bool(over))
            _write_sign(value.sign, frame, negative)
            count = count.copy_abs()
    _write_field(value, count, frame)
    return bytes(frame)


def _divided(number: Decimal, factor: Decimal | None) -> Decimal:
    if factor is None:
        return number
    try:
        return EXACT.divide(number, factor)
    except Inexact:
        raise FrameError(f"{number} is not a whole count of {factor}.") from None


def _write_unit(value: NumberValue, unit: str, frame: bytearray) -> UnitCase:
    if value.units is None:
        if unit != value.unit:
            raise FrameError(f"This layout cannot say {unit}.")
        return UnitCase(unit=_some(value.unit))
    for case in value.units.cases:
        if case.unit == unit:
            _write_bits(Bits(at=value.units.at, mask=value.units.mask, equals=case.equals), frame)
            return case
    raise FrameError(f"This layout cannot say {unit}.")


def _write_mode(value: NumberValue, frame: bytearray) -> None:
    """Leave a mode that reads as it is; a frame that says none gets the first that does."""
    found = _mode_case(value, bytes(frame))
    if value.mode is not None and (found is None or not found.reads):
        code = next(case.equals for case in value.mode.cases if case.reads)
        _write_bits(Bits(at=value.mode.at, mask=value.mode.mask, equals=code), frame)


def _write_bits(bits: Bits, frame: bytearray) -> None:
    frame[bits.at] = frame[bits.at] & ~bits.mask | bits.equals


def _write_sign(sign: Bits, frame: bytearray, negative: bool) -> None:
    if sign.hold(bytes(frame)) != negative:
        frame[sign.at] = frame[sign.at] & ~sign.mask | (sign.equals if negative else ~sign.equals & sign.mask)


def _write_field(value: NumberValue, count: Number, frame: bytearray) -> None:
    size = value.width // 8
    if (form := _FLOATS.get((value.form, value.width))) is not None:
        field = form.encode(count)
        frame[value.offset : value.offset + size] = field if value.order == "little" else field[::-1]
        return
    mask, low = _mask(value)
    whole = int.from_bytes(frame[value.offset : value.offset + size], value.order)
    raw = _raw_of(value, count, (mask >> low).bit_length())
    frame[value.offset : value.offset + size] = (whole & ~mask | raw << low).to_bytes(size, value.order)


def _raw_of(value: NumberValue, count: Number, width: int) -> int:
    if isinstance(count, Special) or count != count.to_integral_value():
        raise FrameError(f"{count} is not a whole count.")
    number, top = int(count), 1 << (width - 1)
    if value.form == "bcd":
        raw = int(str(number), 16) if number >= 0 else -1
    elif value.form == "signed":
        raw = number % (2 * top) if -top <= number < top else -1
    elif value.form == "sign-magnitude":
        raw = abs(number) | (top if count.is_signed() else 0) if abs(number) < top else -1
    else:
        raw = number
    if not 0 <= raw < 2 * top:
        raise FrameError(f"{count} does not fit in {width} bits.")
    return raw
