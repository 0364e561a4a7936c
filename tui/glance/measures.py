"""The values of measure steps and zero checks, as the screen shows them; pure, and owns no rule."""

from fractions import Fraction

from logger.bench.moment import Moment
from logger.job.facts import Attempt, Job
from logger.job.job import current
from logger.job.judged import Judged, limit_in, number
from logger.job.named import spoken
from logger.job.rules import value_at
from logger.job.verdictwords import worth_line
from logger.job.zeroed import limits_of
from logger.sheets.sheet import MeasureStep, ZeroStep, check_id
from logger.units import Limits, Quantity, approx, approx_limits, approx_margin, decimals, show, trimmed, unit_of
from tui import lines

from .shown import Bar, Pair, Value, Zone

Ends = tuple[Quantity, Quantity]


def measured(moment: Moment, step: MeasureStep, place: str) -> Value:
    """Return the value of one place: the settled one, else the last reading of a set that is not whole."""
    job, check = moment.job, check_id(step.id, place)
    judged = moment.verdicts.get(check) or _unjudged(job, step, place)
    attempt = None if judged.verdict == "stale" else _now(job, step, place)
    last = attempt.live[-1] if attempt is not None and attempt.live else None
    text, unit = (judged.text, judged.unit) if judged.text or last is None else (trimmed(last.text), last.unit)
    title = f"{spoken(place)}: {step.title}" if place else step.title
    half = step.takes == "difference" and not judged.text and last is not None
    return Value(
        f"{last.part}, {title}" if half and last is not None else title,
        text,
        unit,
        judged.verdict,
        judged.reason,
        worth(judged),
        "" if half else _expected_of(job, step, place, attempt.since if attempt else 0),
        _window_bar(step, judged, unit, half=half),
        (*lines.worn(job, step), *minded(judged)),
    )


def zero_checked(moment: Moment, step: ZeroStep) -> Value:
    """Return what the tool read of something known, with how far it may be off."""
    judged = moment.verdicts[step.id]
    unit = _like(judged.unit, step.reference)
    limits = limits_of(step, unit)
    texts = tuple(text or "" for text in approx_limits(limits, unit, decimals(step.within.text)))
    reference = limit_in(step.reference, unit)
    bar = bar_between(limits, texts, (reference, show(step.reference)), judged)
    return Value(step.title, judged.text, judged.unit, judged.verdict, judged.reason, worth(judged), bar=bar)


def pair(moment: Moment, step: MeasureStep) -> Pair:
    """Return two sides and their difference."""
    assert step.agree_within is not None
    first, second = (measured(moment, step, place) for place in step.slots)
    judged = moment.verdicts[f"{step.id}.agreement"]
    unit = _like(judged.unit or first.unit or second.unit, step.agree_within)
    allowed = limit_in(step.agree_within, unit)
    marks = (f"-{show(step.agree_within)}", f"+{show(step.agree_within)}")
    bar = bar_between(Limits(-allowed, allowed), marks, (Fraction(0), "equal"), judged)
    since = min(_since(moment.job, step, place) for place in step.slots)
    difference = Value(
        f"{spoken(step.slots[0])} minus {spoken(step.slots[1])}",
        _signed(judged.text),
        judged.unit,
        judged.verdict,
        judged.reason,
        worth(judged),
        _expected_of(moment.job, step, "", since),
        bar,
        minded(judged),
    )
    return Pair(step.title, (first, second), difference)


# --- what a value is worth ------------------------------------------------------------------------------------------


def worth(judged: Judged) -> tuple[str, ...]:
    """Return margin, uncertainty and chance of being inside, each in a few words; the margin alone where it is all."""
    if judged.decision is not None:
        return tuple(worth_line(judged).split(", "))
    if judged.margin is None:
        return ()
    return (f"margin {approx_margin(judged.margin, judged.unit, decimals(judged.text)).removeprefix('+')}",)


def minded(judged: Judged) -> tuple[str, ...]:
    """Return what should be known of a value though it changes no verdict."""
    rests = (f"Rests on: {judged.assumed}.",) if judged.assumed else ()
    return (*(f"Mind: {warning}." for warning in judged.warnings), *rests)


# --- bars -----------------------------------------------------------------------------------------------------------


def bar_between(limits: Limits, texts: tuple[str, ...], aim: tuple[Fraction, str] | None, judged: Judged) -> Bar:
    """Return the bar of a judged value: its window, its aim, its uncertainty, and what passes under a guarded rule."""
    assert limits.low is not None
    assert limits.high is not None
    decision, (at, told) = judged.decision, aim or (None, "")
    spread = None if decision is None or judged.value is None or decision.u <= 0 else Fraction(decision.expanded)
    zone = None if decision is None or not decision.guard else Zone(*(decision.acceptance or (None, None)))
    return Bar(limits.low, limits.high, texts[0], texts[1], at, told, judged.value, spread=spread, zone=zone)


def bar_of(window: Ends, aim: Quantity | None, judged: Judged, unit: str, text: str) -> Bar:
    """Return the bar of a window in the unit of a reading, or as the sheet wrote it while there is no reading."""
    unit = _like(unit, window[0])
    limits = Limits(*(limit_in(limit, unit) for limit in window))
    aim_in = None if aim is None else limit_in(aim, unit)
    texts = [show(window[0]), show(window[1]), "" if aim is None else show(aim)]
    if unit != window[0].unit:
        digits = decimals(text) if text else 2
        shown = approx_limits(limits, unit, digits)
        texts = [*(limit or "" for limit in shown), "" if aim_in is None else approx(aim_in, unit, digits)]
    return bar_between(limits, tuple(texts[:2]), None if aim_in is None else (aim_in, f"aim {texts[2]}"), judged)


def _window_bar(step: MeasureStep, judged: Judged, unit: str, *, half: bool) -> Bar | None:
    if step.window is None:
        return None
    unvalued = Judged(judged.check, judged.verdict) if half else judged
    return bar_of(step.window, step.aim, unvalued, unit, judged.text)


def _like(unit: str, limit: Quantity) -> str:
    """Return the unit of a reading; that of the sheet before one, and for one of no such kind, as a forgery has it."""
    known = unit_of(unit)
    return unit if known is not None and known[0] == limit.kind else limit.unit


# --- parts ----------------------------------------------------------------------------------------------------------


def _unjudged(job: Job, step: MeasureStep, place: str) -> Judged:
    """The value of a side that has no window of its own."""
    value = value_at(job, step, place)
    text = "" if value.value is None else number(value.value, value.unit, value.digits, None)
    return Judged(check_id(step.id, place), value.verdict, value.reason, value.value, text, value.unit)


def _expected_of(job: Job, step: MeasureStep, place: str, since: int) -> str:
    """What the last turning was expected to give, beside what was read after it."""
    turn, drive = (job.turns[-1] if job.turns else None), job.sheet.drive
    if turn is None or turn.expected is None or drive is None or since < turn.seq:
        return ""
    if step.id == drive.slack and place in turn.expected.slack:
        return f"expected {lines.tidy(turn.expected.slack[place])} mm"
    if step.id == drive.sides and not place and turn.expected.difference is not None:
        return f"expected {lines.tidy(turn.expected.difference)} mm"
    return ""


def _now(job: Job, step: MeasureStep, place: str) -> Attempt | None:
    return current(job.attempts.get((step.id, place), ()))


def _since(job: Job, step: MeasureStep, place: str) -> int:
    attempt = _now(job, step, place)
    return 0 if attempt is None else attempt.since


def _signed(text: str) -> str:
    return f"+{text}" if text and text[0] not in "+-" and text.strip("0.") else text
