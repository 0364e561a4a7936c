"""What a torque stream or a told torque gives becomes a pull: which fastener it was meant for, what it means. Pure."""

from dataclasses import replace
from decimal import Decimal
from typing import Literal

from drivers.reading import Source, Stamp, ToolReading
from logger import events as ev
from logger.job.facts import Job, Place, Pull
from logger.job.picked import is_other
from logger.job.prompted import Prompt
from logger.job.torqued import is_through, open_pass, torqued
from logger.job.torquepass import adapter_of, goes_over, reached
from logger.pulls.figures import figures_of
from logger.pulls.pulls import Found, FoundPull, Knock, LonePeak, PullSettings
from logger.sheets.sheet import TorqueStep
from logger.units import unit_of

from .asitcame import reading_taken, received


def found_event(
    job: Job, prompt: Prompt, found: Found, settings: PullSettings | None = None
) -> ev.PullTaken | ev.ReadingTaken:
    """Return the event for what a torque stream gave: a pull, a peak without its pull, or a knock."""
    match found:
        case FoundPull():
            return pull_event(job, prompt, found, settings)
        case LonePeak():
            return _lone_peak(job, prompt, found)
        case Knock(own_peak=own):
            reading = _as_reading(found.tool, format(found.maximum, "f"), found.unit, found.source, found.ended)
            return reading_taken(replace(reading, raw=own.raw if own else ""), None, "knock")


def pull_event(job: Job, prompt: Prompt, found: FoundPull, settings: PullSettings | None = None) -> ev.PullTaken:
    """Return the event for one pull of a stream; its tool's own peak decides, in the unit of the samples.

    The settings it was found with are kept with it, so that its trace can be gone through again.
    """
    own, clockwise = found.own_peak, found.direction == "clockwise"
    answers, touches, aside = _asked(job, prompt, found.tool, found.source)
    most = max(found.maximum, Decimal(own.text)) if own is not None and own.unit == found.unit else found.maximum
    told = (found.warning, found.cross_check, _rehit(job, touches, most, found.unit) if clockwise else "")
    invalid = found.invalid
    if own is not None and own.unit != found.unit:
        invalid = invalid or f"the tool's own peak is in {own.unit}, its samples are in {found.unit}"
    return ev.PullTaken(
        answers=answers if clockwise else None,
        touches=touches,
        set_aside="" if answers and clockwise else aside,
        tool=found.tool,
        unit=found.unit,
        source=found.source,
        direction=found.direction,
        own_peak=own.text if own is not None and own.unit == found.unit else None,
        host_peak=found.maximum_text,
        first_peak=found.first_peak_text if found.first_peak != found.maximum else None,
        warnings=tuple(each for each in told if each),
        invalid=invalid,
        trace=found.trace,
        how=_how(job, found.tool, "", found.source),
        figures=None if settings is None else figures_of(settings),
        under_read=None if found.under_read_bound is None else format(found.under_read_bound, "f"),
        adapter=_adapter(job, touches),
        raw=own.raw if own is not None else "",
        received=received(found.ended),
    )


def _how(job: Job, tool: str, kind: str, source: Source) -> Literal["measured", "set and clicked"]:
    """A setting wrench measures nothing; a typed torque is of one, unless a person said that the wrench indicates."""
    described = job.tools.get(tool)
    known = kind or (described.tool_kind if described is not None else "")
    clicks = known == "setting wrench" or (source == "typed" and known != "torque wrench")
    return "set and clicked" if clicks else "measured"


def _adapter(job: Job, touches: ev.Slot | None) -> ev.Adapter | None:
    step = job.sheet.by_id.get(touches.step) if touches is not None else None
    return adapter_of(job, step) if isinstance(step, TorqueStep) else None


def told_pull(job: Job, prompt: Prompt, reading: ToolReading) -> ev.PullTaken:
    """Return the event for a torque without samples: what was told is the peak; below zero it was anticlockwise."""
    unit = unit_of(reading.unit)
    is_torque = unit is not None and unit[0] == "torque"
    clockwise = Decimal(reading.text) >= 0  # a zero has no direction, whatever its sign
    answers, touches, aside = _asked(job, prompt, reading.tool, reading.source)
    counts = answers is not None and is_torque and clockwise
    rehit = _rehit(job, touches, Decimal(reading.text), reading.unit) if clockwise else ""
    return ev.PullTaken(
        answers=answers if counts else None,
        touches=touches,
        set_aside="" if counts else aside if is_torque else "wrong unit",
        tool=reading.tool,
        unit=reading.unit,
        source=reading.source,
        direction="clockwise" if clockwise else "anticlockwise",
        own_peak=reading.text,
        host_peak=None,
        warnings=(rehit,) if rehit else (),
        how=_how(job, reading.tool, reading.kind, reading.source),
        adapter=_adapter(job, touches),
        raw=reading.raw,
        key_gap_ms=reading.key_gap_ms,
        received=received(reading.at),
    )


def _lone_peak(job: Job, prompt: Prompt, found: LonePeak) -> ev.PullTaken | ev.ReadingTaken:
    """A tool that sends no samples pulls by its peaks; else it came too late or again, and answers nothing.

    Too late, it is still a torque that something felt: it is taken to belong to the fastener pulled last.
    """
    peak = found.peak
    reading = _as_reading(peak.tool, peak.text, peak.unit, peak.source, peak.at)
    reading = replace(reading, raw=peak.raw, kind=_wrench_kind(job, peak.tool))
    if peak.duplicate:
        return reading_taken(reading, None, "duplicate")
    event = told_pull(job, prompt, reading)
    if not found.streams:
        return event
    touches = event.touches if job.last_pulled is None else _slot(job.last_pulled)
    why = "a peak that came without its pull"
    aside: ev.SetAside = event.set_aside or "unprompted"
    changed = {"touches": touches, "set_aside": aside, "warnings": (why,), "adapter": _adapter(job, touches)}
    return event.model_copy(update={"answers": None, **changed})


def _wrench_kind(job: Job, tool: str) -> str:
    described = job.tools.get(tool)
    return described.tool_kind if described is not None and described.tool_kind else "torque wrench"


def _as_reading(tool: str, text: str, unit: str, source: Source, at: Stamp) -> ToolReading:
    return ToolReading(tool, "torque", text, unit, source, "", at, "torque wrench")


def _slot(place: Place) -> ev.Slot:
    return ev.Slot(step=place[0], place=place[1])


def meant(job: Job, prompt: Prompt) -> tuple[ev.Slot | None, ev.Slot | None]:
    """Return the fastener a prompt asks to pull, and the one a pull is taken to have moved.

    Where no prompt names one, it is a pull too early (on what is loose and comes first), else a re-hit.
    """
    if job.closed:
        return None, None
    if prompt.kind in ("torque", "untouched", "slacken"):
        slot = ev.Slot(step=prompt.step, place=prompt.place)
        return (slot if prompt.kind == "torque" else None), slot
    places = [(step, slot) for step in job.sheet.torques for slot in step.slots]
    loose = next(((step.id, slot) for step, slot in places if _not_yet_tight(job, step, slot)), None)
    only = (places[0][0].id, places[0][1]) if len(places) == 1 else None
    guess = loose or job.last_pulled or only
    return None, None if guess is None else _slot(guess)


def _not_yet_tight(job: Job, step: TorqueStep, slot: str) -> bool:
    """Whether a fastener was loosened and no pull took it to its window since; with passes, of the open one."""
    return job.fastener((step.id, slot)).loosened > 0 and not is_through(job, step, slot)


def _asked(job: Job, prompt: Prompt, tool: str, source: Source) -> tuple[ev.Slot | None, ev.Slot | None, ev.SetAside]:
    """What a pull answers and touches, and why it is set aside where it answers nothing; what is typed is as said."""
    answers, touches = meant(job, prompt)
    if answers is not None and source != "typed" and is_other(job, answers.step, tool, "torque wrench"):
        return None, touches, "other tool"
    return answers, touches, "job closed" if job.closed else "unprompted"


def _rehit(job: Job, touches: ev.Slot | None, most: Decimal, unit: str) -> str:
    """Say of a pull on what was through already that it was a re-hit, and what it means; empty where it was none."""
    step = job.sheet.by_id.get(touches.step) if touches else None
    if touches is None or not isinstance(step, TorqueStep) or not is_through(job, step, touches.place):
        return ""
    judged = torqued(job, step, touches.place)
    if step.passes and judged.verdict == "waiting" and not judged.to_loosen:
        was = f"through pass {reached(job, step, touches.place)}"
    elif judged.verdict in ("inside", "unsure"):
        was = judged.verdict
    else:
        return ""
    if _over(job, step, touches, most, unit):
        return f"a re-hit above the window: it was {was} already, and no pull stands after that, it is to be loosened"
    return f"a re-hit: it was {was} already, and the first pull stands"


def _over(job: Job, step: TorqueStep, touches: ev.Slot, most: Decimal, unit: str) -> bool:
    """Whether a torque lies above the window of the pass that the fastener is in."""
    known = unit_of(unit)
    if known is None or known[0] != "torque":
        return False
    number, adapter = open_pass(job, step, touches.place), _adapter(job, touches)
    return goes_over(step, Pull(0, most, most, "", unit, "", asked=False, adapter=adapter, number=number))
