"""A zero check: what the tool read of something known, when it is wanted again, and what a failed one makes suspect.

The reading of a zero check is a reading like any other; nothing here edits one. A failed check names the readings of
that tool since its last good one, the bench puts that on the trail, and the rules ask for them again.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from logger import events as ev
from logger.events import Verdict
from logger.sheets.sheet import MeasureStep, ZeroStep
from logger.units import Limits, decimals, margin, position, trimmed

from .facts import Job, Taken
from .job import current
from .judged import Judged, limit_in, number

REMEDY = "zero the tool, see that its faces are clean, and take it again"


def limits_of(step: ZeroStep, unit: str) -> Limits:
    """Return what the tool may read, in its unit, exactly; limits included."""
    reference, within = limit_in(step.reference, unit), limit_in(step.within, unit)
    return Limits(reference - within, reference + within)


# --- the verdict ----------------------------------------------------------------------------------------------------


def zeroed(job: Job, step: ZeroStep) -> Judged:
    """Judge a zero check tool by tool: one that failed, one that is due, else its last reading not taken back."""
    attempts = job.attempts.get((step.id, ""), ())
    attempt = current(attempts)
    if attempt is None:
        return Judged(step.id, "waiting", "not taken yet", attempts=len(attempts))
    last, failed = attempt.live[-1], _failed(job, step)
    judged = _against_reference(step, failed or last, len(attempts))
    if job.is_disturbed(step.id, last.seq):
        return replace(judged, verdict="stale", reason="disturbed since it was taken")
    due = None if failed else _due(job, step)
    return judged if due is None else replace(judged, verdict=due.verdict, reason=due.reason)


def to_check(job: Job, step: ZeroStep) -> str:
    """Name the one tool that this check is wanted of now; empty where any will do, or nobody named it."""
    wanted = _failed(job, step) or _due(job, step)
    return wanted.tool if wanted is not None and wanted.tool_kind in step.tools else ""


def _against_reference(step: ZeroStep, taken: Taken, attempts: int) -> Judged:
    value, limits = Fraction(taken.value), limits_of(step, taken.unit)
    verdict = position(value, limits)
    text = number(value, taken.unit, decimals(trimmed(taken.text)))
    off = f"{taken.tool} reads more than {step.within} off {step.reference}: {REMEDY}"
    reason = "" if verdict == "inside" else off
    return Judged(step.id, verdict, reason, value, text, taken.unit, margin(value, limits), attempts)


# --- tool by tool ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Due:
    """A tool that has to be checked, and why."""

    tool: str
    tool_kind: str
    verdict: Verdict
    reason: str


def _checked(job: Job, step: ZeroStep) -> dict[str, Taken]:
    """The last reading of each tool at a check, the newest first."""
    found = {each.tool: each for attempt in job.attempts.get((step.id, ""), ()) for each in attempt.live}
    return dict(sorted(found.items(), key=lambda entry: -entry[1].seq))


def _passes(step: ZeroStep, taken: Taken) -> bool:
    return position(taken.value, limits_of(step, taken.unit)) == "inside"


def _failed(job: Job, step: ZeroStep) -> Taken | None:
    """The last reading of a tool that failed, until that tool passes or is set aside for another."""
    checked = _checked(job, step)
    failed = (each for each in checked.values() if not _passes(step, each))
    return next((each for each in failed if not _set_aside(job, step, each)), None)


def _set_aside(job: Job, step: ZeroStep, failed: Taken) -> bool:
    """Whether another tool that is known by name passed since a failed one failed, and since it was last used."""
    since = max([failed.seq, *(each.seq for each in _measured(job) if each.tool == failed.tool)])
    named = (each for each in _checked(job, step).values() if each.tool_kind in step.tools)
    others = (each for each in named if each.tool != failed.tool and each.seq > since)
    return any(_passes(step, each) for each in others)


def _due(job: Job, step: ZeroStep) -> _Due | None:
    """The first tool that is due: after so many readings, used since at a step that this concludes, or never checked.

    Only a tool on which the job rests now is due, and the one that was checked last.
    """
    checked, resting = _checked(job, step), list(_resting(job))
    for tool, last in checked.items():
        used = [at for at, each in resting if each.tool == tool and each.seq > last.seq]
        since = sum(each.tool == tool and each.seq > last.seq for each in _measured(job))
        if step.every is not None and since >= step.every and (used or tool == next(iter(checked))):
            reason = f"{since} readings of {tool} since: due after {step.every}"
            return _Due(tool, last.tool_kind, "stale", reason)
        if any(at < job.sheet.order[step.id] for at in used):
            return _Due(tool, last.tool_kind, "stale", f"{tool} was used since")
    return _never_checked(job, step, checked, resting)


def _never_checked(
    job: Job, step: ZeroStep, checked: Mapping[str, Taken], resting: list[tuple[int, Taken]]
) -> _Due | None:
    """Find a tool that this check is for: used before it and not checked here, or used after it and checked nowhere."""
    anywhere = {each.tool for each in _zero_readings(job)}
    for at, each in resting:
        if each.tool_kind not in step.tools or each.tool in checked:
            continue
        if at < job.sheet.order[step.id]:
            return _Due(each.tool, each.tool_kind, "waiting", f"{each.tool} was used too: check it as well")
        if each.tool not in anywhere:
            return _Due(each.tool, each.tool_kind, "waiting", f"{each.tool} was used without a zero check: check it")
    return None


def _resting(job: Job) -> Iterator[tuple[int, Taken]]:
    """Every reading on which a measure step rests now, with where that step stands in the sheet."""
    for (step_id, _), attempts in job.attempts.items():
        attempt = current(attempts)
        if attempt is not None and isinstance(job.sheet.by_id[step_id], MeasureStep):
            yield from ((job.sheet.order[step_id], each) for each in attempt.live)


def _measured(job: Job) -> Iterator[Taken]:
    """Every counted reading of a measure step."""
    for (step_id, _), attempts in job.attempts.items():
        if isinstance(job.sheet.by_id[step_id], MeasureStep):
            yield from (each for attempt in attempts for each in attempt.taken)


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
    if job.closed:
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
    if step.id in job.overrides or _passes(step, failed):
        return ()
    good = _last_good(job, failed.tool)
    readings = (each for each in _measured(job) if each.tool == failed.tool and not each.withdrawn)
    return tuple(sorted(each.seq for each in readings if each.seq > good and each.seq not in job.suspect))


def _last_good(job: Job, tool: str) -> int:
    """Sequence of the last good zero check of a tool, 0 when it had none."""
    good = 0
    for step in job.sheet.zeros:
        for attempt in job.attempts.get((step.id, ""), ()):
            passed = (each for each in attempt.live if _passes(step, each))
            good = max([good, *(each.seq for each in passed if each.tool == tool)])
    return good


def _why(step: ZeroStep, taken: Taken) -> str:
    return f"{step.title}: read {trimmed(taken.text)} {taken.unit}, allowed {step.reference} ± {step.within}"
