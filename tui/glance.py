"""What one look at the job screen tells: a moment of the bench put into parts to draw; pure, and owns no rule."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from logger import events as ev
from logger.bench import Moment
from logger.facts import Attempt, Job
from logger.job import current
from logger.judged import Judged, limit_in, number
from logger.plan import Plan
from logger.rules import value_at
from logger.sheet import MeasureStep, TorqueStep, check_id
from logger.units import Limits, Quantity, approx, approx_limits, approx_margin, decimals, show, trimmed
from logger.words import ASIDE, check_title, detail, flats, headline, spoken, target

from . import lines
from .widgets.bar import Bar

Slot = tuple[str, str]
"""A step and a place of it."""
Ends = tuple[Quantity, Quantity]


@dataclass(frozen=True, slots=True)
class Value:
    """One value with its verdict and its window."""

    title: str
    text: str
    unit: str
    verdict: ev.Verdict | None = None
    """None where there is nothing to judge: half of a difference, or a look."""
    reason: str = ""
    margin: str = ""
    beside: str = ""
    """What was expected of it, after an adjustment."""
    bar: Bar | None = None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two sides and their difference."""

    title: str
    sides: tuple[Value, Value]
    difference: Value


@dataclass(frozen=True, slots=True)
class Advice:
    """How far to turn each side, in big words, with what goes with it."""

    left: str
    right: str
    lines: tuple[str, ...]


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
class Live:
    """A pull in progress."""

    title: str
    text: str
    held: str
    """The largest value so far."""
    unit: str
    word: str
    verdict: ev.Verdict
    """For its style only: no rule has judged it yet."""
    bar: Bar | None


Shown = Value | Pair | Advice | None


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
        (*detail(moment.job, moment.prompt), *lines.to_span(moment)),
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
    """Return the headline, and the part of it to draw big: what changes from prompt to prompt, else all of it."""
    whole = headline(moment.job, moment.prompt)
    step = moment.job.sheet.by_id.get(moment.prompt.step)
    rest = whole.removeprefix(step.title).lstrip(",: ") if step is not None else ""
    return whole, rest or whole


# --- the value in sight ---------------------------------------------------------------------------------------------


def _shown(moment: Moment, slot: Slot | None) -> Shown:
    event = moment.record.event
    if isinstance(event, ev.ReadingTaken) and event.set_aside:
        return Value("Does not count", event.value, event.unit, reason=ASIDE.get(event.set_aside, event.set_aside))
    if moment.prompt.kind == "turn":
        return _advice(moment)
    step_id, place = slot or (moment.prompt.step, moment.prompt.place)
    step = moment.job.sheet.by_id.get(step_id)
    if isinstance(step, MeasureStep):
        return _pair(moment, step) if step.agree_within is not None else measured(moment, step, place)
    if isinstance(step, TorqueStep):
        return _torqued(moment, step, place)
    return None


def measured(moment: Moment, step: MeasureStep, place: str) -> Value:
    """Return the value of one place: the settled one, else the last reading of a set that is not whole."""
    job, check = moment.job, check_id(step.id, place)
    judged = moment.verdicts.get(check) or _unjudged(job, step, place)
    attempt = None if judged.verdict == "stale" else _now(job, step, place)
    last = attempt.live[-1] if attempt is not None and attempt.live else None
    text, unit = (judged.text, judged.unit) if judged.text or last is None else (trimmed(last.text), last.unit)
    title = check_title(job, check)
    half = step.takes == "difference" and not judged.text and last is not None
    return Value(
        f"{last.part}, {spoken(place)}: {step.title}" if half and last is not None else title,
        text,
        unit,
        judged.verdict,
        judged.reason,
        _margin(judged),
        _expected_of(job, step, place, attempt.since if attempt else 0),
        _window_bar(step, judged, None if half else judged.value, unit),
    )


def _unjudged(job: Job, step: MeasureStep, place: str) -> Judged:
    """The value of a side that has no window of its own."""
    value = value_at(job, step, place)
    text = "" if value.value is None else number(value.value, value.unit, value.digits, None)
    return Judged(check_id(step.id, place), value.verdict, value.reason, value.value, text, value.unit)


def _margin(judged: Judged) -> str:
    return "" if judged.margin is None else approx_margin(judged.margin, judged.unit, decimals(judged.text))


def _expected_of(job: Job, step: MeasureStep, place: str, since: int) -> str:
    """What the last turning was expected to give, beside what was read after it."""
    turn, drive = (job.turns[-1] if job.turns else None), job.sheet.drive
    if turn is None or turn.expected is None or drive is None or since < turn.seq:
        return ""
    if step.id == drive.slack and place in turn.expected.slack:
        return f"expected {lines.tidy(turn.expected.slack[place])} mm"
    if step.id == drive.sides and turn.expected.difference is not None:
        return f"expected {lines.tidy(turn.expected.difference)} mm"
    return ""


def _window_bar(step: MeasureStep | TorqueStep, judged: Judged, value: Fraction | None, unit: str) -> Bar | None:
    return None if step.window is None else bar_of(step.window, step.aim, value, unit, judged.text)


def bar_of(window: Ends, aim: Quantity | None, value: Fraction | None, unit: str, text: str) -> Bar:
    """Return the bar of a window in the unit of a reading, or as the sheet wrote it while there is no reading."""
    unit = unit or window[0].unit
    low, high = (limit_in(limit, unit) for limit in window)
    aim_in = None if aim is None else limit_in(aim, unit)
    texts = [show(window[0]), show(window[1]), "" if aim is None else show(aim)]
    if unit != window[0].unit:
        digits = decimals(text) if text else 2
        limits = approx_limits(Limits(low, high), unit, digits)
        texts = [*(limit or "" for limit in limits), "" if aim_in is None else approx(aim_in, unit, digits)]
    return Bar(low, high, texts[0], texts[1], aim_in, f"aim {texts[2]}" if texts[2] else "", value)


def _pair(moment: Moment, step: MeasureStep) -> Pair:
    assert step.agree_within is not None
    first, second = (measured(moment, step, place) for place in step.slots)
    judged = moment.verdicts[f"{step.id}.agreement"]
    unit = judged.unit or first.unit or second.unit or step.agree_within.unit
    allowed = limit_in(step.agree_within, unit)
    marks = (f"-{show(step.agree_within)}", f"+{show(step.agree_within)}")
    bar = Bar(-allowed, allowed, *marks, Fraction(0), "equal", judged.value)
    beside = _expected_of(moment.job, step, "", min(_since(moment.job, step, place) for place in step.slots))
    difference = Value(
        f"{spoken(step.slots[0])} minus {spoken(step.slots[1])}",
        _signed(judged.text),
        judged.unit,
        judged.verdict,
        judged.reason,
        _margin(judged),
        beside,
        bar,
    )
    return Pair(step.title, (first, second), difference)


def _now(job: Job, step: MeasureStep, place: str) -> Attempt | None:
    return current(job.attempts.get((step.id, place), ()))


def _since(job: Job, step: MeasureStep, place: str) -> int:
    attempt = _now(job, step, place)
    return 0 if attempt is None else attempt.since


def _signed(text: str) -> str:
    return f"+{text}" if text and text[0] not in "+-" and text.strip("0.") else text


def _torqued(moment: Moment, step: TorqueStep, place: str) -> Value:
    check = check_id(step.id, place)
    judged, pulls = moment.verdicts[check], moment.job.fastener((step.id, place)).pulls
    last = next((pull for pull in reversed(pulls) if not pull.withdrawn), None)
    text, unit = (judged.text, judged.unit) if judged.text or last is None else (last.text, last.unit)
    value = judged.value
    if value is None and text and judged.verdict != "done":
        value = Fraction(Decimal(text))
    bar = bar_of(step.window, step.aim, value, unit, text)
    return Value(check_title(moment.job, check), text, unit, judged.verdict, judged.reason, _margin(judged), "", bar)


def pulling(moment: Moment, value: Decimal, unit: str, held: Decimal) -> Live:
    """Return how a pull in progress stands; past the aim it warns, before the limit is reached."""
    step = moment.job.sheet.by_id.get(moment.prompt.step)
    if not isinstance(step, TorqueStep) or moment.prompt.kind != "torque":
        return Live("Pull", str(value), str(held), unit, "◌ NOT ASKED FOR: it disturbs what it turns", "waiting", None)
    bar = bar_of(step.window, step.aim, Fraction(value), unit, str(value))
    title = check_title(moment.job, check_id(step.id, moment.prompt.place))
    word, verdict = _pull_word(bar, Fraction(held))
    return Live(title, str(value), str(held), unit, word, verdict, replace(bar, held=Fraction(held)))


def _pull_word(bar: Bar, held: Fraction) -> tuple[str, ev.Verdict]:
    if held > bar.high:
        return "▲ TOO FAR: stop", "high"
    if held < bar.low:
        return "○ PULLING: still below the window", "waiting"
    past = bar.aim is not None and held >= bar.aim
    return ("■ PAST THE AIM: stop" if past else "■ IN THE WINDOW: on to the aim"), "inside"


# --- the advice -----------------------------------------------------------------------------------------------------


def _advice(moment: Moment) -> Advice | None:
    plan = moment.plan
    if plan is None:
        return None
    if plan.advice is None:
        return Advice("", "", (*lines.as_it_stands(moment.job, plan), f"No advice: {plan.stop}."))
    return Advice(big_flats(plan.advice.left), big_flats(plan.advice.right), tuple(_around(moment.job, plan)))


def _around(job: Job, plan: Plan) -> Iterator[str]:
    yield from lines.expected(job, plan)
    yield from lines.as_it_stands(job, plan)


def big_flats(count: Fraction) -> str:
    """Flats in words short enough to be drawn big, "1½ flats tighter"."""
    return flats(count).replace("half a flat", "½ flat").replace(" and a half", "½")


def last_counted(job: Job) -> str:
    """Return the reading or pull that taking back would withdraw, in one line; empty when there is none."""
    for (step, place), attempts in job.attempts.items():
        for taken in (taken for attempt in attempts for taken in attempt.live):
            if taken.seq == job.last_counted:
                part = f", {taken.part}" if taken.part else ""
                return f"{trimmed(taken.text)} {taken.unit} for {target(job, step, place)}{part}"
    for (step, place), fastener in job.fasteners.items():
        for pull in fastener.pulls:
            if pull.seq == job.last_counted:
                return f"{pull.text} {pull.unit} on {target(job, step, place)}"
    return ""


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
