"""A number written out in text: a message <-> exact value and unit, both ways, without I/O or state."""

from decimal import Decimal
from functools import cache

from drivers.gatt import plain, within_reason
from drivers.octets import FrameError, Number, Special, shift
from drivers.profile.fields import UnitCase
from drivers.profile.template import Found, Template
from drivers.profile.values import TextBase

from .said import AsideError, Said


def read_text(value: TextBase, message: bytes) -> Said:
    """Return what a message without its terminator says; AsideError where it does not look like the pattern."""
    found = _found(value, message)
    case = _text_unit(value, found)
    number = shift(_digits(value, found.number), case.power(value.exponent))
    within_reason(number)
    return Said(number, case.unit, value.quantity)


def _found(value: TextBase, message: bytes) -> Found:
    text = text_of(message)
    found = _template(value.pattern).match(text.removesuffix(value.terminator))
    if found is None:
        raise AsideError("It does not look like the pattern of a reading.")
    return found


def text_of(message: bytes) -> str:
    """Return the text of a message: UTF-8, or Latin-1 where it is not that."""
    try:
        return message.decode("utf-8")
    except UnicodeDecodeError:
        return message.decode("latin-1")


def _text_unit(value: TextBase, found: Found) -> UnitCase:
    if value.unit is not None:
        return UnitCase(unit=value.unit)
    for case in value.units:
        if case.equals == found.unit.strip(" "):
            return case
    raise FrameError(f"Its unit {found.unit!r} is not one that the profile knows.")


def _digits(value: TextBase, text: str) -> Decimal:
    """Read the number: one declared decimal mark, and the fixed format where there is one."""
    number = text.replace(" ", "")
    whole, mark, decimals = number.partition(value.mark)
    if not (whole.lstrip("+-") + decimals).isdecimal() or "," in whole + decimals or "." in whole + decimals:
        raise FrameError(f"{text!r} has not the decimal mark that the profile names.")
    if value.picture is not None and (mark or value.mark == "none") and _like(value.picture, text):
        return Decimal(f"{whole}.{decimals}" if mark else whole)
    if value.picture is not None:
        raise FrameError(f"{text!r} has not the fixed format {value.picture} that the profile names.")
    return Decimal(f"{whole}.{decimals}" if mark else whole)


def _like(picture: str, text: str) -> bool:
    shape = picture.lstrip("+-")
    sign = {"+": ("+", "-"), "-": ("", "-")}.get(picture[0], ("",))
    bare = text.lstrip("+-")
    same = len(bare) == len(shape) and all(
        a == b or (b == "0" and a.isdigit()) for a, b in zip(bare, shape, strict=True)
    )
    return same and text[: len(text) - len(bare)] in sign


def write_text(value: TextBase, number: Number, unit: str, over: bytes = b"") -> bytes:
    """Return the message of a value, its terminator included; what is ignored stays as it is in `over`.

    FrameError when the format cannot carry the number or the unit.
    """
    if isinstance(number, Special):
        raise FrameError(f"A text cannot say {number}.")
    before = _found(value, over) if over else None
    case, spelled = _spelled(value, unit, before)
    exact = shift(number, -case.power(value.exponent))
    drawn = _pictured(value, exact) if value.picture else _free(value, exact, before.number if before else "")
    end = value.terminator if not over or over.endswith(value.terminator.encode()) else ""
    text = _template(value.pattern).fill(drawn, spelled, before) + end
    try:
        return text.encode("latin-1" if over and text_of(over).encode("utf-8") != over else "utf-8")
    except UnicodeEncodeError:
        raise FrameError(f"{text!r} cannot be written in the characters of the message before.") from None


def _spelled(value: TextBase, unit: str, before: Found | None) -> tuple[UnitCase, str]:
    if value.unit == unit:
        return UnitCase(unit=value.unit), ""
    cases = [case for case in value.units if case.unit == unit]
    if not cases:
        raise FrameError(f"This format cannot say {unit}.")
    if before and before.unit.strip(" ") in {case.equals for case in cases}:
        return _text_unit(value, before), before.unit
    return cases[0], cases[0].equals


def _pictured(value: TextBase, number: Decimal) -> str:
    picture = value.picture or ""
    whole, _, decimals = picture.lstrip("+-").partition(value.mark)
    count = shift(number, len(decimals))
    digits = str(abs(int(count))).rjust(len(whole) + len(decimals), "0")
    if count != count.to_integral_value() or len(digits) > len(whole) + len(decimals):
        raise FrameError(f"{plain(number)} does not fit in {picture}.")
    sign = "-" if number.is_signed() else "+" if picture.startswith("+") else ""
    if sign == "-" and picture[0] not in "+-":
        raise FrameError(f"{plain(number)} does not fit in {picture}: it has no sign.")
    return f"{sign}{digits[: len(whole)]}{value.mark if decimals else ''}{digits[len(whole) :]}"


def _free(value: TextBase, number: Decimal, like: str) -> str:
    """Write a number with no fixed format; padding and a plus sign are as in the text before."""
    exponent = number.as_tuple().exponent
    if value.mark == "none" and isinstance(exponent, int) and exponent < 0:
        raise FrameError(f"{plain(number)} is not a whole count.")
    digits = format(number.copy_abs(), "f").replace(".", value.mark)
    bare = like.lstrip(" ").lstrip("+-").lstrip(" ")
    digits = digits.rjust(len(bare), "0") if bare.startswith("0") else digits
    sign = "-" if number.is_signed() else "+" if "+" in like else ""
    lead = like[: len(like) - len(like.lstrip(" "))]
    inner = like[len(lead) :].lstrip("+-")
    gap = inner[: len(inner) - len(inner.lstrip(" "))]
    return f"{lead}{sign}{gap}{digits}"


@cache
def _template(pattern: str) -> Template:
    return Template.parse(pattern)
