"""What the rules say of each check now: one verdict of the ten, with its reason and what would settle it.

Every comparison is exact: the reading as received against the limit converted once, as a fraction, into the reading's
unit; limits are inclusive.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from .events import Verdict
from .job import Attempt, Job, Place, Pull, Taken
from .sheet import ConfirmStep, MeasureStep, NoteStep, TorqueStep, check_id
from .units import Quantity, factor, show_number

PASSES: frozenset[Verdict] = frozenset({"inside", "done", "overridden"})
FAILS: frozenset[Verdict] = frozenset({"low", "high", "uneven", "unsure"})
WANTS: frozenset[Verdict] = frozenset({"waiting", "stale", "unsteady"})


@dataclass(frozen=True, slots=True)
class Judged:
    """One check with its verdict, the value it rests on and the room left to the nearest limit."""

    check: str
    verdict: Verdict
    reason: str = ""
    value: Fraction | None = None
    text: str = ""
    """The value as shown: the digits received, or a difference or mean of them."""
    unit: str = ""
    margin: Fraction | None = None
    """Distance to the nearest limit in `unit`, negative outside."""
    attempts: int = 0

    @property
    def passes(self) -> bool:
        """Whether this check lets the job close."""
        return self.verdict in PASSES


def judge(job: Job) -> Mapping[str, Judged]:
    """Judge every check of the job, in sheet order."""
    found: dict[str, Judged] = {}
    for step in job.sheet.step:
        match step:
            case ConfirmStep() | NoteStep():
                found[step.id] = _seen_to(job, step.id, isinstance(step, NoteStep))
            case MeasureStep():
                found |= _measured(job, step)
            case TorqueStep():
                for fastener in step.slots:
                    found[check_id(step.id, fastener)] = torqued(job, step, fastener)
    return {check: _overridden(job, judged) for check, judged in found.items()}


def _overridden(job: Job, judged: Judged) -> Judged:
    override = job.overrides.get(judged.check)
    if override is None:
        return judged
    return replace(judged, verdict="overridden", reason=f"{override.name}: {override.note} (was {override.was})")


def _seen_to(job: Job, step: str, is_note: bool) -> Judged:
    at = job.notes.get(step, (0, ""))[0] if is_note else job.confirmed.get(step, 0)
    if not at:
        return Judged(step, "waiting", "not written down yet" if is_note else "not confirmed yet")
    if at < job.disturbed.get(step, 0):
        return Judged(step, "stale", "disturbed since")
    return Judged(step, "done", text=job.notes[step][1] if is_note else "")


# --- measured -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Value:
    """What one place of a measure step reads now: the value, or why there is none."""

    verdict: Verdict
    """`inside` here only means: there is a value."""
    reason: str = ""
    value: Fraction | None = None
    text: str = ""
    unit: str = ""
    attempts: int = 0


def limit_in(quantity: Quantity, unit: str) -> Fraction:
    """Return a limit of the sheet in another unit, exactly; raises BadInput when the kinds differ."""
    return Fraction(quantity.value) * factor(quantity.unit, unit)


def current(job: Job, place: Place) -> Attempt | None:
    """The attempt that counts now: the last with a reading that was not withdrawn."""
    attempts = job.attempts.get(place, ())
    return next((attempt for attempt in reversed(attempts) if attempt.live), None)


def value_at(job: Job, step: MeasureStep, slot: str) -> Value:
    """Return what a place reads now, after the questions that come before any verdict."""
    tried = len(job.attempts.get((step.id, slot), ()))
    attempt = current(job, (step.id, slot))
    if attempt is None:
        return Value("waiting", "not taken yet", attempts=tried)
    if attempt.since < job.disturbed.get(step.id, 0):
        return Value("stale", "disturbed since it was taken", attempts=tried)
    live = attempt.live
    if len({taken.unit for taken in live}) > 1:
        return Value("waiting", "readings in two units: take it again with one tool", attempts=tried)
    if len(live) < step.set_size:
        return Value("waiting", _still_to_take(step, live), attempts=tried)
    return replace(_settled(step, live), attempts=tried)


def _still_to_take(step: MeasureStep, live: tuple[Taken, ...]) -> str:
    if step.takes == "difference":
        return f"{step.parts[len(live) % 2]} still to take"
    return f"{len(live)} of {step.set_size} taken"


def values_of(step: MeasureStep, live: tuple[Taken, ...]) -> tuple[Decimal, ...]:
    """Return the repeats of one attempt; a difference is the part that reads larger minus the other."""
    if step.takes == "value":
        return tuple(taken.value for taken in live)
    pairs = zip(live[::2], live[1::2], strict=True)
    sign = 1 if step.larger == step.parts[1] else -1
    return tuple(sign * (second.value - first.value) for first, second in pairs)


def _settled(step: MeasureStep, live: tuple[Taken, ...]) -> Value:
    unit, values = live[0].unit, values_of(step, live)
    mean = sum((Fraction(value) for value in values), Fraction(0)) / len(values)
    text = str(values[0]) if len(values) == 1 else show_number(mean, 3)
    value = Value("inside", "", mean, text, unit)
    if step.plausible is not None:
        doubt = _doubt(step, values, unit)
        if doubt:
            return replace(value, verdict="waiting", reason=doubt)
    if step.spread_within is not None and len(values) > 1:
        spread = max(values) - min(values)
        if spread > limit_in(step.spread_within, unit):
            reason = f"repeats differ by {spread} {unit}, more than {step.spread_within.text}"
            return replace(value, verdict="unsteady", reason=reason)
    return value


def _doubt(step: MeasureStep, values: tuple[Decimal, ...], unit: str) -> str:
    assert step.plausible is not None
    low, high = (limit_in(limit, unit) for limit in step.plausible)
    for value in values:
        if low <= value <= high:
            continue
        said = f"{value} {unit} is not plausible here ({step.plausible[0].text} to {step.plausible[1].text})"
        if low <= value * Fraction(254, 10) <= high:
            return f"{said}; it looks like inches: check the unit of the tool and take it again"
        if low <= value / Fraction(254, 10) <= high:
            return f"{said}; it looks like millimetres: check the unit of the tool and take it again"
        return f"{said}: take it again"
    return ""


def _measured(job: Job, step: MeasureStep) -> dict[str, Judged]:
    values = {slot: value_at(job, step, slot) for slot in step.slots}
    found: dict[str, Judged] = {}
    if step.window is not None or step.agree_within is None:
        for slot, value in values.items():
            check = check_id(step.id, slot)
            found[check] = _against_window(check, step, value)
    if step.agree_within is not None:
        check = f"{step.id}.agreement"
        found[check] = _agreement(check, step, values)
    return found


def _against_window(check: str, step: MeasureStep, value: Value) -> Judged:
    judged = Judged(check, value.verdict, value.reason, value.value, value.text, value.unit, None, value.attempts)
    if value.verdict != "inside" or value.value is None or step.window is None:
        return judged
    low, high = (limit_in(limit, value.unit) for limit in step.window)
    return replace(judged, **_placed(value.value, low, high))


def _placed(value: Fraction, low: Fraction, high: Fraction) -> dict[str, object]:
    margin = min(value - low, high - value)
    verdict = "inside" if margin >= 0 else "low" if value < low else "high"
    return {"verdict": verdict, "margin": margin}


def _agreement(check: str, step: MeasureStep, values: Mapping[str, Value]) -> Judged:
    assert step.agree_within is not None
    tried = max(value.attempts for value in values.values())
    for slot, value in values.items():
        if value.verdict != "inside":
            return Judged(check, value.verdict, f"{slot}: {value.reason}", attempts=tried)
    first, second = values.values()
    if first.unit != second.unit or first.value is None or second.value is None:
        return Judged(check, "waiting", "the two sides were read in two units: use one tool", attempts=tried)
    difference = first.value - second.value
    allowed = limit_in(step.agree_within, first.unit)
    text = str(Decimal(first.text) - Decimal(second.text))
    judged = Judged(check, "inside", "", difference, text, first.unit, allowed - abs(difference), tried)
    return judged if abs(difference) <= allowed else replace(judged, verdict="uneven")


# --- torqued --------------------------------------------------------------------------------------------------------


def torqued(job: Job, step: TorqueStep, slot: str) -> Judged:
    """Judge one fastener: it starts from loose, any instant above the window is `high`, a re-hit changes nothing."""
    check, fastener = check_id(step.id, slot), job.fastener((step.id, slot))
    disturbed = job.disturbed.get(step.id, 0)
    pulls = tuple(pull for pull in fastener.pulls if pull.seq > fastener.loosened)
    tried = len(fastener.pulls)
    over = next((pull for pull in pulls if _above(step, pull)), None)
    if over is not None:
        margin = limit_in(step.window[1], over.unit) - Fraction(over.most or 0)
        reason = f"reached {over.most} {over.unit}: loosen it and torque again"
        return Judged(check, "high", reason, Fraction(over.most or 0), str(over.most), over.unit, margin, tried)
    if not fastener.loosened:
        return _never_loosened(check, fastener.untouched, disturbed, tried)
    good = next((pull for pull in pulls if reaches(step, pull)), None)
    if good is None:
        return Judged(check, "stale" if _was_good(step, fastener.pulls) else "waiting", _run_up(pulls), attempts=tried)
    if good.seq < disturbed:
        return Judged(check, "stale", "disturbed since it was torqued: loosen it and torque again", attempts=tried)
    peak = Fraction(good.peak or 0)
    low, high = (limit_in(limit, good.unit) for limit in step.window)
    return Judged(check, "inside", "", peak, good.text, good.unit, min(peak - low, high - peak), tried)


def _never_loosened(check: str, untouched: int, disturbed: int, tried: int) -> Judged:
    if untouched > disturbed:
        return Judged(check, "done", "not loosened, witness mark in line", attempts=tried)
    if tried:
        return Judged(check, "waiting", "a torque starts from loose: loosen it, then torque it", attempts=tried)
    verdict: Verdict = "stale" if untouched else "waiting"
    return Judged(check, verdict, "confirm that it is untouched, or loosen it", attempts=tried)


def _above(step: TorqueStep, pull: Pull) -> bool:
    return pull.most is not None and pull.most > limit_in(step.window[1], pull.unit)


def reaches(step: TorqueStep, pull: Pull) -> bool:
    """Whether a pull counts as reaching the window: asked for, whole, not withdrawn, peak inside."""
    if not pull.asked or pull.withdrawn or pull.invalid or pull.peak is None:
        return False
    low, high = (limit_in(limit, pull.unit) for limit in step.window)
    return low <= pull.peak <= high


def _was_good(step: TorqueStep, pulls: tuple[Pull, ...]) -> bool:
    return any(reaches(step, pull) for pull in pulls)


def _run_up(pulls: tuple[Pull, ...]) -> str:
    if not pulls:
        return "loose, not torqued yet"
    last = pulls[-1]
    if last.invalid:
        return f"the last pull cannot be used ({last.invalid}): pull again"
    return f"so far {last.text} {last.unit}, still below the window"
