"""What arrives from a tool becomes an event: which prompt it answers, or why it counts for nothing. Pure."""

from datetime import UTC, datetime, timedelta

from drivers.reading import Stamp, ToolReading, ToolState, Undecoded

from . import events as ev
from .job import Job
from .prompt import Prompt
from .pulls import FoundPull
from .sheet import MeasureStep, TorqueStep
from .units import unit_of

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def utc_text(utc_ns: int) -> str:
    """RFC 3339 text of an instant, UTC, always six decimals, so that text order is time order."""
    at = _EPOCH + timedelta(microseconds=utc_ns // 1000)
    return at.isoformat(timespec="microseconds").replace("+00:00", "Z")


def received(at: Stamp) -> ev.Received:
    """Both clocks of the host at the moment of arrival."""
    return ev.Received(utc=utc_text(at.utc_ns), mono_us=at.mono_ns // 1000)


def reading_event(job: Job, prompt: Prompt, reading: ToolReading) -> ev.ReadingTaken | ev.PullTaken:
    """Return the event for one reading; a torque that a person typed is a pull without a trace."""
    if reading.quantity == "torque":
        return _typed_torque(prompt, reading)
    set_aside = _set_aside(job, prompt, reading)
    answers = None if set_aside else ev.Slot(step=prompt.step, place=prompt.place, part=prompt.part)
    return ev.ReadingTaken(
        answers=answers,
        set_aside=set_aside,
        tool=reading.tool,
        tool_kind=reading.kind,
        quantity=reading.quantity,
        value=reading.text,
        unit=reading.unit,
        source=reading.source,
        raw=reading.raw,
        characteristic=reading.characteristic,
        received=received(reading.at),
    )


def _set_aside(job: Job, prompt: Prompt, reading: ToolReading) -> ev.SetAside:
    if job.closed:
        return "job closed"
    if reading.duplicate:
        return "duplicate"
    if prompt.kind in ("loosen", "turn", "seat"):
        return "look"
    step = job.sheet.by_id.get(prompt.step)
    if prompt.kind != "measure" or not isinstance(step, MeasureStep):
        return "unprompted"
    if reading.kind and reading.kind not in step.tools:
        return "wrong tool"
    kind = unit_of(reading.unit)
    return "" if kind is not None and kind[0] == reading.quantity else "wrong unit"


def _meant(job: Job, prompt: Prompt) -> tuple[ev.Slot | None, ev.Slot | None]:
    """The fastener a prompt asks to pull, and the one a pull is taken to have moved."""
    slot = ev.Slot(step=prompt.step, place=prompt.place)
    if prompt.kind == "torque":
        return slot, slot
    if prompt.kind in ("untouched", "slacken"):
        return None, slot
    if job.last_pulled is not None:
        return None, ev.Slot(step=job.last_pulled[0], place=job.last_pulled[1])
    return None, None


def _typed_torque(prompt: Prompt, reading: ToolReading) -> ev.PullTaken | ev.ReadingTaken:
    asked = prompt.kind == "torque" and not reading.duplicate
    slot = ev.Slot(step=prompt.step, place=prompt.place) if asked else None
    if slot is None:
        return ev.ReadingTaken(
            answers=None,
            set_aside="duplicate" if reading.duplicate else "unprompted",
            tool=reading.tool,
            tool_kind=reading.kind,
            quantity="torque",
            value=reading.text,
            unit=reading.unit,
            source=reading.source,
            raw=reading.raw,
            characteristic=reading.characteristic,
            received=received(reading.at),
        )
    return ev.PullTaken(
        answers=slot,
        touches=slot,
        tool=reading.tool,
        unit=reading.unit,
        source=reading.source,
        own_peak=reading.text,
        host_peak=None,
        raw=reading.raw,
        received=received(reading.at),
    )


def undecoded_event(frame: Undecoded) -> ev.FrameUndecoded:
    """Return the event for a frame that could not be understood."""
    return ev.FrameUndecoded(
        tool=frame.tool,
        characteristic=frame.characteristic,
        raw=frame.raw,
        reason=frame.reason,
        received=received(frame.at),
    )


def state_event(state: ToolState) -> ev.ToolSeen:
    """Return the event for a change of a tool's link."""
    return ev.ToolSeen(
        tool=state.tool,
        tool_kind=state.kind,
        link=state.link.value,
        battery=state.battery,
        address=state.address,
        serial=state.serial,
        model=state.model,
        firmware=state.firmware,
        message=state.message,
    )
