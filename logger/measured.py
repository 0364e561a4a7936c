"""What a measure step reads now, and its verdicts: each place against the window, a pair against each other.

Every comparison is exact: the reading as received against the limit converted once, as a fraction, into the reading's
unit; limits are inclusive.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from .events import Verdict
from .facts import Attempt, Job, Taken
from .job import current
from .judged import Judged, limit_in, number
from .sheet import MeasureStep, check_id
from .units import Limits, decimals, factor, in_unit, margin, position, trimmed


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


def value_at(job: Job, step: MeasureStep, slot: str) -> Value:
    """Return what a place reads now, after the questions that come before any verdict."""
    attempts = job.attempts.get((step.id, slot), ())
    attempt, disturbed = current(attempts), job.disturbed.get(step.id, 0)
    if attempt is None:
        return Value("waiting", "not taken yet", attempts=len(attempts))
    found = Value("waiting", attempts=len(attempts), since=attempt.since)
    if attempt.since < disturbed:
        return replace(found, verdict="stale", reason="disturbed since it was taken")
    if len(attempt.units) > 1:
        return replace(found, reason="readings in two units: take it again with one tool")
    if len(attempt.live) < step.set_size:
        return replace(found, reason=_still_to_take(step, attempt.live))
    doubt = _doubt(step, attempt)
    earlier = [each for each in attempts if each is not attempt and each.since > disturbed]
    if doubt and not any(_believes(step, attempt, each) for each in earlier):
        return replace(_settled(step, attempt, found), verdict="waiting", reason=doubt)
    return _settled(step, attempt, found)


def _still_to_take(step: MeasureStep, live: tuple[Taken, ...]) -> str:
    if step.takes == "difference":
        return f"{step.parts[len(live) % 2]} still to take"
    return f"{len(live)} of {step.set_size} taken"


def values_of(step: MeasureStep, live: tuple[Taken, ...]) -> tuple[Decimal, ...]:
    """Return the repeats of one attempt; a difference is the part that reads larger minus the other."""
    if step.takes == "value":
        return tuple(taken.value for taken in live)
    pairs = zip(live[::2], live[1::2], strict=False)
    sign = 1 if step.larger == step.parts[1] else -1
    return tuple(sign * (second.value - first.value) for first, second in pairs)


def mean_of(step: MeasureStep, live: tuple[Taken, ...]) -> Fraction:
    """Return the mean of the repeats of a whole attempt, exactly, in the unit it was read in."""
    values = values_of(step, live)
    return sum((Fraction(value) for value in values), Fraction(0)) / len(values)


def _settled(step: MeasureStep, attempt: Attempt, found: Value) -> Value:
    (unit,) = attempt.units
    digits = max(decimals(trimmed(taken.text)) for taken in attempt.live)
    value = replace(found, verdict="inside", value=mean_of(step, attempt.live), unit=unit, digits=digits)
    values = values_of(step, attempt.live)
    spread = max(values) - min(values)
    if step.spread_within is None or Fraction(spread) <= limit_in(step.spread_within, unit):
        return value
    reason = f"repeats differ by {spread} {unit}, more than {step.spread_within}"
    return replace(value, verdict="unsteady", reason=reason)


# --- doubt ----------------------------------------------------------------------------------------------------------

_INCH = Fraction(254, 10)


def _outside(step: MeasureStep, attempt: Attempt) -> tuple[Decimal, str] | None:
    """Return the first value of an attempt outside what is plausible, with the side it lies on."""
    if step.plausible is None:
        return None
    (unit,) = attempt.units
    limits = in_unit(step.plausible, unit)
    for value in values_of(step, attempt.live):
        side = position(value, limits)
        if side != "inside":
            return value, side
    return None


def _looks_like(step: MeasureStep, attempt: Attempt, value: Decimal) -> str:
    """Name the unit in which an implausible value would be plausible, or nothing."""
    assert step.plausible is not None
    (unit,) = attempt.units
    name, guess = ("millimetres", 1 / _INCH) if unit == "in" else ("inches", _INCH)
    return name if position(Fraction(value) * guess, in_unit(step.plausible, unit)) == "inside" else ""


def _doubt(step: MeasureStep, attempt: Attempt) -> str:
    found = _outside(step, attempt)
    if found is None or step.plausible is None:
        return ""
    (unit,) = attempt.units
    said = f"{found[0]} {unit} is not plausible here ({step.plausible[0]} to {step.plausible[1]})"
    other = _looks_like(step, attempt, found[0])
    if other:
        return f"{said}; it looks like {other}: check the unit of the tool, then take it again typed with its unit"
    return f"{said}: take it again"


def _believes(step: MeasureStep, attempt: Attempt, earlier: Attempt) -> bool:
    """Whether an earlier attempt bears an implausible value out, so that it is judged and nobody is trapped.

    The earlier one lies on the same side; and where the value looks like another unit, a person typed it with its
    unit, since a tool set to the wrong one only says the same again. What is implausible never passes: the window
    lies within.
    """
    found = _outside(step, attempt)
    if found is None or len(earlier.live) < step.set_size or len(earlier.units) != 1:
        return False
    before = _outside(step, earlier)
    if before is None or before[1] != found[1] or not _alike(step, attempt, earlier):
        return False
    typed = all(taken.source == "typed" for taken in attempt.live)
    return typed or not _looks_like(step, attempt, found[0])


def _alike(step: MeasureStep, attempt: Attempt, earlier: Attempt) -> bool:
    """Whether two attempts agree within a twentieth of what is plausible: two slips of the hand seldom do."""
    (unit,) = attempt.units
    (before,) = earlier.units
    low, high = (limit_in(limit, unit) for limit in step.plausible or ())
    apart = mean_of(step, attempt.live) - mean_of(step, earlier.live) * factor(before, unit)
    return abs(apart) <= (high - low) / 20


# --- verdicts -------------------------------------------------------------------------------------------------------


def measured(job: Job, step: MeasureStep) -> dict[str, Judged]:
    """Judge every check of a measure step: its places, where they are judged one by one, and its agreement."""
    values = {slot: value_at(job, step, slot) for slot in step.slots}
    found: dict[str, Judged] = {}
    if step.window is not None or step.agree_within is None:
        for slot, value in values.items():
            found[check_id(step.id, slot)] = _against_window(check_id(step.id, slot), step, value)
    if step.agree_within is not None:
        found[f"{step.id}.agreement"] = _agreement(step, values)
    return found


def _against_window(check: str, step: MeasureStep, value: Value) -> Judged:
    judged = Judged(check, value.verdict, value.reason, value.value, "", value.unit, attempts=value.attempts)
    if value.value is None:
        return judged
    limits = None if step.window is None else in_unit(step.window, value.unit)
    judged = replace(judged, text=number(value.value, value.unit, value.digits, limits))
    if value.verdict != "inside" or limits is None:
        return judged
    return replace(judged, verdict=position(value.value, limits), margin=margin(value.value, limits))


def _agreement(step: MeasureStep, values: Mapping[str, Value]) -> Judged:
    assert step.agree_within is not None
    judged = Judged(f"{step.id}.agreement", "waiting", attempts=max(value.attempts for value in values.values()))
    for slot, value in values.items():
        if value.verdict != "inside":
            return replace(judged, verdict=value.verdict, reason=f"{slot}: {value.reason}")
    first, second = values.values()
    if first.unit != second.unit or first.value is None or second.value is None:
        return replace(judged, reason="the two sides were read in two units: take both with one tool")
    allowed, difference = limit_in(step.agree_within, first.unit), first.value - second.value
    limits = Limits(-allowed, allowed)
    return replace(
        judged,
        verdict="inside" if position(difference, limits) == "inside" else "uneven",
        value=difference,
        text=number(difference, first.unit, max(first.digits, second.digits), limits),
        unit=first.unit,
        margin=margin(difference, limits),
    )
