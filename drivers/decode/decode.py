"""What a frame says: bytes and how the tool speaks -> an arrival, without I/O or state."""

from dataclasses import dataclass

from drivers.gatt import plain
from drivers.octets import FrameError, Special
from drivers.reading import Arrival, Stamp, ToolPeak, ToolReading, TorqueSample, Undecoded

from .bind import Speech
from .said import AsideError


@dataclass(frozen=True, slots=True)
class Frame:
    """One notification as it arrived: octets, over which link, and when."""

    handle: int
    uuid: str
    payload: bytes
    generation: int
    at: Stamp


def undecoded(frame: Frame, tool: str, reason: str, *, aside: bool = False) -> Undecoded:
    """Return a frame that gives no reading, kept as hex with the reason."""
    return Undecoded(tool, frame.uuid, frame.payload.hex(), reason, frame.at, aside)


def is_repeat(frame: Frame, before: Frame | None, within_ms: int) -> bool:
    """Say whether a frame is the one before it over again: same octets, same link, within the time."""
    return (
        before is not None
        and (frame.handle, frame.payload, frame.generation) == (before.handle, before.payload, before.generation)
        and frame.at.mono_ns - before.at.mono_ns < within_ms * 1_000_000
    )


def decode(frame: Frame, speech: Speech, before: Frame | None = None) -> Arrival:
    """Return what one frame says.

    `before` is the frame before it on the same characteristic; it decides only whether a reading or a peak is a
    duplicate. A stream is never de-duplicated: equal samples are what a steady hand sends.
    """
    bound = speech.of(frame.handle)
    if bound is None:
        return undecoded(frame, speech.tool, "The profile does not say what this characteristic means.")
    try:
        said = bound.read(frame.payload)
    except FrameError as error:
        return undecoded(frame, speech.tool, str(error), aside=isinstance(error, AsideError))
    if bound.role == "stream":
        text = None if isinstance(said.value, Special) else plain(said.value)
        return TorqueSample(speech.tool, text, said.unit, frame.at, bound.source, frame.payload.hex())
    if isinstance(said.value, Special):
        return undecoded(frame, speech.tool, f"The tool sent no number but: {said.value}.")
    text, repeat = plain(said.value), is_repeat(frame, before, speech.duplicate_ms)
    if bound.role == "peak":
        return ToolPeak(speech.tool, text, said.unit, frame.payload.hex(), frame.at, repeat, bound.source)
    return ToolReading(
        tool=speech.tool,
        quantity=said.quantity,
        text=text,
        unit=said.unit,
        source=bound.source,
        raw=frame.payload.hex(),
        at=frame.at,
        kind=speech.kind,
        characteristic=frame.uuid,
        duplicate=repeat,
        mode=said.mode,
    )
