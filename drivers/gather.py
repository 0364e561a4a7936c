"""Messages that come in several notifications: a stream of fragments -> whole messages, pure and bounded."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from .decode import Frame, Speech, undecoded
from .reading import Undecoded

MAX_MESSAGE = 4096
"""Octets of one message at most."""
MAX_AGE_NS = 1_000_000_000
"""From the first fragment of a message to its last."""
TOO_LONG = f"It went on for more than {MAX_MESSAGE} octets without an end."
TOO_OLD = "The rest of it did not come within a second."
CUT_OFF = "The link ended before the rest of it came."


@dataclass(frozen=True, slots=True)
class Gathering:
    """Fragments whose message is not whole yet, by handle; each is one frame with the stamp of the first."""

    held: Mapping[int, Frame] = field(default_factory=dict)


def gather(state: Gathering, frame: Frame, speech: Speech) -> tuple[Gathering, tuple[Frame | Undecoded, ...]]:
    """Take one notification; return what is still held, and the messages that are whole now, in turn.

    A message bears the stamp of its last fragment. What grew too long or too old leaves as Undecoded. A
    characteristic whose messages have no terminator passes through.
    """
    bound = speech.of(frame.handle)
    end = bound.terminator if bound is not None else b""
    if not end:
        return state, (frame,)
    out: list[Frame | Undecoded] = []
    before = state.held.get(frame.handle)
    if before is not None and frame.at.mono_ns - before.at.mono_ns > MAX_AGE_NS:
        out.append(undecoded(before, speech.tool, TOO_OLD))
        before = None
    first = before or frame
    *whole, rest = ((before.payload if before else b"") + frame.payload).split(end)
    out += [replace(frame, payload=message + end) for message in whole if message]
    if len(rest) > MAX_MESSAGE:
        out.append(undecoded(replace(first, payload=rest[:MAX_MESSAGE]), speech.tool, TOO_LONG))
        rest = b""
    held = {handle: kept for handle, kept in state.held.items() if handle != frame.handle}
    if rest:
        held[frame.handle] = replace(frame if whole else first, payload=rest)
    return Gathering(held), tuple(out)


def cut_off(state: Gathering, speech: Speech) -> tuple[Undecoded, ...]:
    """Return what is still held when a link ends."""
    return tuple(undecoded(frame, speech.tool, CUT_OFF) for frame in state.held.values())
