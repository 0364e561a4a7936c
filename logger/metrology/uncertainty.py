"""What a reading is worth: named components of standard uncertainty, combined, expanded, and exact to the last digit.

Every figure is in the unit of the reading. Squares are kept as exact fractions and a guard band is the root of one,
rounded up at a stated digit, so that the same reading gets the same verdict on every machine; floats are for showing.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from statistics import variance as sample_variance
from typing import Self

from logger.errors import BadInput
from logger.units import Quantity, factor

Exact = Decimal | Fraction | int

DIGITS = 6
"""Decimals, in the unit of the reading, at which a guard band is rounded up."""
FEWEST_REPEATS = 4
"""Fewer repeats than this say nothing of their own spread."""

_COVERAGE = (
    "1 13.97, 2 4.53, 3 3.31, 4 2.87, 5 2.65, 6 2.52, 7 2.43, 8 2.37, 9 2.32, 10 2.28, 11 2.25, 12 2.23, 13 2.21, "
    "14 2.20, 15 2.18, 16 2.17, 17 2.16, 18 2.15, 19 2.14, 20 2.13, 25 2.11, 30 2.09, 35 2.07, 40 2.06, 50 2.05, "
    "100 2.025"
)
"""Degrees of freedom and factor for 95.45 %, two-sided: GUM table G.2, from memory, checked against Student's t."""
_TABLE = [(int(row.split()[0]), Fraction(row.split()[1])) for row in _COVERAGE.split(", ")]


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure of a tool: in the unit of the reading, or as a share of the reading (0.04 for 4 %)."""

    value: Fraction
    share: bool = False

    @classmethod
    def of(cls, quantity: Quantity, unit: str) -> Self:
        """Take "4 %" as a share and anything else into `unit`, exactly; BadInput when negative or of another kind."""
        if quantity.value < 0:
            raise BadInput(f"{quantity} is negative.", "Write how far a reading may be off, without a sign.")
        if quantity.unit == "%":
            return cls(Fraction(quantity.value) / 100, share=True)
        return cls(Fraction(quantity.value) * factor(quantity.unit, unit))

    def __str__(self) -> str:
        return f"{_percent(self.value)} of reading" if self.share else f"{float(self.value):g}"


@dataclass(frozen=True, slots=True)
class Component:
    """One named part of the uncertainty of a reading; `how` says what it rests on."""

    name: str
    variance: Fraction
    """Square of the standard uncertainty of the input."""
    how: str
    sensitivity: Fraction = Fraction(1)
    """How much the result moves with the input; for a share of the reading, the reading."""
    scales: bool = False
    """Whether the sensitivity is the result itself, so that it grows with it."""
    common: bool = False
    """Whether the error is the same in every reading of one tool."""
    degrees: int | None = None
    """Degrees of freedom; None where it is not from repeats and taken as well known."""

    @property
    def square(self) -> Fraction:
        """Its share in the combined variance, in the unit of the reading squared."""
        return self.sensitivity**2 * self.variance

    @property
    def u(self) -> float:
        """Its standard uncertainty in the unit of the reading."""
        return math.sqrt(self.square)


@dataclass(frozen=True, slots=True)
class Budget:
    """The uncertainty of one result: its components, the coverage factor, what is unknown and what was assumed."""

    components: tuple[Component, ...] = ()
    k: Fraction = Fraction(2)
    unknown: tuple[str, ...] = ()
    """Names of what nobody stated, and which therefore counts as nothing."""
    assumed: str = ""

    @property
    def variance(self) -> Fraction:
        """The combined variance: the sum of the squares, exact (GUM 5.1.2, inputs uncorrelated)."""
        return sum((component.square for component in self.components), Fraction(0))

    @property
    def u(self) -> float:
        """The combined standard uncertainty in the unit of the reading."""
        return math.sqrt(self.variance)

    @property
    def expanded(self) -> float:
        """The expanded uncertainty U = k u in the unit of the reading."""
        return math.sqrt(self.k**2 * self.variance)

    @property
    def degrees(self) -> Fraction | None:
        """Effective degrees of freedom by Welch-Satterthwaite (GUM G.4.1); None when nothing rests on few repeats."""
        parts = (part.square**2 / part.degrees for part in self.components if part.degrees is not None)
        spread = sum(parts)
        return self.variance**2 / spread if spread else None

    def guard(self, digits: int = DIGITS) -> Fraction:
        """Return U as an exact fraction, rounded up at `digits` decimals."""
        return root_up(self.k**2 * self.variance, digits)

    def plus(self, *components: Component | None) -> "Budget":
        """Return this budget with more components; None adds nothing."""
        return replace(self, components=self.components + tuple(part for part in components if part is not None))

    def at(self, value: Exact) -> "Budget":
        """Return the budget of another result by the same means: what is a share of the reading grows with it."""
        moved = (replace(part, sensitivity=Fraction(value)) if part.scales else part for part in self.components)
        return replace(self, components=tuple(moved))

    def covered(self) -> "Budget":
        """Return this budget with the factor that covers 95.45 % at its degrees of freedom, where repeats are few."""
        return replace(self, k=coverage_factor(self.degrees))


def root_up(square: Fraction, digits: int = DIGITS) -> Fraction:
    """Return the root of an exact square, rounded up at `digits` decimals, by whole numbers alone."""
    scaled = square * 10 ** (2 * digits)
    return Fraction(math.isqrt(math.ceil(scaled) - 1) + 1 if scaled > 0 else 0, 10**digits)


def coverage_factor(degrees: Fraction | None) -> Fraction:
    """Return k for 95.45 % at these degrees of freedom, taken down to the next row of GUM table G.2."""
    if degrees is None:
        return Fraction(2)
    return next((k for row, k in reversed(_TABLE) if row <= degrees), _TABLE[0][1])


# --- components -----------------------------------------------------------------------------------------------------


def accuracy(amount: Amount, value: Exact, *, of_reference: bool = False) -> Component:
    """Return a tool's accuracy as a rectangle of half-width a: a / sqrt 3 (GUM 4.3.7).

    `of_reference` is for torque, where ISO 6789 states the share of the true torque, not of the reading: then the
    truth lies between X/(1+a) and X/(1-a) and u is that width / sqrt 12 (GUM 4.3.8).
    """
    if of_reference and amount.share:
        how = f"±{_percent(amount.value)} of the true torque, rectangular"
        return _of_tool("accuracy", Amount(_reference_half_width(amount.value), share=True), value, 3, how)
    return _of_tool("accuracy", amount, value, 3, f"±{amount}, rectangular")


def calibration(expanded: Amount, value: Exact, k: Exact = 2) -> Component:
    """Return what a calibration certificate states, U / k; BadInput when k is not above 0."""
    if k <= 0:
        raise BadInput(f"A coverage factor of {k} cannot be.", "Copy k from the certificate; it is 2 on most.")
    return _of_tool("calibration", expanded, value, Fraction(k) ** 2, f"U = {expanded}, k = {float(k):g}")


def resolution(step: Exact) -> Component:
    """Return the rounding of a display that counts in `step`: step / sqrt 12 (GUM F.2.2.1)."""
    return Component("resolution", _positive("resolution", step) ** 2 / 12, f"{float(step):g} / √12")


def stated(name: str, u: Exact, how: str = "stated", degrees: int | None = None) -> Component:
    """Return a standard uncertainty that somebody stated, as a method's or a side offset's."""
    return Component(name, _positive(name, u) ** 2, how, degrees=degrees)


def within(name: str, half_width: Exact, how: str = "") -> Component:
    """Return what is only known to lie within plus or minus `half_width`: a rectangle (GUM 4.3.7)."""
    return Component(name, _positive(name, half_width) ** 2 / 3, how or f"±{float(half_width):g}, rectangular")


def _of_tool(name: str, amount: Amount, value: Exact, divisor: Exact, how: str) -> Component:
    sensitivity = Fraction(value) if amount.share else Fraction(1)
    square = _positive(name, amount.value) ** 2 / Fraction(divisor)
    return Component(name, square, how, sensitivity, scales=amount.share, common=True)


def _percent(share: Exact) -> str:
    """Write a share in percent with all its digits: 99.999999 % is not 100 %."""
    return f"{float(share * 100):.12g} %"


def _positive(name: str, figure: Exact) -> Fraction:
    if figure < 0:
        raise BadInput(f"The {name} of {float(figure):g} is negative.", "Write how large it is, without a sign.")
    return Fraction(figure)


# --- repeats --------------------------------------------------------------------------------------------------------


def repeats(values: Sequence[Exact]) -> Component | None:
    """Return what the scatter of n repeats leaves in their mean: s / sqrt n from four repeats on (GUM 4.2.3).

    With fewer it is nothing (None): never a scatter made up from two readings.
    """
    count = len(values)
    if count < FEWEST_REPEATS:
        return None
    square = sample_variance([Fraction(value) for value in values])
    return Component("repeats", square / count, f"s / √{count} of {count} repeats", degrees=count - 1)


# --- torque ---------------------------------------------------------------------------------------------------------


def true_torque_interval(indicated: Exact, share: Exact) -> tuple[Fraction, Fraction]:
    """Return the lowest and highest true torque behind an indicated one, for a tool within ± `share` by ISO 6789.

    The share is of the true torque, so the interval is not symmetric: X/(1+a) to X/(1-a). BadInput unless 0 <= a < 1.
    """
    _reference_half_width(share)
    ends = (Fraction(indicated) / (1 + Fraction(share)), Fraction(indicated) / (1 - Fraction(share)))
    return min(ends), max(ends)


def _reference_half_width(share: Exact) -> Fraction:
    """Half of 1/(1-a) - 1/(1+a), as a share of the reading."""
    if not 0 <= share < 1:
        raise BadInput(f"A torque accuracy of {float(share):.0%} says nothing.", "Write less than 100 %, such as 4 %.")
    return Fraction(share) / (1 - Fraction(share) ** 2)
