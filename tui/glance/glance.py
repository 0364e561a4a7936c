"""What one look at the job screen tells: a moment of the bench put into parts to draw; pure, and owns no rule."""

from dataclasses import dataclass
from typing import Literal

from logger import events as ev
from logger.advice.wear import worn_chain
from logger.bench.moment import Moment
from logger.job.facts import Job
from logger.job.happened import ASIDE
from logger.job.judged import Judged
from logger.job.line import role_of
from logger.job.named import reading_named, spoken
from logger.job.picked import is_wrench, typed_from
from logger.job.prompt import Prompt
from logger.job.words import detail, headline
from logger.sheets.sheet import MeasureStep, TorqueStep, ZeroStep
from logger.units import trimmed
from tui import lines

from .advising import advised, big_flats
from .measures import measured, pair, zero_checked
from .pulling import ON_WRENCH, aim_shown, pulling, torqued_value
from .shown import Advice, Live, Pair, Shown, Turning, Value

__all__ = [
    "Advice",
    "Glance",
    "Live",
    "Pair",
    "Row",
    "Shown",
    "Slot",
    "Turning",
    "Value",
    "big_flats",
    "follow",
    "glance",
    "last_counted",
    "pulling",
    "typed_with",
]

_WAYS_OUT = "Replace the chain, or take it again, or override it with a note."
NOT_COUNTED = "✕ DOES NOT COUNT"
Slot = tuple[str, str]
"""A step and a place of it."""


@dataclass(frozen=True, slots=True)
class Row:
    """One check of the list."""

    check: str
    verdict: ev.Verdict
    title: str
    place: str
    value: str
    current: bool


@dataclass(frozen=True, slots=True)
class Glance:
    """Everything that the job screen draws of one moment."""

    small: str
    """What to do now, in one line."""
    big: str
    """The part of it to be read from two metres."""
    how: tuple[str, ...]
    shown: Shown
    rows: tuple[Row, ...]
    said: str


def glance(moment: Moment, slot: Slot | None) -> Glance:
    """Return what to draw; `slot` is the place whose value stays in sight (see `follow`)."""
    small, big = _head(moment)
    return Glance(
        small,
        big,
        _how(moment),
        _shown(moment, slot),
        _rows(moment),
        lines.told(moment),
    )


def follow(slot: Slot | None, moment: Moment) -> Slot | None:
    """Return the place whose value stays in sight after one more event: the last taken, until something is done."""
    match moment.record.event:
        case ev.ReadingTaken(answers=ev.Slot() as answered):
            return answered.step, answered.place
        case ev.PullTaken(touches=ev.Slot() as touched):
            return touched.step, touched.place
        case ev.Confirmed() | ev.Noted() | ev.Loosened() | ev.Turned() | ev.Seated() | ev.Untouched() | ev.TakenBack():
            return None
        case _:
            return slot


def _head(moment: Moment) -> tuple[str, str]:
    """Return the headline, and the part of it to draw big: what changes from prompt to prompt, else all of it.

    A torque says how far to pull, as the wrench shows it, and a wear check that failed what to do, since no room may be
    left for more.
    """
    job, prompt = moment.job, moment.prompt
    whole = headline(job, prompt)
    step = job.sheet.by_id.get(prompt.step)
    if isinstance(step, TorqueStep) and prompt.kind == "torque":
        aim = aim_shown(job, step, prompt.number)
        name = spoken(prompt.place) or _short(step.title)
        return whole.replace(": pull", f": pull to {aim}", 1), f"{name}: {aim.removesuffix(ON_WRENCH)}"
    worn = worn_chain(job) if prompt.stays else None
    if worn is not None and worn.step == prompt.step and not worn.miscounted:
        return f"{whole}: replace the chain", "replace the chain"
    rest = whole.removeprefix(step.title).lstrip(",: ") if step is not None else ""
    return whole, rest or _short(whole)


def _short(title: str) -> str:
    """Return the beginning of a title that says what it is about: "Chain wear" of "Chain wear over 8 pitches"."""
    return title.partition(",")[0].partition(" over ")[0]


def _how(moment: Moment) -> tuple[str, ...]:
    """How to do it; where no adjustment helps, the ways out go first, then what a wear check found."""
    *stands, span = ("", "", *lines.to_span(moment))[-2:]
    how = detail(moment.job, moment.prompt)
    if how and role_of(how[-1]) == "ways out":
        worn = worn_chain(moment.job)
        out = _WAYS_OUT if worn is not None and worn.step == moment.prompt.step and not worn.miscounted else how[-1]
        return tuple(filter(None, (out, *stands, *how[:-1], span)))
    return tuple(filter(None, (*stands, *how, span)))


# --- the value in sight ---------------------------------------------------------------------------------------------


def _shown(moment: Moment, slot: Slot | None) -> Shown:
    event = moment.record.event
    if isinstance(event, ev.ReadingTaken) and event.set_aside:
        why = ASIDE.get(event.set_aside, event.set_aside)
        return Value("Does not count", trimmed(event.value), event.unit, reason=why, flag=NOT_COUNTED)
    if isinstance(event, ev.PullTaken) and event.touches is None:
        peak = trimmed(event.own_peak or event.host_peak or "")
        return Value(
            "Pull", peak, event.unit, reason="nothing asked for it; it disturbs what it turned", flag=NOT_COUNTED
        )
    if moment.prompt.kind == "turn":
        return advised(moment)
    step_id, place = slot or (moment.prompt.step, moment.prompt.place)
    match moment.job.sheet.by_id.get(step_id):
        case MeasureStep() as step:
            return pair(moment, step) if step.agree_within is not None else measured(moment, step, place)
        case TorqueStep() as step:
            return torqued_value(moment, step, place)
        case ZeroStep() as step:
            return zero_checked(moment, step)
        case _:
            return None


def typed_with(job: Job, prompt: Prompt) -> tuple[tuple[str, str], ...]:
    """Return quantity and tool of what is typed now, for each quantity whose readings are given to a tool."""
    steps = job.sheet.step[job.sheet.order.get(prompt.step, 0) :]
    found: list[tuple[str, str]] = []
    quantities: tuple[Literal["length", "torque"], ...] = ("length", "torque")
    for quantity in quantities:
        kinds = TorqueStep if quantity == "torque" else (MeasureStep, ZeroStep)
        step = next((each.id for each in (*steps, *job.sheet.step) if isinstance(each, kinds)), "")
        tool = typed_from(job, step, quantity) if step else None
        if tool is not None and is_wrench(tool) == (quantity == "torque"):
            found.append((quantity, tool.tool))
    return tuple(found)


def last_counted(job: Job) -> str:
    """Return the reading or pull that taking back would withdraw, in one line; empty when there is none."""
    return reading_named(job, job.last_counted)


# --- the list of checks ---------------------------------------------------------------------------------------------


def _rows(moment: Moment) -> tuple[Row, ...]:
    return tuple(_row(moment, judged) for judged in moment.verdicts.values())


def _row(moment: Moment, judged: Judged) -> Row:
    step_id, _, place = judged.check.partition(".")
    step, prompt = moment.job.sheet.by_id[step_id], moment.prompt
    here = prompt.step == step_id and prompt.place in (place, "" if place else prompt.place)
    pair_here = place == "agreement" and prompt.step == step_id
    value = f"{judged.text} {judged.unit}".strip() if judged.unit else ""
    return Row(judged.check, judged.verdict, step.title, spoken(place), value, here or pair_here)
