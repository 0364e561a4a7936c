"""What a torque step asks next: the fastener wanted, in the order of the sheet; a begun run is finished first."""

from itertools import groupby

from .facts import Job
from .prompted import Prompt, Verdicts, fails_before
from .sheet import TorqueStep, check_id
from .torqued import takes_hold


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
    """Return the next prompt of one torque step, or None when all its fasteners pass."""
    for slot in step.slots:
        judged = verdicts[check_id(step.id, slot)]
        if judged.passes:
            continue
        if judged.to_loosen:
            return Prompt("slacken", step.id, slot)
        loosened = job.fastener((step.id, slot)).loosened
        return Prompt("torque" if loosened else "untouched", step.id, slot)
    return None
