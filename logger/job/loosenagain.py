"""What comes between loosening a fastener and pulling it again: the earlier steps that the loosening disturbs; pure."""

from logger.sheets.sheet import AdjustStep, TorqueStep

from .facts import Job


def comes_first(job: Job, step: TorqueStep) -> str:
    """Name what is asked for again before a pull counts once this step is loosened, "Slack and Sides"; else empty."""
    before = job.sheet.step[: job.sheet.order[step.id]]
    titles = [
        each.title.partition(",")[0]
        for each in before
        if each.id in step.disturbs and not isinstance(each, AdjustStep | TorqueStep)
    ]
    return " and ".join(filter(None, (", ".join(titles[:-1]), *titles[-1:])))


def first_line(job: Job, step: TorqueStep) -> str:
    """Say after "loosen it" what comes first, "Slack and Sides come first"; empty where a pull is next."""
    first = comes_first(job, step)
    return f"{first} come{'' if ' and ' in first else 's'} first" if first else ""


def loosen_again(job: Job, step: TorqueStep) -> str:
    """Say how a fastener that no further pull brings to pass is torqued again, with what comes between."""
    first = first_line(job, step)
    return f"loosen it; {first}, then torque again" if first else "loosen it and torque again"
