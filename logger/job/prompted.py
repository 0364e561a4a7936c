"""One prompt, and what every kind of prompt asks of the verdicts first."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from logger.sheets.sheet import AdjustStep, AnyStep, check_id

from .facts import Job
from .judged import FAILS, Judged

PromptKind = Literal[
    "confirm",  # see to the items and confirm them
    "note",  # write something down
    "measure",  # take one reading
    "zero",  # take the reading of a zero check
    "loosen",  # adjust, first: loosen what holds the adjusters
    "turn",  # adjust, then: turn the adjusters as advised
    "seat",  # adjust, last: seat the axle and snug the nut
    "untouched",  # a fastener nobody loosened: confirm its witness mark, or loosen it
    "torque",  # pull one fastener into its window
    "slacken",  # a fastener that is over its window, or tight in a way that cannot pass: loosen it
    "close",  # everything passes: close the job
    "closed",
]


@dataclass(frozen=True, slots=True)
class Prompt:
    """One thing to do now."""

    kind: PromptKind
    step: str = ""
    place: str = ""
    """The place of a measure step, or the fastener of a torque step."""
    part: str = ""
    """The half of a difference to take now."""
    number: int = 1
    of: int = 1
    """Which reading of the attempt this is."""
    stays: bool = False
    """A failing measure that no later adjustment corrects: take it again, replace the part, or override."""
    more: bool = False
    """A further repeat, because the value lies within its uncertainty of a limit."""

    @property
    def key(self) -> str:
        """A short text that names this prompt on the trail, such as `measure:slack.tightest/taut down`."""
        if not self.step:
            return self.kind
        part, again = f"/{self.part}" if self.part else "", " again" if self.more else ""
        return f"{self.kind}:{check_id(self.step, self.place)}{part}{again}"


Verdicts = Mapping[str, Judged]


def fails_before(job: Job, verdicts: Verdicts, step: AnyStep) -> bool:
    """Whether any check of an earlier step fails."""
    before = job.sheet.step[: job.sheet.order[step.id]]
    return any(verdicts[check].verdict in FAILS for each in before for check in checks_of(each))


def checks_of(step: AnyStep) -> tuple[str, ...]:
    """Return the checks a step adds to the job."""
    return () if isinstance(step, AdjustStep) else step.checks
