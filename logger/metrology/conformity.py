"""Decisions near a limit: the simple and the guarded rule, the chance of being truly inside, further repeats.

A value, its limits and the guard band are exact fractions; only the chance is a float, and nothing is decided by it.
"""

import functools
import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from logger.units import Limits, margin

from .uncertainty import DIGITS, Budget, Exact

Word = Literal["low", "inside", "unsure", "high"]


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """How a value near a limit is decided; agreed before the job begins (ILAC-G8:09/2019 4.2)."""

    kind: Literal["simple", "guarded"] = "simple"
    guard: Fraction | None = None
    """Width of the guard band in the unit of the reading; None takes the expanded uncertainty U."""
    sides: Literal["both", "low", "high"] = "both"
    """Which limits are guarded."""

    def guards(self, budget: Budget, digits: int = DIGITS) -> tuple[Fraction, Fraction]:
        """Return the guard bands at the lower and the upper limit."""
        if self.kind == "simple":
            return Fraction(0), Fraction(0)
        width = budget.guard(digits) if self.guard is None else self.guard
        return (width if self.sides != "high" else Fraction(0)), (width if self.sides != "low" else Fraction(0))


SIMPLE = DecisionRule()
GUARDED = DecisionRule("guarded")


@dataclass(frozen=True, slots=True)
class Decision:
    """One value decided, with all that a person or a record needs beside the word."""

    word: Word
    margin: Fraction
    """Distance to the nearer limit, negative outside."""
    chance: float
    """Probability, 0 to 1, that the true value lies within the limits."""
    acceptance: Limits | None
    """The limits drawn in by the guard band of this reading; None when nothing is left between them."""
    u: float
    expanded: float
    guard: Fraction
    """The wider of the two guard bands."""

    @property
    def chance_stored(self) -> str:
        """The chance with six decimals, for what is stored: far coarser than the arithmetic of any machine."""
        return f"{self.chance:.6f}"

    @property
    def chance_shown(self) -> str:
        """The chance as a person reads it; never a certainty that is not one."""
        if self.u == 0:
            return "100 %" if self.chance else "0 %"
        if self.chance > 0.999:
            return "over 99.9 %"
        return "under 0.1 %" if self.chance < 0.001 else f"{self.chance:.1%}".replace("%", " %")


@functools.lru_cache(maxsize=1024)
def decide(value: Exact, limits: Limits, budget: Budget, rule: DecisionRule = SIMPLE, digits: int = DIGITS) -> Decision:
    """Decide one value exactly; limits and acceptance limits are inclusive.

    Simple: `inside` or outside. Guarded, the four zones of ILAC-G8 4.2.3 with both conditional ones called `unsure`:
    `inside` from the limit drawn in by w, `low` or `high` at more than w beyond it, `unsure` between.
    """
    exact = Fraction(value)
    guards = rule.guards(budget, digits)
    return Decision(
        _zone(exact, limits, *guards),
        margin(exact, limits),
        chance_inside(exact, limits, budget.u),
        drawn_in(limits, *guards),
        budget.u,
        budget.expanded,
        max(guards),
    )


def _zone(value: Fraction, limits: Limits, below: Fraction, above: Fraction) -> Word:
    under = None if limits.low is None else limits.low - value
    over = None if limits.high is None else value - limits.high
    if (under is None or under <= -below) and (over is None or over <= -above):
        return "inside"
    if under is not None and under > below:
        return "low"
    if over is not None and over > above:
        return "high"
    return "unsure"


def drawn_in(limits: Limits, below: Fraction, above: Fraction) -> Limits | None:
    """Return the limits moved inwards by two guard bands; None when nothing is left between them."""
    low = None if limits.low is None else limits.low + below
    high = None if limits.high is None else limits.high - above
    return None if low is not None and high is not None and low > high else Limits(low, high)


def chance_inside(value: Exact, limits: Limits, u: float) -> float:
    """Return the probability that the truth lies within the limits, normal about the value (JCGM 106:2012 7.4).

    Without uncertainty it is 1 on or within the limits and 0 outside.
    """
    exact = Fraction(value)
    if u == 0:
        return float(margin(exact, limits) >= 0)
    low = -math.inf if limits.low is None else float(limits.low - exact) / u
    high = math.inf if limits.high is None else float(limits.high - exact) / u
    if low > 0:  # the upper tails are small numbers there, and their difference keeps its digits
        low, high = -high, -low
    return max(0.0, normal_cdf(high) - normal_cdf(low))


def normal_cdf(z: float) -> float:
    """Return the standard normal distribution function, precise far into the lower tail."""
    return math.erfc(-z / math.sqrt(2)) / 2


def repeat_worth(value: Exact, limits: Limits, budget: Budget, digits: int = DIGITS) -> bool:
    """Whether another repeat may change the answer: the value lies within its U of a limit, on either side."""
    exact, near = Fraction(value), budget.guard(digits)
    below = [exact - limits.low] if limits.low is not None else []
    above = [limits.high - exact] if limits.high is not None else []
    return any(-near <= room < near for room in (*below, *above))
