"""Messages that come in several notifications: a stream of fragments -> whole messages, pure and bounded."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from drivers.decode.bind import Speech
from drivers.decode.decode import Frame, is_repeat, undecoded
from drivers.reading import Undecoded

MAX_MESSAGE = 4096
"""Octets of one message at most."""
MAX_AGE_NS = 1_000_000_000
"""From the first fragment of a message to its last."""
TOO_LONG = f"It went on for more than {MAX_MESSAGE} octets without an end."
TOO_OLD = "The rest of it did not come within a second."
CUT_OFF = "The link ended before the rest of it came."
DOUBLED = "A part of it came twice, so what it says is not certain."
TORN = "Its beginning may be missing, so what it says is not certain; send it once more."
ECHOED = "It is the end of the message before it once more."


@dataclass(frozen=True, slots=True)
class Gathering:
    """Fragments whose message is not whole yet, by handle; each is one frame with the stamp of the first."""

    held: Mapping[int, Frame] = field(default_factory=dict)
    before: Mapping[int, Frame] = field(default_factory=dict)
    """The last notification by handle."""
    ended: frozenset[int] = frozenset()
    """Where the last notification ended a message that an earlier one had begun."""
    doubled: frozenset[int] = frozenset()
    """Where a part of what is held came twice."""
    torn: frozenset[int] = frozenset()
    """Where what comes next may be the end of a message whose beginning was let go."""


def gather(state: Gathering, frame: Frame, speech: Speech) -> tuple[Gathering, tuple[Frame | Undecoded, ...]]:
    """Take one notification; return what is still held, and the messages that are whole now, in turn.

    A message bears the stamp of its last fragment. What grew too long or too old leaves as Undecoded with what ends it,
    and so does what came twice in parts, as over a subscription that outlived its link: 41 of 30.41 is a number too. A
    characteristic whose messages have no terminator passes through.
    """
    bound = speech.of(frame.handle)
    end = bound.terminator if bound is not None else b""
    if not end:
        return state, (frame,)
    again = len(frame.payload) > 1 and is_repeat(frame, state.before.get(frame.handle), speech.duplicate_ms)
    if again and frame.handle in state.ended:
        return state, (undecoded(frame, speech.tool, ECHOED),)
    out: list[Frame | Undecoded] = []
    first, torn = state.held.get(frame.handle), frame.handle in state.torn
    if first is not None and frame.at.mono_ns - first.at.mono_ns > MAX_AGE_NS:
        out.append(undecoded(first, speech.tool, TOO_OLD))
        first, torn = None, True
    doubled = first is not None and (again or frame.handle in state.doubled)
    *whole, rest = ((first.payload if first else b"") + frame.payload).split(end)
    messages = [replace(frame, payload=message + end) for message in whole if message]
    if (doubled or torn) and messages:
        out.append(undecoded(messages.pop(0), speech.tool, DOUBLED if doubled else TORN))
    out += messages
    held = replace(frame if whole or first is None else first, payload=rest)
    if len(rest) > MAX_MESSAGE:
        out.append(undecoded(replace(held, payload=rest[:MAX_MESSAGE]), speech.tool, TOO_LONG))
        held, torn, whole = replace(held, payload=b""), True, []
    others = {at: kept for at, kept in state.held.items() if at != frame.handle}
    return Gathering(
        others | ({frame.handle: held} if held.payload else {}),
        {**state.before, frame.handle: frame},
        ended=_marked(state.ended, frame.handle, bool(first and whole)),
        doubled=_marked(state.doubled, frame.handle, doubled and not whole),
        torn=_marked(state.torn, frame.handle, torn and not whole),
    ), tuple(out)


def _marked(handles: frozenset[int], handle: int, on: bool) -> frozenset[int]:
    return handles | {handle} if on else handles - {handle}


def cut_off(state: Gathering, speech: Speech) -> tuple[Undecoded, ...]:
    """Return what is still held when a link ends."""
    return tuple(undecoded(frame, speech.tool, CUT_OFF) for frame in state.held.values())
