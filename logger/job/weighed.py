"""What the value of one place is, and what it is worth: its budget from the tools' figures, the method, the repeats."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from logger.metrology.conformity import DecisionRule
from logger.metrology.uncertainty import Budget, Component, repeats, stated
from logger.metrology.worth import difference, reading_budget
from logger.sheets.sheet import MeasureStep, TorqueStep
from logger.units import factor, parse_quantity

from .facts import Job, Taken
from .figures import figures_of
from .judged import limit_in

MIXED = "two tools for one value: the figures of the less certain one"
_OF_TOOLS = ("accuracy", "resolution", "calibration")


def values_of(step: MeasureStep, live: tuple[Taken, ...]) -> tuple[Decimal, ...]:
    """Return the repeats of one attempt; a difference is the part that reads larger minus the other."""
    if step.takes == "value":
        return tuple(taken.value for taken in live)
    pairs = zip(live[::2], live[1::2], strict=False)
    sign = 1 if step.larger == step.parts[1] else -1
    return tuple(sign * (second.value - first.value) for first, second in pairs)


def mean_of(step: MeasureStep, live: tuple[Taken, ...]) -> Fraction:
    """Return the mean of the repeats of a whole attempt, exactly, in the unit it was read in."""
    return _mean(values_of(step, live))


def is_whole(step: MeasureStep, live: tuple[Taken, ...]) -> bool:
    """Whether an attempt has all it was asked for: its repeats, and both halves of each difference."""
    halves = 2 if step.takes == "difference" else 1
    return len(live) >= step.set_size and len(live) % halves == 0


def _mean(values: Sequence[Decimal]) -> Fraction:
    return sum((Fraction(value) for value in values), Fraction(0)) / len(values)


# --- the budget -----------------------------------------------------------------------------------------------------


def budget_of(job: Job, step: MeasureStep, live: tuple[Taken, ...]) -> Budget:
    """Return what the mean of one whole attempt in one unit is worth, in that unit.

    The method enters once, also in a difference; the repeats say something of their scatter from four on.
    """
    if step.takes == "value":
        found = _of_readings(job, live)
    else:
        first, second = live[::2], live[1::2]
        names = (step.parts[0], step.parts[1])
        halves = (_of_readings(job, first), _of_readings(job, second))
        found = difference(*halves, same_tool=len(tools_of(live)) == 1, names=names)
    scatter = repeats(values_of(step, live))
    whole = found.plus(method_of(step, live[0].unit), scatter)
    missing = (*(["method"] if step.method_u is None else []), *(["repeats"] if scatter is None else []))
    return replace(whole.covered(), unknown=(*found.unknown, *missing))


def rule_of(job: Job, step: MeasureStep | TorqueStep, unit: str) -> DecisionRule:
    """Return how the sheet decides a step, its guard band converted exactly into `unit`."""
    guard = None if step.guard is None else limit_in(step.guard, unit)
    return DecisionRule(job.sheet.decision, guard, step.guarded)


def method_of(step: MeasureStep, unit: str) -> Component | None:
    """Return the method's part of a budget, or None where the sheet states none."""
    return None if step.method_u is None else stated("method", limit_in(step.method_u, unit), "stated by the sheet")


def tools_of(live: Iterable[Taken]) -> frozenset[str]:
    """Return the tools that readings came from."""
    return frozenset(taken.tool for taken in live)


def resolution_of(job: Job, live: tuple[Taken, ...]) -> Fraction:
    """Return the coarsest step, in their unit, in which any tool of these readings counts."""
    stated = (figures_of(job.tools.get(tool), live[0].unit).resolution for tool in tools_of(live))
    return max((step for step in stated if step is not None), default=Fraction(0))


def _of_readings(job: Job, live: tuple[Taken, ...]) -> Budget:
    """What the mean of single readings is worth by its tool alone; of two tools the less certain one counts."""
    mean, unit = _mean([taken.value for taken in live]), live[0].unit
    found = []
    for tool in sorted(tools_of(live)):
        figures = figures_of(job.tools.get(tool), unit)
        budget = reading_budget(figures, [mean])
        found.append(replace(budget, unknown=tuple(name for name in budget.unknown if name in _OF_TOOLS)))
    worst = max(found, key=lambda budget: budget.variance)
    return worst if len(found) == 1 else replace(worst, assumed=MIXED)


# --- a pair ---------------------------------------------------------------------------------------------------------


def pair_budget(first: Budget, second: Budget, *, same_tool: bool, names: tuple[str, str]) -> Budget:
    """Return what first minus second of a pair is worth: the method, the same on both sides, enters once."""
    method = next((part for part in first.components if part.name == "method"), None)
    apart = difference(_without_method(first), _without_method(second), same_tool=same_tool, names=names)
    return apart.plus(method).covered()


def _without_method(budget: Budget) -> Budget:
    return replace(budget, components=tuple(part for part in budget.components if part.name != "method"))


def side_offset(job: Job, step: MeasureStep, unit: str) -> tuple[Fraction, Component] | None:
    """Return a machine's proven difference, first place minus second, and its part of the budget, in `unit`.

    None where the machine has none, or where the step is not its left and right position.
    """
    drive, told = job.sheet.drive, job.side_offset
    if told is None or frozenset(step.slots) != {"left", "right"} or (drive is not None and drive.sides != step.id):
        return None
    value, u = (parse_quantity(text) for text in (told.value, told.u))
    sign = 1 if step.slots[0] == "left" else -1
    component = stated("side offset", Fraction(u.value) * factor(u.unit, unit), told.how)
    return sign * Fraction(value.value) * factor(value.unit, unit), component
