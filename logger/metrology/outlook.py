"""Before the job begins: whether a tool is fine enough for a window, and what it leaves of it to aim at."""

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from logger.units import Limits, approx_limits

from .conformity import GUARDED, SIMPLE, DecisionRule, drawn_in
from .uncertainty import DIGITS, Budget, Exact, root_up

Fitness = Literal["fit", "coarse", "unfit"]
Hope = Literal["decides", "hardly", "cannot"]

COARSE = Fraction(1, 10)
"""A resolution above this share of the window is worth a warning: the rule of ten, common practice."""
UNFIT = Fraction(1, 4)
"""A resolution above this share of the window is refused: common practice."""
SERVES = Fraction(1, 2)
"""A tool that leaves this share of the window to aim at is said to serve."""
HARDLY = Fraction(1, 4)
"""Less than this share of the window is too little to aim at."""


def resolution_fitness(resolution: Exact, limits: Limits) -> Fitness:
    """Compare a resolution with the window: `coarse` above a tenth of it, `unfit` above a quarter."""
    if limits.low is None or limits.high is None:
        return "fit"
    window = limits.high - limits.low
    if Fraction(resolution) > UNFIT * window:
        return "unfit"
    return "coarse" if Fraction(resolution) > COARSE * window else "fit"


def acceptance_zone(
    limits: Limits, budget: Budget, rule: DecisionRule = GUARDED, digits: int = DIGITS
) -> Limits | None:
    """Return the values that would be decided `inside`, rounded inwards at `digits`; None when there are none.

    What is a share of the reading is wider at the upper limit than at the lower, so each end solves x -+ w(x) = limit.
    """
    below, above = rule.guards(budget, digits)
    if rule.kind == "simple" or rule.guard is not None:
        return drawn_in(limits, below, above)
    grows = budget.k**2 * sum((part.variance for part in budget.components if part.scales), Fraction(0))
    fixed = budget.k**2 * sum((part.square for part in budget.components if not part.scales), Fraction(0))
    if grows >= 1:
        return None
    low, high = limits
    if low is not None and rule.sides != "high":
        low = _up((low + root_up(grows * low**2 + (1 - grows) * fixed, digits + 3)) / (1 - grows), digits)
    if high is not None and rule.sides != "low":
        high = -_up((root_up(grows * high**2 + (1 - grows) * fixed, digits + 3) - high) / (1 - grows), digits)
    return drawn_in(Limits(low, high), Fraction(0), Fraction(0))


def _up(value: Fraction, digits: int) -> Fraction:
    return Fraction(math.ceil(value * 10**digits), 10**digits)


@dataclass(frozen=True, slots=True)
class Outlook:
    """Whether a tool can decide a window, said before the job begins."""

    word: Hope
    zone: Limits | None
    """What is left to aim at."""
    expanded: float
    """What a reading in the middle of the window, or at its one limit, is worth: U."""
    left: Fraction | None
    """The share of the window that is left, 0 to 1; None where a side is open."""
    needed_u: Decimal | None = None
    """The standard uncertainty that would leave half of the window."""
    needed_accuracy: Decimal | None = None
    """The accuracy (half-width) of a tool that would, all else equal; None when the rest is already too much."""
    middle: Fraction | None = None
    """The middle of the window, where the needed figures are reckoned."""


def outlook(limits: Limits, budget: Budget, rule: DecisionRule = SIMPLE, digits: int = DIGITS) -> Outlook:
    """Say whether readings with this budget can decide the window; figures in the unit of the limits."""
    zone = acceptance_zone(limits, budget, rule, digits)
    ends = [end for end in limits if end is not None]
    middle = sum(ends, Fraction(0)) / len(ends)
    here = budget.at(middle)
    window = None if limits.low is None or limits.high is None else limits.high - limits.low
    if not window:
        return Outlook("cannot" if zone is None else "decides", zone, here.expanded, None)
    left = Fraction(0) if zone is None or zone.low is None or zone.high is None else (zone.high - zone.low) / window
    word: Hope = "cannot" if zone is None else "hardly" if left < HARDLY else "decides"
    if word == "decides" or rule.guard is not None:
        return Outlook(word, zone, here.expanded, left)
    needed = (1 - SERVES) * window / (budget.k * (2 if rule.sides == "both" else 1))
    return Outlook(word, zone, here.expanded, left, _floored(needed**2), _needed_accuracy(here, needed), middle)


def _needed_accuracy(budget: Budget, u: Fraction) -> Decimal | None:
    """The half-width that each tool may have so that the whole comes to u; None where accuracy is not what hinders."""
    tools = [part for part in budget.components if part.name.partition(",")[0] == "accuracy" and part.square]
    room = u**2 - budget.variance + sum((part.square for part in tools), Fraction(0))
    return _floored(3 * room / len(tools)) if tools and room > 0 else None


def outlook_words(found: Outlook, limits: Limits, unit: str, digits: int = 2) -> tuple[str, ...]:
    """Return what to tell a person before the job begins: what is left and what would serve; nothing if it decides."""
    if found.word == "decides":
        return ()
    window = _span(limits, unit, digits)
    fine = Decimal(f"{found.expanded:.1e}")  # what would round to nothing keeps two digits of its own
    expanded = f"{found.expanded:.{digits}f}" if fine >= Decimal(1).scaleb(-digits) else format(fine, "f")
    worth = f"a reading is worth no more than ±{expanded} {unit}"
    if found.zone is None:
        first = f"This tool cannot decide the window {window}: {worth}, and the guarded rule leaves nothing to aim at."
    else:
        first = f"Of the window {window} only {_span(found.zone, unit, digits)} is left to aim at: {worth}."
    return (first, *_what_serves(found, unit))


def _span(limits: Limits, unit: str, digits: int) -> str:
    low, high = approx_limits(limits, unit, digits)
    return f"{low} to {high}" if low and high else low or high or ""


def _what_serves(found: Outlook, unit: str) -> tuple[str, ...]:
    if found.needed_u is None:
        return ()
    if found.needed_accuracy is None:
        need = f"u = {found.needed_u} {unit}"
        return (f"A more accurate tool alone would not serve: method, repeats and the rest must come below {need}.",)
    share = ""
    if found.middle:
        percent = Fraction(found.needed_accuracy) / abs(found.middle) * 100
        tenths = math.floor(percent * 10)
        share = f" (±{tenths / 10 if tenths else _floored(percent**2)} %)"
    return (f"A tool of ±{found.needed_accuracy} {unit}{share} or better would leave half of the window.",)


def _floored(square: Fraction) -> Decimal:
    """Return the root of a square, two digits kept and rounded down: what a person would look for in a catalogue."""
    root = Decimal(math.isqrt(math.floor(square * 10**24))).scaleb(-12)
    step = Decimal(1).scaleb(root.adjusted() - 1)
    return Decimal(format((root // step) * step, "f")) if root else Decimal(0)
