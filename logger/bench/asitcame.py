"""What arrives becomes an event as it came, whatever it answers: readings, frames, states of links; pure."""

from drivers.reading import Stamp, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from logger import events as ev
from logger.trail.clocks import utc_text


def received(at: Stamp) -> ev.Received:
    """Both clocks of the host at the moment of arrival."""
    return ev.Received(utc=utc_text(at.utc_ns), mono_us=at.mono_ns // 1000)


def reading_taken(reading: ToolReading, answers: ev.Slot | None, set_aside: ev.SetAside) -> ev.ReadingTaken:
    """Return the event for one reading as it came, with what it answers or why it counts for nothing."""
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
        mode=reading.mode,
        key_gap_ms=reading.key_gap_ms,
        received=received(reading.at),
    )


def no_torque_event(arrival: TorqueSample | ToolPeak, why: str) -> ev.FrameUndecoded:
    """Return the event for a sample or peak whose unit is no torque."""
    raw = arrival.raw if isinstance(arrival, ToolPeak) else f"{arrival.text} {arrival.unit}"
    return ev.FrameUndecoded(tool=arrival.tool, characteristic="", raw=raw, reason=why, received=received(arrival.at))


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
        profile=state.profile,
    )
