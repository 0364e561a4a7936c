"""What is said aloud of a moment: the value with its verdict, what to do next, the advice; pure, and owns no rule."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from logger import events as ev
from logger.bench.moment import Moment
from logger.job.happened import ASIDE
from logger.job.judged import LOUD, Judged
from logger.job.line import role_of
from logger.job.named import check_title, fastener_names
from logger.job.named import spoken as spoken_place
from logger.job.prompt import Prompt
from logger.job.words import detail, headline
from logger.record.warned import warnings_of
from logger.sheets.sheet import MeasureStep, TorqueStep, ZeroStep, check_id
from logger.units import trimmed
from tui.glance.alarms import alarming
from tui.glance.measures import measured, pair, zero_checked
from tui.glance.pulling import RE_HIT, aim_shown, is_re_hit, torqued_value
from tui.glance.shown import Live, Value

from .aloud import aloud, flats_aloud, quantity_aloud


@dataclass(frozen=True, slots=True)
class Phrase:
    """One thing to say."""

    text: str
    urgent: bool = False
    """Whether it cuts what is being said, and is not cut by what is not urgent."""


def spoken(moment: Moment, before: Prompt | None = None) -> tuple[Phrase, ...]:
    """Return what to say of a moment: what happened, then what to do, shorter where `before` was of the same step."""
    urgent = alarming(moment)
    happened = tuple(Phrase(aloud(text), urgent) for text in _happened(moment) if text)
    asks = asking(moment, before) if moment.prompt != before or _asks_again(moment) else ""
    return (*happened, Phrase(asks)) if asks else happened


def asking(moment: Moment, before: Prompt | None = None) -> str:
    """Return what to do now, with the cautions, what to see to, and how far to turn; nothing once it is closed."""
    prompt, job = moment.prompt, moment.job
    step = job.sheet.by_id.get(prompt.step)
    said = headline(job, prompt)
    if prompt.kind == "closed":
        return ""
    if isinstance(step, TorqueStep) and prompt.kind == "torque":
        said = f"{said}, to {aim_shown(job, step, prompt.number)}"
    if prompt.kind == "turn":
        return f"{aloud(said)}. {advised(moment)}"
    if step is not None and before is not None and (before.step, before.kind) == (prompt.step, prompt.kind):
        return f"{aloud(said.removeprefix(step.title).lstrip(', :')) or 'Once more'}."
    told = [line for line in detail(job, prompt) if role_of(line) in ("caution", "item", "act")]
    return ". ".join(aloud(line.removeprefix("- ").rstrip(".")) for line in (said, *told)) + "."


def advised(moment: Moment) -> str:
    """Return how far to turn each side, "left one flat tighter, right none", or why nothing is to be turned."""
    plan = moment.plan
    if plan is None:
        return ""
    if plan.advice is None:
        return f"No advice: {aloud(plan.stop.partition(';')[0])}."
    return f"Left {flats_aloud(plan.advice.left)}, right {flats_aloud(plan.advice.right)}."


def pulling_said(live: Live) -> Phrase:
    """Return the warning of a pull in progress."""
    return Phrase(aloud(live.word).lower(), urgent=True)


def _asks_again(moment: Moment) -> bool:
    """Whether the prompt is said again though it is the same: something was taken for it, or taken back."""
    event = moment.record.event
    if isinstance(event, ev.TakenBack):
        return True
    return isinstance(event, ev.ReadingTaken | ev.PullTaken) and not event.set_aside


# --- what happened --------------------------------------------------------------------------------------------------


def _happened(moment: Moment) -> Iterator[str]:
    match moment.record.event:
        case ev.ReadingTaken(set_aside=aside, value=value, unit=unit) if aside:
            yield f"{quantity_aloud(value, unit)}: {ASIDE.get(aside, aside)}"
        case ev.ReadingTaken(answers=ev.Slot(step=step, place=place)):
            yield from _read(moment, step, place)
        case ev.PullTaken() as event:
            yield from _pulled(moment, event)
        case ev.ToolSeen(link="lost", tool=tool, tool_kind=kind, message=message):
            yield f"{kind or tool} lost. {message}"
        case ev.CloseRefused(open=still_open):
            count = "one check is" if len(still_open) == 1 else f"{len(still_open)} checks are"
            yield f"Closing refused: {count} open. {still_open[0].settle if still_open else ''}"
        case ev.FrameUndecoded():
            yield "Not understood. Send it again"
        case ev.Suspected() | ev.FaultTold():
            yield moment.said
        case event:
            yield _acted(moment, event)


def _acted(moment: Moment, event: ev.Event) -> str:
    """What a person did, in a word or a few; empty where it is not said."""
    job = moment.job
    match event:
        case ev.JobOpened():
            return job.sheet.title
        case ev.JobResumed():
            return f"{job.sheet.title}, taken up again"
        case ev.Overridden(check=check):
            return f"Overridden: {check_title(job, check)}"
        case ev.Loosened(fasteners=names):
            return f"Loosened: {fastener_names(job, names)}"
        case ev.JobClosed():
            return "Job closed: not to be ridden or run" if warnings_of(job, moment.verdicts)[1] else "Job closed"
        case _:
            return _SHORT.get(event.kind, "")


_SHORT = {
    "confirmed": "Confirmed",
    "seated": "Confirmed",
    "untouched": "Untouched",
    "noted": "Noted",
    "turned": "Turned",
    "taken_back": "Taken back",
}


def _read(moment: Moment, step_id: str, place: str) -> Iterator[str]:
    match moment.job.sheet.by_id.get(step_id):
        case MeasureStep() as step if step.agree_within is not None:
            yield from _side(moment, step, place)
        case MeasureStep() as step:
            yield _valued(measured(moment, step, place))
        case ZeroStep() as step:
            yield _valued(zero_checked(moment, step))
        case _:
            return


def _side(moment: Moment, step: MeasureStep, place: str) -> Iterator[str]:
    """One side, and the difference once there is one, which goes first where it fails."""
    value, judged = measured(moment, step, place), moment.verdicts[f"{step.id}.agreement"]
    has_check = check_id(step.id, place) in moment.verdicts
    own = _valued(value if has_check else replace(value, verdict=None), spoken_place(place))
    if not judged.text or judged.verdict in ("waiting", "stale"):
        yield own
        return
    both = (_apart(pair(moment, step).difference, step), own)
    yield from both if judged.verdict in LOUD else reversed(both)


def _apart(difference: Value, step: MeasureStep) -> str:
    """A difference as a mechanic says it: "uneven: left zero point six millimetres less than right"."""
    first, second = (spoken_place(slot) for slot in step.slots)
    size = difference.text.lstrip("≈ ").lstrip("+-")
    if not size.strip("0."):
        said = f"{first} and {second} equal"
    else:
        more = "less" if "-" in difference.text else "more"
        said = f"{first} {quantity_aloud(size, difference.unit)} {more} than {second}"
    return f"{difference.verdict}: {said}" if difference.verdict in LOUD else f"{said}, {difference.verdict}"


def _valued(value: Value, name: str = "") -> str:
    """A value with its verdict; what fails says so first, since that is what a person has to hear."""
    said, verdict = quantity_aloud(value.text, value.unit) if value.text else "", value.verdict
    said = f"{name} {said}".strip()
    if verdict in LOUD:
        return f"{verdict}: {said}" if value.text else f"{verdict}: {value.reason}"
    if verdict in (None, "waiting", "stale", "done"):
        return said
    return f"{said}, {verdict}"


def _pulled(moment: Moment, event: ev.PullTaken) -> Iterator[str]:
    text = trimmed(event.own_peak or event.host_peak or "")
    said = quantity_aloud(text, event.unit) if text else "a pull"
    if event.set_aside or event.invalid:
        yield f"{said}: {ASIDE.get(event.set_aside, event.set_aside) or event.invalid}"
        return
    meant = event.answers or event.touches
    step = moment.job.sheet.by_id.get(meant.step) if meant is not None else None
    if meant is None or not isinstance(step, TorqueStep):
        yield f"{said}: nothing asked for it"
        return
    check = check_id(step.id, meant.place)
    if is_re_hit(moment, check):
        yield RE_HIT.lower()
        return
    yield _torqued(moment.verdicts[check], torqued_value(moment, step, meant.place), said)


def _torqued(judged: Judged, value: Value, said: str) -> str:
    if judged.verdict in ("waiting", "stale"):
        return f"{said}. {judged.reason}" if judged.reason else said
    return _valued(value)
