"""What stands above everything else, on a record as on the closed page: first that a machine is not to be ridden."""

from collections.abc import Mapping, Sequence

from logger.job.facts import Job
from logger.job.rules import Judged
from logger.job.words import check_title
from logger.sheets.sheet import ConfirmStep, TorqueStep

OVERRIDDEN = "NOT TO BE RIDDEN OR RUN: {names} {was} let pass by hand, not by {its} window."
UNFINISHED = "NOT TO BE RIDDEN OR RUN: the job is not finished; {names} {does} not pass."
_ONE = {"was": "was", "its": "its", "does": "does"}
_MORE = {"was": "were", "its": "their", "does": "do"}
OPEN = "The job is open: this record is of an unfinished job."
SIMULATED = "Simulated: no machine was serviced."


def warnings_of(job: Job, verdicts: Mapping[str, Judged]) -> tuple[tuple[str, ...], bool]:
    """Return what stands above everything else, and whether the machine is not to be ridden."""
    grave = [judged for judged in verdicts.values() if _carries_load(job, judged.check)]
    by_hand = [judged for judged in grave if judged.verdict == "overridden"]
    unsettled = [judged for judged in grave if not judged.passes]
    found = [
        text.format(names=_named(job, which), **(_ONE if len(which) == 1 else _MORE))
        for text, which in ((OVERRIDDEN, by_hand), (UNFINISHED, unsettled))
        if which
    ]
    let_pass = [
        f"{check_title(job, judged.check)} does not pass and was let pass: {judged.reason}"
        for judged in verdicts.values()
        if judged.verdict == "overridden" and judged not in grave
    ]
    others = let_pass + [OPEN] * (not job.closed) + [SIMULATED] * job.simulated
    return (*found, *others), bool(found)


def _named(job: Job, which: Sequence[Judged]) -> str:
    """Name checks in a sentence; a title may have a comma of its own, so that only "and" tells the last apart."""
    *others, last = (check_title(job, judged.check) for judged in which)
    return f"{', '.join(others)} and {last}" if others else last


def _carries_load(job: Job, check: str) -> bool:
    """Whether a check is a torque, or the locking of one (split pin, witness mark)."""
    step = job.sheet.by_id[check.partition(".")[0]]
    return isinstance(step, TorqueStep) or (isinstance(step, ConfirmStep) and bool(step.locks))
