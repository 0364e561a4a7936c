"""One moment of a job as it is told to whoever listens: pure."""

from collections.abc import Mapping
from dataclasses import dataclass

from logger import events as ev
from logger.advice.plan import Plan, plan
from logger.job.facts import Job
from logger.job.judged import Judged
from logger.job.prompt import next_prompt
from logger.job.prompted import Prompt
from logger.job.rules import judge


@dataclass(frozen=True, slots=True)
class Moment:
    """What a listener is told: the job as it stands, and what to do next."""

    job: Job
    verdicts: Mapping[str, Judged]
    prompt: Prompt
    plan: Plan | None
    """The advice, at an adjust prompt."""
    record: ev.Record
    """The event that led here, as stored."""
    said: str
    """One line on that event; empty for what needs no word."""


def moment_of(job: Job, record: ev.Record) -> Moment:
    """Return a job as it stands after an event; what is said of the event is left empty."""
    verdicts = judge(job)
    prompt = next_prompt(job, verdicts)
    return Moment(job, verdicts, prompt, plan(job, prompt), record, "")


def shown(before: Moment, after: Moment) -> ev.Shown:
    """Return what an event changed on the screen."""
    changed = {
        check: judged.verdict
        for check, judged in after.verdicts.items()
        if before.verdicts[check].verdict != judged.verdict
    }
    return ev.Shown(verdicts=changed, prompt=after.prompt.key)
