"""Which powers of ten turn raw numbers into what a display showed: exactly, by rounding, or from another unit."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from functools import cache

from drivers.gatt import plain
from drivers.octets import shift
from logger.units import factor, show_number

from .capture import Shown

NATIVES: tuple[tuple[str, ...], ...] = (("mm", "in", "ft"), ("N·m", "lbf·ft", "lbf·in", "ozf·in", "kgf·m"))
"""Units that are more than a power of ten apart: what a tool may count in whatever it shows."""
_SHORT = Context(prec=40, rounding=ROUND_HALF_EVEN)


@dataclass(frozen=True, slots=True)
class Display:
    """What the display is like in one unit: its digits after the point, and how it spells the unit."""

    digits: int
    spelled: str
    step: int
    """Of its last digit: 5 where every last digit seen was 0 or 5 (a display in half thousandths), else 1."""


def displays(shown: Iterable[Shown]) -> dict[str, Display]:
    """Return what the display is like in each unit that was shown."""
    by_unit: dict[str, list[Shown]] = {}
    for each in shown:
        by_unit.setdefault(each.unit, []).append(each)
    return {unit: _display(all_) for unit, all_ in by_unit.items()}


def _display(shown: Sequence[Shown]) -> Display:
    digits = max(each.digits for each in shown)
    half = len(shown) > 1 and all(int(shift(each.value, digits)) % 5 == 0 for each in shown)
    return Display(digits, shown[0].spelled, 5 if half else 1)


@dataclass(frozen=True, slots=True)
class Case:
    """How a raw number becomes what is shown in one unit."""

    unit: str
    """What the display shows."""
    native: str
    """What the tool counts in."""
    exponent: int
    """raw x 10^exponent is in `native`."""
    exact: bool
    """Every reading seen came out to the last digit, without rounding."""

    def text(self, raw: Decimal, display: Display | None) -> str:
        """Return a raw number as the display shows it: every digit where it is exact, else rounded as the display."""
        if self.exact and self.native == self.unit:
            return _padded(shift(raw, self.exponent), 0 if display is None else display.digits)
        value = Fraction(shift(raw, self.exponent)) * _factor(self.native, self.unit)
        digits = 3 if display is None else display.digits
        step = 1 if display is None or self.native == self.unit else display.step
        steps: int = round(value * _tens(digits) / step)
        shown = show_number(steps * step / _tens(digits), digits)
        return shown if shown.strip("-0.") else shown.lstrip("-")


def _padded(value: Decimal, digits: int) -> str:
    text = plain(value)
    missing = digits - len(text.partition(".")[2])
    return text if missing <= 0 else f"{text}{'' if '.' in text else '.'}{'0' * missing}"


@cache
def _factor(native: str, unit: str) -> Fraction:
    return factor(native, unit)


def natives_of(unit: str) -> tuple[str, ...]:
    """Return what a tool that shows this unit may count in, itself first."""
    family = next((family for family in NATIVES if _same(unit, family[0])), ())
    others = [each for each in family if each != unit and not _power_of_ten(_factor(each, unit))]
    return (unit, *others)


def _same(unit: str, other: str) -> bool:
    lengths = {"mm", "µm", "cm", "m", "in", "ft", "thou"}
    return (unit in lengths) == (other in lengths)


def _power_of_ten(ratio: Fraction) -> bool:
    return set(str(ratio.numerator)) <= {"0", "1"} and set(str(ratio.denominator)) <= {"0", "1"}


Pair = tuple[Decimal, Shown]
"""A raw number and what was shown beside it."""


def cases_of(pairs: Sequence[Pair], display: Display, exponents: range) -> tuple[Case, ...]:
    """Return every scale and unit counted in that turns each raw number into what was shown; all in one unit.

    The pairs come with the largest shown value first, and that value is not zero.
    """
    unit = pairs[0][1].unit
    found = (_case(pairs, unit, native, display, exponents) for native in natives_of(unit))
    return tuple(case for case in found if case is not None)


def _case(pairs: Sequence[Pair], unit: str, native: str, display: Display, exponents: range) -> Case | None:
    ratio = _factor(native, unit)
    step = display.step if native != unit else 1
    raw, first = pairs[0]
    exponent = _exponent(raw, first.value, ratio)
    if exponent is None or exponent not in exponents:
        return None
    exact = native == unit
    for raw, shown in pairs:
        off = _off(raw, shown, ratio, exponent, display.digits)
        if max(off, -off) * 2 > step:
            return None
        exact = exact and off == 0
    return Case(unit, native, exponent, exact)


def _exponent(raw: Decimal, shown: Decimal, ratio: Fraction) -> int | None:
    """Return the one power of ten that can bring raw near shown."""
    if not raw or (raw > 0) != (shown > 0):
        return None
    size = math.log10(abs(Fraction(shown) / (Fraction(raw) * ratio)))
    return round(size)


def _off(raw: Decimal, shown: Shown, ratio: Fraction, exponent: int, digits: int) -> Fraction | Decimal:
    """Return how far a scaled raw number is from what was shown, in steps of the display's last digit."""
    if ratio == 1:
        return _SHORT.subtract(shift(raw, exponent + digits), shift(shown.value, digits))
    return (Fraction(shift(raw, exponent)) * ratio - Fraction(shown.value)) * _tens(digits)


def _tens(digits: int) -> Fraction:
    return Fraction(int("1" + "0" * digits))


def by_unit(pairs: Iterable[Pair]) -> Mapping[str, Sequence[Pair]]:
    """Return the pairs of each unit, the largest shown value first, the unit with most pairs first."""
    found: dict[str, list[Pair]] = {}
    for pair in pairs:
        found.setdefault(pair[1].unit, []).append(pair)
    order = sorted(found, key=lambda unit: -len(found[unit]))
    return {unit: sorted(found[unit], key=lambda pair: -abs(pair[1].value)) for unit in order}
