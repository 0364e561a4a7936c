"""Torque streams for tests: values on straight lines, a hand's pull, and everything found in a stream."""

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from drivers.reading import Stamp, ToolPeak, TorqueSample
from logger.pulls.figures import stated_settings
from logger.pulls.pulls import Found, FoundPull, PullSettings, PullState, Step, feed, flush
from tests.logger.walk import described

MS = 1_000_000
PLAIN = PullSettings(has_own_peak=False)
WAITS = PullSettings(has_own_peak=True)
Arrivals = list[TorqueSample | ToolPeak]


def at(ms: float) -> Stamp:
    ns = round(ms * MS)
    return Stamp(1_700_000_000_000_000_000 + ns, 5_000_000_000 + ns)


def sample(ms: float, text: str | None, unit: str = "N·m") -> TorqueSample:
    return TorqueSample("W1", text, unit, at(ms))


def peak(ms: float, text: str, unit: str = "N·m", *, duplicate: bool = False) -> ToolPeak:
    return ToolPeak("W1", text, unit, "00", at(ms), duplicate)


def stream(texts: Iterable[str | None], start_ms: float = 0, period_ms: float = 10) -> Arrivals:
    return [sample(start_ms + n * period_ms, text) for n, text in enumerate(texts)]


def line(*corners: tuple[int, float], sign: int = 1, period_ms: int = 10) -> list[str | None]:
    """Values on straight lines between (ms, torque) corners, two decimals."""
    texts: list[str | None] = []
    for (from_ms, low), (to_ms, high) in pairwise(corners):
        slope, times = (high - low) / max(1, to_ms - from_ms), range(from_ms, to_ms, period_ms)
        texts += [f"{sign * (low + slope * (ms - from_ms)):.2f}" for ms in times]
    return texts


def hand(*, top: float = 98, sign: int = 1, rest_ms: int = 400) -> list[str | None]:
    """Rest, half a second up to `top`, a click of 15 %, let go, rest."""
    corners = [(0, 0), (300, 0), (800, top), (810, 0.85 * top), (900, 0), (900 + rest_ms, 0)]
    return line(*corners, sign=sign)


def paced(rate_hz: int) -> PullSettings:
    """The settings of a wrench that streams at this rate and has no peak of its own."""
    stated = described().model_copy(update={"sample_rate": rate_hz})
    return replace(stated_settings(stated)[0], has_own_peak=False)


def feed_all(state: PullState, arrivals: Arrivals, settings: PullSettings) -> Step:
    """Take a chunk of a stream, in order."""
    found: list[Found] = []
    for arrival in arrivals:
        state, out = feed(state, arrival, settings)
        found += out
    return state, tuple(found)


def run(arrivals: Arrivals, settings: PullSettings = PLAIN) -> tuple[Found, ...]:
    """Everything found by the time the stream has ended."""
    state, found = feed_all(PullState(), arrivals, settings)
    return found + flush(state, None, settings)[1]


def one(arrivals: Arrivals, settings: PullSettings = PLAIN) -> FoundPull:
    found = run(arrivals, settings)
    assert [type(each) for each in found] == [FoundPull], found
    assert isinstance(found[0], FoundPull)
    return found[0]
