"""Units and exact quantities: text -> exact decimal and unit; limits are converted once, readings never.

Units come from a closed table, because a general unit parser reads `Nm` as a yarn count and `12,5 mm` as 125 mm.
Each unit is bound to an expression of pint, which gives the exact factor between two units once; pint is imported
only then, since building its registry takes a third of a second.
"""

import functools
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, NamedTuple

from .errors import BadInput

if TYPE_CHECKING:
    import pint

Kind = Literal["length", "torque", "distance", "angle", "share", "time"]
"""Kinds never convert into each other: a slack is not a mileage, though both are metres."""

MAX_TEXT = 64
MAX_DIGITS = 12


class _Unit(NamedTuple):
    kind: Kind
    name: str
    pint: str
    aliases: tuple[str, ...] = ()
    caseless: bool = False
    """Whether FT-LB means ft-lb; never for SI, where the case of a letter is a factor of a thousand."""


def _products(firsts: str, seconds: str) -> tuple[str, ...]:
    """Spell a compound unit every way the trade does: "lb·ft", "lbft", "ft·lb", "ftlb" (separators are folded)."""
    pairs = [(a, b) for a in firsts.split() for b in seconds.split()]
    both = pairs + [(b, a) for a, b in pairs]
    return tuple(a + between + b for a, b in both for between in ("·", ""))


_UNITS = (
    _Unit("length", "mm", "millimeter"),
    _Unit("length", "µm", "micrometer", ("um",)),
    _Unit("length", "cm", "centimeter"),
    _Unit("length", "m", "meter"),
    _Unit("length", "in", "inch", ('"', "″", "inch", "inches"), caseless=True),
    _Unit("length", "ft", "foot", ("'", "′", "foot", "feet"), caseless=True),
    _Unit("length", "thou", "thou", ("mil", "mils"), caseless=True),
    _Unit("torque", "N·m", "newton * meter", ("Nm", "NM", "N·M")),
    _Unit("torque", "cN·m", "centinewton * meter", ("cNm",)),
    _Unit("torque", "dN·m", "decinewton * meter", ("dNm",)),
    _Unit("torque", "daN·m", "decanewton * meter", ("daNm",)),
    _Unit("torque", "N·cm", "newton * centimeter", ("Ncm",)),
    _Unit("torque", "kgf·m", "kgf * meter", _products("kgf kg kp", "m")),
    _Unit("torque", "kgf·cm", "kgf * centimeter", _products("kgf kg kp", "cm")),
    _Unit("torque", "lbf·ft", "lbf * foot", _products("lbf lb lbs", "ft"), caseless=True),
    _Unit("torque", "lbf·in", "lbf * inch", _products("lbf lb lbs", "in"), caseless=True),
    _Unit("torque", "ozf·in", "force_ounce * inch", _products("ozf oz", "in"), caseless=True),
    _Unit("distance", "km", "kilometer"),
    _Unit("distance", "mi", "mile", ("mile", "miles"), caseless=True),
    _Unit("angle", "deg", "degree", ("°",)),
    _Unit("share", "%", "percent"),
    _Unit("time", "h", "hour"),
)
_BY_NAME = {unit.name: unit for unit in _UNITS}
_EXACT = {alias: unit for unit in _UNITS for alias in (unit.name, *unit.aliases)}
_CASELESS = {alias: unit for alias, unit in _EXACT.items() if unit.caseless}

_SEPARATOR = re.compile(r" *[·⋅∙•.*-] *| +")
_QUANTITY = re.compile(r"(?P<number>[+-]?[0-9]+(?:\.[0-9]+)?)[ \t\u00a0\u202f]*(?P<unit>.*)", re.DOTALL)
_EXAMPLE = 'Write digits, a point where needed, and a unit, such as "36.2 mm" or "98 N·m".'


@dataclass(frozen=True, slots=True)
class Quantity:
    """One exact quantity as it was written: `text` keeps every digit, `value` is the same number, `unit` canonical."""

    text: str
    value: Decimal
    unit: str
    written: str = field(default="", compare=False)
    """What it was worked out from, as a person wrote it ("1.5% of 1200 mm"); empty where it stands as written."""

    @property
    def told(self) -> str:
        """For a screen, with what it was worked out from: "1.5% of 1200 mm = 18 mm"."""
        return f"{self.written} = {self}" if self.written else str(self)

    @property
    def kind(self) -> Kind:
        """What sort of thing the unit measures."""
        return _BY_NAME[self.unit].kind

    def __str__(self) -> str:
        return show(self)


Window = tuple[Quantity | None, Quantity | None]
"""The lowest and the highest quantity that pass, both included; None where a side is open."""


class Limits(NamedTuple):
    """A window converted exactly into one unit."""

    low: Fraction | None
    high: Fraction | None


def unit_of(alias: str) -> tuple[Kind, str] | None:
    """Return the kind and canonical name of a unit as the trade writes it, or None when it is not in the table."""
    folded = _SEPARATOR.sub("·", alias.strip(" \t\u00a0\u202f").removesuffix(".").replace("μ", "µ"))
    unit = _EXACT.get(folded) or _CASELESS.get(folded.lower())
    return (unit.kind, unit.name) if unit else None


def unit_names(kinds: Iterable[Kind] = ()) -> list[str]:
    """Return the canonical units of these kinds, or all of them, in the order of the table."""
    wanted = set(kinds)
    return [unit.name for unit in _UNITS if not wanted or unit.kind in wanted]


def parse_quantity(text: str, offered: Iterable[Kind] = ()) -> Quantity:
    """Read "36.2 mm" exactly; BadInput on anything but sign, digits, point, digits and a unit of the table.

    Where the unit is none, those of the kinds in `offered` are named, or all.
    """
    if len(text) > MAX_TEXT:
        raise BadInput(f"A quantity of {len(text)} characters is too long.", _EXAMPLE)
    found = _QUANTITY.fullmatch(text.strip())
    if found is None or found["unit"][:1] in set("0123456789,"):
        hint = "Write a point, not a comma, such as 12.5 mm." if "," in text else _EXAMPLE
        raise BadInput(f"{text!r} is not a quantity.", hint)
    known = unit_of(found["unit"])
    if known is None:
        what = f"unknown unit {found['unit']!r}" if found["unit"] else "no unit"
        raise BadInput(f"{text!r} has {what}.", f"Allowed: {', '.join(unit_names(offered))}.")
    return _bounded(found["number"], known[1])


def _bounded(number: str, unit: str) -> Quantity:
    if sum(character.isdigit() for character in number) > MAX_DIGITS:
        raise BadInput(f"{number!r} has more than {MAX_DIGITS} digits.", "Leave out the digits no tool can show.")
    return Quantity(number, Decimal(number), unit)


def share(part: Quantity, whole: Quantity) -> Quantity:
    """Return a share in % of a quantity, exactly, in the unit of the whole; it keeps what was written.

    BadInput where `part` is no share.
    """
    if part.kind != "share":
        raise BadInput(f"{show(part)} is no share.", "Write it in %, such as 1.5 %.")
    text = format((part.value * whole.value).scaleb(-2).normalize(), "f")
    return Quantity(text, Decimal(text), whole.unit, f"{show(part)} of {show(whole)}")


@functools.cache
def _registry() -> "pint.UnitRegistry[Fraction]":
    import pint  # noqa: PLC0415  (late on purpose: see the module's first lines)

    return pint.UnitRegistry(non_int_type=Fraction)


@functools.cache
def factor(from_unit: str, to_unit: str) -> Fraction:
    """Return the exact number of `to_unit` in one `from_unit`; BadInput where the kinds differ or one is unknown."""
    source, target = _named(from_unit), _named(to_unit)
    if source.kind != target.kind:
        raise BadInput(
            f"{source.name} is a {source.kind} and {target.name} is a {target.kind}: they do not convert.",
            f"Use one of: {', '.join(unit_names([target.kind]))}.",
        )
    if source is target:
        return Fraction(1)
    magnitude = _registry().Quantity(Fraction(1), source.pint).to(target.pint).magnitude
    if not isinstance(magnitude, Fraction):
        raise TypeError(f"factor {source.name} -> {target.name} is not exact: {magnitude!r}")
    return magnitude


def _named(unit: str) -> _Unit:
    known = unit_of(unit)
    if known is None:
        raise BadInput(f"Unknown unit {unit!r}.", f"Allowed: {', '.join(unit_names())}.")
    return _BY_NAME[known[1]]


def check_window(low: Quantity | None, high: Quantity | None) -> Window:
    """Return the pair as a window; BadInput when it has no limit, mixes kinds or is upside down."""
    if low is None and high is None:
        raise BadInput("A window needs at least one limit.", "Give its lowest value, its highest value or both.")
    if low is not None and high is not None and Fraction(low.value) * factor(low.unit, high.unit) > high.value:
        raise BadInput(f"The window {show(low)} to {show(high)} is upside down.", "Write the lower value first.")
    return low, high


@functools.lru_cache(maxsize=1024)
def in_unit(window: Window, unit: str) -> Limits:
    """Convert a window exactly into `unit`; BadInput when it is of another kind."""
    low, high = (None if end is None else Fraction(end.value) * factor(end.unit, unit) for end in window)
    return Limits(low, high)


def position(value: Decimal | Fraction, limits: Limits) -> Literal["low", "inside", "high"]:
    """Say where a value stands, in the unit of the limits; a value on a limit is inside."""
    exact = Fraction(value)
    if limits.low is not None and exact < limits.low:
        return "low"
    if limits.high is not None and exact > limits.high:
        return "high"
    return "inside"


def margin(value: Decimal | Fraction, limits: Limits) -> Fraction:
    """Return the distance to the nearer limit, negative when outside, in the unit of the limits."""
    exact = Fraction(value)
    below = [] if limits.low is None else [exact - limits.low]
    above = [] if limits.high is None else [limits.high - exact]
    return min(below + above)


def trimmed(text: str) -> str:
    """Return a number's text without zeros at its end beyond two decimals: a tool may count finer than it measures.

    Only zeros go, so the number is the same: "36.2000" is shown 36.20, and 0.0005 stays.
    """
    whole, point, part = text.partition(".")
    return f"{whole}.{part[:2]}{part[2:].rstrip('0')}" if point else text


def decimals(text: str) -> int:
    """Return how many digits stand after the point of a number's text."""
    return len(text.partition(".")[2])


def as_decimal(value: Fraction) -> Decimal:
    """Return a fraction as a decimal, rounded to 28 digits where it does not end before."""
    return Decimal(value.numerator) / Decimal(value.denominator)


def show(quantity: Quantity) -> str:
    """Return a quantity for a screen: every digit as written, a negative zero without its sign."""
    return _with_unit(_unsigned_zero(quantity.text), quantity.unit)


def show_number(value: Fraction, digits: int) -> str:
    """Return a computed number with `digits` decimals, rounded half to even: display only, never judged again."""
    return _text(round(value * 10**digits), digits)


@functools.lru_cache(maxsize=1024)
def approx(value: Fraction, unit: str, digits: int, limits: Limits | None = None) -> str:
    """Return a computed value for a screen, marked ≈ unless exact; never so rounded that it changes its verdict.

    A digit or two more are written where that makes it exact, as with the mean of two readings; else digits are added
    until the shown number stands where the exact one stands.
    """
    exact = _exact_at(value, digits)
    digits = digits if exact is None else exact
    for text in _ever_finer(value, digits):
        if limits is None or _agrees(text, value, limits):
            return _marked(text, value, unit)
    return _marked(_towards_truth(value, digits, limits), value, unit)


def approx_limits(limits: Limits, unit: str, digits: int) -> tuple[str | None, str | None]:
    """Return limits for a screen beside readings of at most `digits` decimals: rounded inwards.

    A reading passes exactly when it lies within the limits as shown: 97.62 lbf·ft against 97.6189 is shown 97.61.
    Where nothing would be left between them, more digits are written.
    """
    narrower = tuple(_ever_narrower(limits, digits))
    low, high = next(filter(_upright, narrower), narrower[0])
    return (
        None if low is None or limits.low is None else _marked(low, limits.low, unit),
        None if high is None or limits.high is None else _marked(high, limits.high, unit),
    )


def approx_margin(value: Fraction, unit: str, digits: int) -> str:
    """Return a margin with its sign, rounded down: a failure never shows as +0.00, and room is never overstated.

    A digit or two more are written where that makes it exact, else one.
    """
    exact = _exact_at(value, digits)
    shown = _floor(value, digits + 1 if exact is None else exact)
    return _marked(shown if value < 0 else f"+{shown}", value, unit)


def _exact_at(value: Fraction, digits: int) -> int | None:
    """Return how many digits, at most two more than given, write a value exactly; None where none do."""
    return next((more for more in range(digits, digits + 3) if (value * 10**more).denominator == 1), None)


def _ever_narrower(limits: Limits, digits: int) -> Iterable[tuple[str | None, str | None]]:
    for more in range(digits, digits + 13):
        yield (
            None if limits.low is None else _ceil(limits.low, more),
            None if limits.high is None else _floor(limits.high, more),
        )


def _upright(ends: tuple[str | None, str | None]) -> bool:
    low, high = ends
    return low is None or high is None or Decimal(low) <= Decimal(high)


def _ever_finer(value: Fraction, digits: int) -> Iterable[str]:
    return (show_number(value, more) for more in range(digits, digits + 13))


def _agrees(text: str, value: Fraction, limits: Limits) -> bool:
    return position(Decimal(text), limits) == position(value, limits)


def _towards_truth(value: Fraction, digits: int, limits: Limits | None) -> str:
    """Round a value that lies on, or closer than any digits tell to, a limit to the side its verdict is on."""
    finest = digits + 12
    down = _floor(value, finest)
    return down if limits is None or _agrees(down, value, limits) else _ceil(value, finest)


def _floor(value: Fraction, digits: int) -> str:
    return _text(value * 10**digits // 1, digits)


def _ceil(value: Fraction, digits: int) -> str:
    return _text(-(-value * 10**digits // 1), digits)


def _text(count: int, digits: int) -> str:
    """Write `count` units of the last of `digits` decimals."""
    sign = 1 if count < 0 else 0
    return format(Decimal((sign, tuple(int(digit) for digit in str(abs(count))), -digits)), "f")


def _marked(shown: str, value: Fraction, unit: str) -> str:
    return _with_unit(shown if Fraction(shown) == value else f"≈ {shown}", unit)


def _unsigned_zero(text: str) -> str:
    return text.lstrip("+-") if not text.strip("+-0.") else text


def _with_unit(text: str, unit: str) -> str:
    return f"{text}{unit}" if unit in {"%"} else f"{text} {unit}"
