"""Notices a stream whose every value comes twice, as over a subscription that outlived its link: pure, frame by frame.

Values of a stream are never told apart by their octets, since a steady hand sends equal ones. What gives a doubled
stream away is that *every* run of equal frames is of even length, its frames in pairs; or, where the profile states a
rate, that frames come far faster than that.
"""

from dataclasses import dataclass, replace

PAIR_NS = 5_000_000
"""The second of a pair follows the first at once; values of a 100 Hz stream are 10 ms apart."""
RUNS = 16
"""So many runs in a row, all of pairs: by chance, one stream in sixty thousand where every second run is even."""
PAUSE_NS = 500_000_000
"""After a longer pause the rate is counted anew: the pause would hide how fast the frames come."""
WINDOW_NS = 1_000_000_000
"""What a rate is counted over."""
WINDOWS = 2
"""A link that was held up delivers late and fast for a moment, but not for two windows."""
TOO_FAST = 1.6
"""Times the stated rate."""


@dataclass(frozen=True, slots=True)
class Echo:
    """How a stream came of late."""

    payload: bytes = b""
    run: int = 0
    """Equal frames in a row, up to now."""
    pairs: bool = True
    """Whether they came two by two."""
    runs: int = 0
    """Runs in a row that were all pairs."""
    clean: bool = False
    """Whether a run was seen that no doubled stream has."""
    at_ns: int = 0
    """When the last frame came."""
    began_ns: int = 0
    """When the present window began."""
    frames: int = 0
    """Frames of the present window."""
    windows: int = 0
    """Windows in a row that were too fast."""
    doubled: bool = False
    """Whether it is known that every value comes twice; it stays known."""


def echo(state: Echo, payload: bytes, at_ns: int, rate: int | None) -> Echo:
    """Take one frame of a stream at a monotonic moment; `rate` is what its profile states, in Hz."""
    if not state.run:
        return replace(state, payload=payload, run=1, at_ns=at_ns, began_ns=at_ns)
    now = _counted(_paced(state, at_ns, rate), payload, at_ns)
    return replace(now, at_ns=at_ns, doubled=now.doubled or now.runs >= RUNS or now.windows >= WINDOWS)


def _counted(state: Echo, payload: bytes, at_ns: int) -> Echo:
    if payload == state.payload:
        second = state.run % 2 == 1
        pairs = state.pairs and (not second or at_ns - state.at_ns < PAIR_NS)
        return replace(state, run=state.run + 1, pairs=pairs)
    good = state.pairs and state.run % 2 == 0
    runs = state.runs + 1 if good else 0
    return replace(state, payload=payload, run=1, pairs=True, runs=runs, clean=state.clean or state.run % 2 == 1)


def _paced(state: Echo, at_ns: int, rate: int | None) -> Echo:
    if rate is None:
        return state
    if at_ns - state.at_ns > PAUSE_NS:
        return replace(state, began_ns=at_ns, frames=0, windows=0)
    frames, took_ns = state.frames + 1, at_ns - state.began_ns
    if took_ns < WINDOW_NS:
        return replace(state, frames=frames)
    fast = frames * 1_000_000_000 > TOO_FAST * rate * took_ns
    return replace(state, began_ns=at_ns, frames=0, windows=state.windows + 1 if fast else 0)
