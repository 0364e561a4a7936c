"""What stands above everything else, on a record as on the closed page: first that a machine is not to be ridden."""

from collections.abc import Mapping, Sequence

from logger.job.facts import Job
from logger.job.judged import Judged
from logger.job.named import check_title
from logger.job.verdictwords import GROUNDED

OVERRIDDEN = GROUNDED + ": {names} {was} let pass by hand; {it} not pass."
UNFINISHED = GROUNDED + ": the job is not finished. {names} {does} not pass."
_ONE = {"was": "was", "it": "it does", "does": "does"}
_MORE = {"was": "were", "it": "they do", "does": "do"}
OPEN = "The job is open: this record is of an unfinished job."
SIMULATED = "Simulated: no machine was serviced."


def warnings_of(job: Job, verdicts: Mapping[str, Judged]) -> tuple[tuple[str, ...], bool]:
    """Return what stands above everything else, and whether the machine is not to be ridden."""
    grave = [judged for judged in verdicts.values() if job.sheet.is_vital(judged.check)]
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
    """Name checks in a sentence; a title may have a comma of its own, so that more than two are told apart by ";"."""
    *others, last = (check_title(job, judged.check) for judged in which)
    return f"{'; '.join(others)} and {last}" if others else last
