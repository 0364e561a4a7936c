"""What a torque step asks next: the fastener wanted, in the order of the sheet; a begun run is finished first."""

from itertools import groupby

from logger.sheets.sheet import TorqueStep, check_id

from .facts import Job
from .prompted import Prompt, Verdicts, fails_before
from .torquepass import passes_of, reached, takes_hold


def torque_runs(job: Job) -> tuple[tuple[TorqueStep, ...], ...]:
    """Return the runs of consecutive torque steps of the sheet."""
    runs = groupby(job.sheet.step, key=lambda step: isinstance(step, TorqueStep))
    return tuple(tuple(step for step in run if isinstance(step, TorqueStep)) for torque, run in runs if torque)


def begun_run(job: Job, verdicts: Verdicts) -> Prompt | None:
    """Finish a run of torque steps that was begun since the last loosening or adjustment, before re-measuring."""
    for run in torque_runs(job):
        if any(_begun(job, step) for step in run) and not fails_before(job, verdicts, run[0]):
            prompts = (wanted(job, step, verdicts) for step in run)
            prompt = next((each for each in prompts if each is not None), None)
            if prompt is not None:
                return prompt
    return None


def _begun(job: Job, step: TorqueStep) -> bool:
    """Whether a pull began this step: one that was asked for, or that took hold unasked; snugging a nut does not."""
    since = max(job.loosened, job.last_turned)
    pulls = [pull for slot in step.slots for pull in job.fastener((step.id, slot)).pulls if pull.seq > since]
    return any(pull.asked or takes_hold(step, pull) for pull in pulls)


def wanted(job: Job, step: TorqueStep, verdicts: Verdicts) -> Prompt | None:
    """Return the next prompt of one torque step, or None when all its fasteners pass.

    With passes it is the first fastener of those that lag behind; what has to be loosened comes before any pull.
    """
    left = [slot for slot in step.slots if not verdicts[check_id(step.id, slot)].passes]
    if not left:
        return None
    if not step.passes:
        return _asked(job, step, left[0], verdicts, 1)
    tight = [slot for slot in left if verdicts[check_id(step.id, slot)].to_loosen]
    if tight:
        return _asked(job, step, tight[0], verdicts, 1)
    slot = min(left, key=lambda each: reached(job, step, each))
    return _asked(job, step, slot, verdicts, reached(job, step, slot) + 1)


def _asked(job: Job, step: TorqueStep, slot: str, verdicts: Verdicts, number: int) -> Prompt:
    if verdicts[check_id(step.id, slot)].to_loosen:
        return Prompt("slacken", step.id, slot)
    if not job.fastener((step.id, slot)).loosened:
        return Prompt("untouched", step.id, slot)
    return Prompt("torque", step.id, slot, number=number, of=passes_of(step))
