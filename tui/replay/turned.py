"""Each adjustment of a job, what was expected of it beside what was measured after it; pure, and owns no rule."""

from collections.abc import Sequence
from dataclasses import dataclass

from logger.advice.cameout import Comparison, came_out_of
from logger.advice.startingpoint import starting_point
from logger.job.facts import Job, Turn
from logger.job.named import flats
from logger.sheets.sheet import MeasureStep
from tui.lines import tidy

from .replaying import Frame

OUTCOMES = {"agrees": "■ as expected", "differs": "◆ not as expected", "opposite": "⇅ the other way round"}


@dataclass(frozen=True, slots=True)
class Turning:
    """One adjustment, in lines a person reads."""

    title: str
    figures: tuple[tuple[str, str, str, str], ...]
    """Of each figure its name, what was expected, what was measured (empty before that), and how it fits."""


def turnings(frames: Sequence[Frame], at: int) -> tuple[Turning, ...]:
    """Return the adjustments made up to a frame, with what was measured up to it."""
    jobs = _last_jobs(frames, at)
    return tuple(_turning(number, jobs[number]) for number in sorted(jobs))


def _last_jobs(frames: Sequence[Frame], at: int) -> dict[int, Job]:
    """The job as it stood last after each turning, before the next one."""
    jobs: dict[int, Job] = {}
    for frame in frames[: at + 1]:
        job = frame.moment.job
        if job.turns:
            jobs[len(job.turns)] = job
    return jobs


def _turning(number: int, job: Job) -> Turning:
    turn = job.turns[-1]
    advised = "" if turn.as_advised else ", not as advised"
    title = f"{number}: left {flats(turn.left)}, right {flats(turn.right)}{advised}"
    found = _came_out(job)
    return Turning(title, tuple(_figure(what, told, found.get(what)) for what, told in _expected(job, turn)))


def _came_out(job: Job) -> dict[str, Comparison]:
    given = None if job.sheet.drive is None else starting_point(job, job.sheet.drive)
    return {} if given is None else came_out_of(job, given)


def _expected(job: Job, turn: Turn) -> tuple[tuple[str, str], ...]:
    """What was written down with the turning: the slack of the place that governs, and left minus right."""
    told, drive = turn.expected, job.sheet.drive
    if told is None or drive is None:
        return ()
    step = job.sheet.by_id[drive.slack]
    place = (step.governs or step.slots[0]) if isinstance(step, MeasureStep) else ""
    slack = (("slack", told.slack[place]),) if place in told.slack else ()
    return (*slack, *((("difference", told.difference),) if told.difference is not None else ()))


def _figure(what: str, expected: str, found: Comparison | None) -> tuple[str, str, str, str]:
    name, digits = ("slack", 1) if what == "slack" else ("left minus right", 2)
    if found is None:
        return name, f"{tidy(expected)} mm", "", ""
    counted = f" ({found.counted})" if found.counted else ""
    return (
        name,
        f"{found.expected_mm:.{digits}f} mm{counted}",
        f"{found.measured_mm:.{digits}f} mm",
        OUTCOMES[found.outcome],
    )
