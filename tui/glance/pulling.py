"""The values of torque steps, as the screen shows them: settled, and while the wrench is pulled; pure, owns no rule."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from logger import events as ev
from logger.bench.moment import Moment
from logger.job.facts import Job, Pull
from logger.job.judged import Judged, number
from logger.job.named import spoken
from logger.job.torquepass import adapter_of, aim_of, aim_on_wrench, at_fastener, on_wrench, passes_of, window_of
from logger.sheets.sheet import TorqueStep, check_id
from logger.units import approx, approx_limits, decimals, show, trimmed
from tui import lines

from .measures import bar_between, bar_of, minded, worth
from .shown import Bar, Live, Value

RE_HIT = "RE-HIT: it replaces nothing"
ON_WRENCH = " on the wrench"
UNASKED = "NOT ASKED FOR: it disturbs"
_LET_GO = 4
"""A wrench that shows less than this part of what it held was let go: there is nothing left to stop."""


def torqued_value(moment: Moment, step: TorqueStep, place: str) -> Value:
    """Return one fastener: its settled torque, else its last pull against the window of its pass."""
    job, check = moment.job, check_id(step.id, place)
    judged, pulls = moment.verdicts[check], job.fastener((step.id, place)).pulls
    last = next((pull for pull in reversed(pulls) if not pull.withdrawn), None)
    settled = bool(judged.text) or last is None or last.peak is None or judged.verdict == "done"
    valued = judged if settled or last is None else _of_pull(judged, last)
    now = moment.prompt.number if moment.prompt.step == step.id else passes_of(step)
    of_pass = passes_of(step) if judged.text or last is None else last.number
    if not valued.text:
        of_pass = now
    bar = bar_of(window_of(step, of_pass), aim_of(step, of_pass), valued, valued.unit, valued.text)
    return Value(
        _titled(step, place, of_pass),
        valued.text,
        valued.unit,
        judged.verdict,
        judged.reason,
        worth(judged),
        _how(last),
        bar,
        (*minded(judged), *lines.pull_warnings(moment)),
        _flag(moment, check),
    )


def _flag(moment: Moment, check: str) -> str:
    """What the pull that was just made did not do."""
    event = moment.record.event
    if is_re_hit(moment, check):
        return RE_HIT
    return UNASKED if isinstance(event, ev.PullTaken) and event.answers is None else ""


def aim_shown(job: Job, step: TorqueStep, number_: int) -> str:
    """Return how far to pull as the wrench shows it: what the sheet wrote, or with an adapter what that becomes."""
    aim, adapter = aim_of(step, number_), adapter_of(job, step)
    if adapter is None:
        return show(aim)
    return f"{approx(aim_on_wrench(aim, adapter, aim.unit), aim.unit, decimals(aim.text) + 1)}{ON_WRENCH}"


def is_re_hit(moment: Moment, check: str) -> bool:
    """Whether the event was a pull on a fastener that had passed already and goes on passing."""
    event = moment.record.event
    if not isinstance(event, ev.PullTaken) or event.touches is None or event.direction == "anticlockwise":
        return False
    same = check_id(event.touches.step, event.touches.place) == check
    return same and moment.verdicts[check].verdict == "inside" and check not in moment.record.shown.verdicts


def _of_pull(judged: Judged, pull: Pull) -> Judged:
    assert pull.peak is not None
    value = at_fastener(pull, Fraction(pull.peak))
    text = pull.text if pull.adapter is None else number(value, pull.unit, decimals(pull.text) + 1)
    return replace(judged, value=value, text=text, unit=pull.unit)


def _how(pull: Pull | None) -> str:
    """What stands beside a torque: that it was set and clicked, or what the wrench read."""
    if pull is None:
        return ""
    clicked = "set and clicked" if pull.how == "set and clicked" else ""
    wrench = f"on the wrench {pull.text} {pull.unit}" if pull.adapter is not None else ""
    return ", ".join(filter(None, (clicked, wrench)))


def _titled(step: TorqueStep, place: str, number_: int) -> str:
    """The fastener first, since the end may be cut, then the pass where there is more than one."""
    passed = f"pass {number_} of {passes_of(step)}" if step.passes else ""
    place = spoken(place)
    return f"{', '.join(filter(None, (place, passed)))}: {step.title}" if place or passed else step.title


# --- in progress ----------------------------------------------------------------------------------------------------


def pulling(moment: Moment, value: Decimal, unit: str, held: Decimal) -> Live:
    """Return how a pull in progress stands, as the wrench reads; past the aim it warns, before the limit is reached."""
    step = moment.job.sheet.by_id.get(moment.prompt.step)
    if not isinstance(step, TorqueStep) or moment.prompt.kind != "torque":
        word = "◌ NOT ASKED FOR: it disturbs what it turns"
        return Live("Pull", trimmed(str(value)), trimmed(str(held)), unit, word, "waiting", None, warns=True)
    bar = _climbing(moment, step, unit, value)
    to_slot = step.to_slot and moment.prompt.number == passes_of(step)
    word, verdict, warns = _pull_word(bar, Fraction(value), Fraction(held), to_slot=to_slot)
    title = _titled(step, moment.prompt.place, moment.prompt.number)
    if adapter_of(moment.job, step) is not None:
        title = f"{title}, on the wrench"
    shown = trimmed(str(value)), trimmed(str(held))
    return Live(title, *shown, unit, word, verdict, replace(bar, held=Fraction(held)), warns)


def _climbing(moment: Moment, step: TorqueStep, unit: str, value: Decimal) -> Bar:
    """The window of the pass and its aim, as the wrench has to show them."""
    number_, adapter = moment.prompt.number, adapter_of(moment.job, step)
    window, aim = window_of(step, number_), aim_of(step, number_)
    now = Judged("", "waiting", value=Fraction(value))
    if adapter is None:
        return bar_of(window, aim, now, unit, str(value))
    limits, wanted = on_wrench(window, adapter, unit), aim_on_wrench(aim, adapter, unit)
    digits = max(decimals(str(value)), decimals(aim.text), 1)
    texts = tuple(text or "" for text in approx_limits(limits, unit, digits))
    return bar_between(limits, texts, (wanted, f"aim {approx(wanted, unit, digits)}"), now)


def _pull_word(bar: Bar, value: Fraction, held: Fraction, *, to_slot: bool) -> tuple[str, ev.Verdict, bool]:
    if abs(value) * _LET_GO < abs(held):
        return "○ RELEASED", "waiting", False
    if held > bar.high:
        return "▲ TOO FAR: stop", "high", True
    if held < bar.low:
        return "○ PULLING: still below the window", "waiting", False
    if bar.aim is not None and held >= bar.aim and to_slot:
        return f"! PAST THE AIM: to the slot, max {bar.high_text}", "unsure", True
    if bar.aim is not None and held >= bar.aim:
        return "! PAST THE AIM: stop", "unsure", True
    return "■ IN THE WINDOW: on to the aim", "inside", False
