"""What the rules say of each check now: one verdict of the ten, with its reason and the room left."""

from collections.abc import Mapping
from dataclasses import replace

from logger.sheets.sheet import ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep, check_id

from .facts import Job
from .judged import FAILS, PASSES, WANTS, Judged, limit_in, standing
from .measured import Value, is_whole, mean_of, measured, value_at, values_of
from .torqued import torqued
from .zeroed import zeroed

__all__ = [
    "FAILS",
    "PASSES",
    "WANTS",
    "Judged",
    "Value",
    "is_whole",
    "judge",
    "limit_in",
    "mean_of",
    "standing",
    "value_at",
    "values_of",
]


def judge(job: Job) -> Mapping[str, Judged]:
    """Judge every check of the job, in sheet order; an adjust step has none."""
    found: dict[str, Judged] = {}
    for step in job.sheet.step:
        match step:
            case ConfirmStep():
                found[step.id] = _confirmed(job, step.id)
            case NoteStep():
                found[step.id] = _noted(job, step.id)
            case ZeroStep():
                found[step.id] = zeroed(job, step)
            case MeasureStep():
                found |= measured(job, step)
            case TorqueStep():
                for fastener in step.slots:
                    found[check_id(step.id, fastener)] = torqued(job, step, fastener)
    return {check: _overridden(job, judged) for check, judged in found.items()}


def _overridden(job: Job, judged: Judged) -> Judged:
    override = job.overrides.get(judged.check)
    if override is None:
        return judged
    reason = f"{override.name}: {override.note} (was {override.was})"
    return replace(judged, verdict="overridden", reason=reason, to_loosen=False, more=False)


def _confirmed(job: Job, step: str) -> Judged:
    if step not in job.confirmed:
        return Judged(step, "waiting", "not confirmed yet")
    if job.is_disturbed(step, job.confirmed[step]):
        return Judged(step, "stale", "disturbed since it was confirmed")
    return Judged(step, "done")


def _noted(job: Job, step: str) -> Judged:
    if step not in job.notes:
        return Judged(step, "waiting", "not written down yet")
    at, text = job.notes[step]
    if job.is_disturbed(step, at):
        return Judged(step, "stale", "disturbed since it was written down", text=text)
    return Judged(step, "done", text=text)
