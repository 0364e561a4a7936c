"""A stored job judged again: under another sheet, another decision rule, or with readings corrected; pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from logger import events as ev
from logger.job.facts import Job
from logger.job.job import fold, opened
from logger.job.judged import Judged
from logger.job.rules import judge
from logger.sheets.sheet import Sheet

Records = Sequence[ev.Record]


@dataclass(frozen=True, slots=True)
class Again:
    """One check as it was judged in its job and as it is judged now; None where only one of the two has it."""

    check: str
    was: Judged | None
    now: Judged | None

    @property
    def differs(self) -> bool:
        """Whether the verdict is another, or there is a verdict on one side only."""
        return self.was is None or self.now is None or self.was.verdict != self.now.verdict

    @property
    def fails_now(self) -> bool:
        """Whether a check that let its job close would not do so now."""
        return self.was is not None and self.was.passes and self.now is not None and not self.now.passes


def folded(records: Records, sheet: Sheet) -> Job:
    """Return a job folded under a sheet that need not be its own; what it does not ask for counts for nothing."""
    return fold(opened(records[0], sheet), records[1:])


def rejudged(records: Records, own: Sheet, other: Sheet) -> tuple[Again, ...]:
    """Judge a job under its own sheet and under another, check by check, in the other's order first."""
    return compared(folded(records, own), folded(records, other))


def compared(before: Job, after: Job) -> tuple[Again, ...]:
    """Hold the checks of a job beside those of the same job judged otherwise."""
    was, now = judge(before), judge(after)
    checks = dict.fromkeys((*now, *was))
    return tuple(Again(check, was.get(check), now.get(check)) for check in checks)


def decided_by(sheet: Sheet, decision: Literal["simple", "guarded"]) -> Sheet:
    """Return a sheet with another decision rule."""
    return sheet.model_copy(update={"decision": decision})


def differing(found: Iterable[Again]) -> tuple[Again, ...]:
    """Return the checks whose verdict is another now."""
    return tuple(each for each in found if each.differs)
