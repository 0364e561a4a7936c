"""What an answer to a person has to say of a check besides: that it was never taken, that both halves go; pure."""

from logger.sheets.sheet import ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep

from .facts import Job


def untaken(job: Job, check: str) -> str:
    """Return that nothing was ever taken, pulled, confirmed or written down for a check; empty where something was."""
    step_id, _, place = check.partition(".")
    match job.sheet.by_id.get(step_id):
        case MeasureStep() | ZeroStep() if not any(each.live for each in job.attempts.get((step_id, place), ())):
            return "was not taken"
        case TorqueStep() if not any(not pull.withdrawn for pull in job.fastener((step_id, place)).pulls):
            return "was not pulled"
        case ConfirmStep() if step_id not in job.confirmed:
            return "was not confirmed"
        case NoteStep() if step_id not in job.notes:
            return "was not written down"
        case _:
            return ""


def in_halves(job: Job, seq: int) -> bool:
    """Whether a reading is a half of a difference: then withdrawing it withdraws the other half with it."""
    steps = (place[0] for place, all_ in job.attempts.items() for each in all_ for t in each.taken if t.seq == seq)
    found = (job.sheet.by_id[step] for step in steps)
    return any(isinstance(step, MeasureStep) and step.takes == "difference" for step in found)
