"""What a measure step reads now, and its verdicts: each place against the window, a pair against each other.

Every comparison is exact: the reading as received against the limit converted once, as a fraction, into the reading's
unit; limits are inclusive.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from logger.events import Verdict
from logger.metrology.conformity import Decision, DecisionRule, decide, repeat_worth
from logger.metrology.uncertainty import Budget, Component, root_up
from logger.sheets.sheet import MeasureStep, check_id
from logger.units import Limits, decimals, in_unit, position, trimmed

from .doubt import doubt_of, plausible_of, resolution_doubt, warnings_of
from .facts import Attempt, Job, Taken
from .figures import cannot_decide
from .job import current
from .judged import Judged, limit_in, number
from .weighed import (
    budget_of,
    is_whole,
    mean_of,
    pair_budget,
    resolution_of,
    rule_of,
    side_offset,
    tools_of,
    values_of,
)

__all__ = ["Value", "is_whole", "mean_of", "measured", "value_at", "values_of"]


_UNWEIGHED = Budget()
WRONG_SPOT = "it reads looser than {other}: the mark may stand at the wrong spot; look for the {place} place again"
"""What is told of a governing place of the slack that another one is tighter than."""


@dataclass(frozen=True, slots=True)
class Value:
    """What one place of a measure step reads now: the value, or why there is none."""

    verdict: Verdict
    """`inside` here only means: there is a value."""
    reason: str = ""
    value: Fraction | None = None
    unit: str = ""
    digits: int = 0
    """Digits after the point of the readings it rests on."""
    attempts: int = 0
    since: int = 0
    """Sequence of the oldest reading it rests on."""
    budget: Budget = _UNWEIGHED
    """What the value is worth, in `unit`; empty where there is no value."""
    tools: frozenset[str] = frozenset()
    resolution: Fraction = Fraction(0)
    """The coarsest step of its tools, in `unit`."""
    warnings: tuple[str, ...] = ()
    repeatable: bool = False
    """Whether one further repeat may still be asked for."""


def value_at(job: Job, step: MeasureStep, slot: str) -> Value:
    """Return what a place reads now, after the questions that come before any verdict."""
    attempts = job.attempts.get((step.id, slot), ())
    attempt = current(attempts)
    if attempt is None:
        return Value("waiting", "not taken yet", attempts=len(attempts))
    found = Value("waiting", attempts=len(attempts), since=attempt.since)
    if job.is_disturbed(step.id, attempt.since):
        return replace(found, verdict="stale", reason="disturbed since it was taken")
    if len(attempt.units) > 1:
        return replace(found, reason="readings in two units: take it again with one tool")
    if not is_whole(step, attempt.live):
        return replace(found, reason=_still_to_take(step, attempt.live))
    doubt = doubt_of(job, step, slot, attempt)
    settled = _settled(job, step, attempt, found)
    return replace(settled, verdict="waiting", reason=doubt) if doubt else settled


def _still_to_take(step: MeasureStep, live: tuple[Taken, ...]) -> str:
    if step.takes == "difference":
        return f"{step.parts[len(live) % 2]} still to take"
    return f"{len(live)} of {step.set_size} taken"


def _settled(job: Job, step: MeasureStep, attempt: Attempt, found: Value) -> Value:
    (unit,) = attempt.units
    values = plausible_of(step, attempt.live)
    value = replace(
        found,
        verdict="inside",
        value=sum(map(Fraction, values), Fraction(0)) / len(values),
        unit=unit,
        digits=max(decimals(trimmed(taken.text)) for taken in attempt.live),
        budget=budget_of(job, step, attempt.live),
        tools=tools_of(attempt.live),
        resolution=resolution_of(job, attempt.live),
        warnings=warnings_of(job, attempt),
        repeatable=len(attempt.live) == step.set_size,
    )
    spread = max(values) - min(values)
    if step.spread_within is not None and Fraction(spread) > limit_in(step.spread_within, unit):
        reason = f"repeats differ by {spread} {unit}, more than {step.spread_within}"
        return replace(value, verdict="unsteady", reason=reason)
    allowed = root_up(8 * value.budget.variance)  # two differ by √2 u, k = 2: the root of (2 √2 u)²
    if len(attempt.live) > step.set_size and allowed and Fraction(spread) > allowed:
        reason = f"the repeat differs by {spread} {unit}, more than what is known of tool and method allows"
        return replace(value, verdict="unsteady", reason=reason)
    return value


# --- verdicts -------------------------------------------------------------------------------------------------------


def measured(job: Job, step: MeasureStep) -> dict[str, Judged]:
    """Judge every check of a measure step: its places, where they are judged one by one, and its agreement."""
    values = {slot: value_at(job, step, slot) for slot in step.slots}
    if job.sheet.drive is not None and step.id == job.sheet.drive.slack and step.governs in values:
        values = _wrong_spot(step.governs, values)
    found: dict[str, Judged] = {}
    if step.window is not None or step.agree_within is None:
        for slot, value in values.items():
            found[check_id(step.id, slot)] = _against_window(job, check_id(step.id, slot), step, value)
    if step.agree_within is not None:
        found[f"{step.id}.agreement"] = _agreement(job, step, values)
    return found


def _wrong_spot(governs: str, values: Mapping[str, Value]) -> dict[str, Value]:
    """Warn of a governing place of the slack that reads looser than another by more than U of their difference."""
    governing = values[governs]
    if governing.verdict != "inside" or governing.value is None:
        return dict(values)
    for slot, other in values.items():
        if slot == governs or other.verdict != "inside" or other.value is None or other.unit != governing.unit:
            continue
        same = len(governing.tools | other.tools) == 1
        apart = pair_budget(governing.budget, other.budget, same_tool=same, names=(governs, slot))
        if governing.value - other.value > apart.guard():
            said = WRONG_SPOT.format(other=slot.replace("_", " "), place=governs.replace("_", " "))
            warned = replace(governing, warnings=(*governing.warnings, said))
            return {**values, governs: warned}
    return dict(values)


def _against_window(job: Job, check: str, step: MeasureStep, value: Value) -> Judged:
    judged = Judged(check, value.verdict, value.reason, attempts=value.attempts)
    if value.value is None:
        return judged
    limits = None if step.window is None else in_unit(step.window, value.unit)
    judged = _with_value(judged, value, limits)
    return judged if limits is None else _decided(judged, value, step, limits, rule_of(job, step, value.unit))


def _with_value(judged: Judged, value: Value, limits: Limits | None) -> Judged:
    assert value.value is not None
    return replace(
        judged,
        value=value.value,
        text=number(value.value, value.unit, value.digits, limits),
        unit=value.unit,
        budget=value.budget,
        assumed=value.budget.assumed,
        unknown=value.budget.unknown,
        warnings=value.warnings,
    )


def _decided(judged: Judged, value: Value, step: MeasureStep, limits: Limits, rule: DecisionRule) -> Judged:
    """Hold a value against its limits, unless something stands against that."""
    assert value.value is not None
    doubt, warning = resolution_doubt(step, value.resolution, limits, value.unit)
    judged = replace(judged, warnings=judged.warnings + ((warning,) if warning else ()))
    if judged.verdict != "inside":
        return judged
    if doubt:
        return replace(judged, verdict="waiting", reason=doubt)
    if undecidable := cannot_decide(value.budget, rule, value.tools):
        return replace(judged, verdict="waiting", reason=undecidable)
    decision = decide(value.value, limits, value.budget, rule)
    return replace(
        judged,
        verdict=decision.word,
        reason=judged.reason or ("too near a limit to tell" if decision.word == "unsure" else ""),
        text=_written(value.value, value, limits, decision),
        margin=decision.margin,
        decision=decision,
        more=value.repeatable and repeat_worth(value.value, limits, value.budget),
    )


def _written(exact: Fraction, value: Value, limits: Limits, decision: Decision) -> str:
    """Write a value so finely that it does not contradict its verdict, neither at a limit nor at a guard band."""
    zone = decision.acceptance
    for digits in range(value.digits, value.digits + 13):
        text = number(exact, value.unit, digits, limits)
        if zone is None or position(Decimal(text.removeprefix("≈ ")), zone) == position(exact, zone):
            break
    return text


# --- a pair ---------------------------------------------------------------------------------------------------------


def _agreement(job: Job, step: MeasureStep, values: Mapping[str, Value]) -> Judged:
    assert step.agree_within is not None
    judged = Judged(f"{step.id}.agreement", "waiting", attempts=max(value.attempts for value in values.values()))
    for slot, value in values.items():
        if value.verdict != "inside":
            return replace(judged, verdict=value.verdict, reason=f"{slot}: {value.reason}")
    first, second = values.values()
    if first.unit != second.unit or first.value is None or second.value is None:
        return replace(judged, reason="the two sides were read in two units: take both with one tool")
    return _of_pair(job, step, judged, first, second)


def _of_pair(job: Job, step: MeasureStep, judged: Judged, first: Value, second: Value) -> Judged:
    """Judge first minus second, less what the machine itself is known to differ by."""
    assert step.agree_within is not None
    pair, offset = _difference(step, first, second), side_offset(job, step, first.unit)
    if offset is not None:
        pair, reason = _less_offset(pair, *offset)
        judged = replace(judged, reason=reason)
    allowed = limit_in(step.agree_within, pair.unit)
    limits, rule = Limits(-allowed, allowed), replace(rule_of(job, step, pair.unit), sides="both")
    decided = _decided(_with_value(replace(judged, verdict="inside"), pair, limits), pair, step, limits, rule)
    return replace(decided, verdict="uneven") if decided.verdict in ("low", "high") else decided


def _difference(step: MeasureStep, first: Value, second: Value) -> Value:
    assert first.value is not None
    assert second.value is not None
    tools, (one, other) = first.tools | second.tools, step.slots
    return Value(
        "inside",
        value=first.value - second.value,
        unit=first.unit,
        digits=max(first.digits, second.digits),
        budget=pair_budget(first.budget, second.budget, same_tool=len(tools) == 1, names=(one, other)),
        tools=tools,
        resolution=max(first.resolution, second.resolution),
        warnings=tuple(dict.fromkeys((*first.warnings, *second.warnings))),
        repeatable=first.repeatable or second.repeatable,
    )


def _less_offset(pair: Value, offset: Fraction, u: Component) -> tuple[Value, str]:
    """Take a machine's own difference off a pair's, and say so."""
    assert pair.value is not None
    read, own = number(pair.value, pair.unit, pair.digits), number(offset, pair.unit, pair.digits)
    said = f"read {read} {pair.unit}, of which {own} {pair.unit} is the machine's own"
    return replace(pair, value=pair.value - offset, budget=pair.budget.plus(u)), said
