"""A zero check: what the tool read of something known, when it is wanted again, and what a failed one makes suspect.

The reading of a zero check is a reading like any other; nothing here edits one. A failed check names the readings of
that tool since its last good one, the bench puts that on the trail, and the rules ask for them again.
"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from . import events as ev
from .facts import Job, Taken
from .job import current
from .judged import Judged, limit_in, number
from .sheet import MeasureStep, ZeroStep
from .units import Limits, decimals, margin, position, trimmed

REMEDY = "zero the tool, see that its faces are clean, and take it again"


def limits_of(step: ZeroStep, unit: str) -> Limits:
    """Return what the tool may read, in its unit, exactly; limits included."""
    reference, within = limit_in(step.reference, unit), limit_in(step.within, unit)
    return Limits(reference - within, reference + within)


# --- the verdict ----------------------------------------------------------------------------------------------------


def zeroed(job: Job, step: ZeroStep) -> Judged:
    """Judge a zero check by its last reading that was not taken back."""
    attempts = job.attempts.get((step.id, ""), ())
    attempt = current(attempts)
    if attempt is None:
        return Judged(step.id, "waiting", "not taken yet", attempts=len(attempts))
    taken = attempt.live[-1]
    judged = _against_reference(step, taken, len(attempts))
    if taken.seq < job.disturbed.get(step.id, 0):
        return replace(judged, verdict="stale", reason="disturbed since it was taken")
    return _still_good(job, step, taken, judged) if judged.verdict == "inside" else judged


def _against_reference(step: ZeroStep, taken: Taken, attempts: int) -> Judged:
    value, limits = Fraction(taken.value), limits_of(step, taken.unit)
    verdict = position(value, limits)
    text = number(value, taken.unit, decimals(trimmed(taken.text)), limits)
    off = f"{taken.tool} reads more than {step.within} off {step.reference}: {REMEDY}"
    reason = "" if verdict == "inside" else off
    return Judged(step.id, verdict, reason, value, text, taken.unit, margin(value, limits), attempts)


def _still_good(job: Job, step: ZeroStep, taken: Taken, judged: Judged) -> Judged:
    """Look at what was read since: so many readings of the tool, or any of a step that this check concludes."""
    since = sum(each.tool == taken.tool and each.seq > taken.seq for each in _measured(job))
    if step.every is not None and since >= step.every:
        reason = f"{since} readings of {taken.tool} since: due after {step.every}"
        return replace(judged, verdict="stale", reason=reason)
    if any(each.tool == taken.tool and each.seq > taken.seq for each in _measured(job, before=step)):
        return replace(judged, verdict="stale", reason=f"{taken.tool} was used since")
    left = _never_checked(job, step)
    if left:
        return replace(judged, verdict="waiting", reason=f"{left} was used too: check it as well")
    return judged


def _measured(job: Job, before: ZeroStep | None = None) -> Iterator[Taken]:
    """Every counted reading of a measure step; `before` leaves only the steps that stand before a zero check."""
    here = len(job.sheet.step) if before is None else job.sheet.order[before.id]
    for (step_id, _), attempts in job.attempts.items():
        if isinstance(job.sheet.by_id[step_id], MeasureStep) and job.sheet.order[step_id] < here:
            yield from (each for attempt in attempts for each in attempt.taken)


def _never_checked(job: Job, step: ZeroStep) -> str:
    """Name a tool on which an earlier step rests now, which this check is for, and which it was not taken with."""
    here = (each for attempt in job.attempts.get((step.id, ""), ()) for each in attempt.live)
    checked = {each.tool: each.seq for each in here}
    for (step_id, _), attempts in job.attempts.items():
        attempt, earlier = current(attempts), job.sheet.order[step_id] < job.sheet.order[step.id]
        if attempt is None or not earlier or not isinstance(job.sheet.by_id[step_id], MeasureStep):
            continue
        for each in attempt.live:
            if each.tool_kind in step.tools and checked.get(each.tool, 0) < each.seq:
                return each.tool
    return ""


def _zero_readings(job: Job) -> list[Taken]:
    """Every reading of a zero check that was not taken back, in order."""
    attempts = (job.attempts.get((step.id, ""), ()) for step in job.sheet.zeros)
    return sorted((each for found in attempts for attempt in found for each in attempt.live), key=lambda each: each.seq)


# --- a failed check -------------------------------------------------------------------------------------------------


def suspected(job: Job) -> ev.Suspected | None:
    """Return which readings a failed zero check makes suspect, and that nobody named yet; None when there are none.

    Those are the counted readings of the tool since its last good zero check, as long as its last one failed and no
    person let it pass.
    """
    if job.closed or not job.sheet.zeros:
        return None
    for step in job.sheet.zeros:
        for taken in _last_of_each_tool(job, step):
            found = _since_last_good(job, step, taken)
            if found:
                return ev.Suspected(tool=taken.tool, zero=taken.seq, readings=found, why=_why(step, taken))
    return None


def _last_of_each_tool(job: Job, step: ZeroStep) -> Iterator[Taken]:
    """The readings at this step after which no zero check was taken with their tool."""
    last = {each.tool: each.seq for each in _zero_readings(job)}
    for attempt in job.attempts.get((step.id, ""), ()):
        yield from (each for each in attempt.live if last[each.tool] == each.seq)


def _since_last_good(job: Job, step: ZeroStep, failed: Taken) -> tuple[int, ...]:
    if step.id in job.overrides or position(failed.value, limits_of(step, failed.unit)) == "inside":
        return ()
    good = _last_good(job, failed.tool)
    readings = (each for each in _measured(job) if each.tool == failed.tool and not each.withdrawn)
    return tuple(sorted(each.seq for each in readings if each.seq > good and each.seq not in job.suspect))


def _last_good(job: Job, tool: str) -> int:
    """Sequence of the last good zero check of a tool, 0 when it had none."""
    good = 0
    for step in job.sheet.zeros:
        for attempt in job.attempts.get((step.id, ""), ()):
            passed = (each for each in attempt.live if position(each.value, limits_of(step, each.unit)) == "inside")
            good = max([good, *(each.seq for each in passed if each.tool == tool)])
    return good


def _why(step: ZeroStep, taken: Taken) -> str:
    return f"{step.title}: read {trimmed(taken.text)} {taken.unit}, allowed {step.reference} ± {step.within}"
