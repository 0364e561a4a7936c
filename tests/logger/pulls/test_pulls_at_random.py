"""Pulls in anything a tool might send: chunks of any size agree, nothing is lost, noise and knocks are no pull."""

from dataclasses import replace
from decimal import Decimal
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.reading import ToolPeak
from logger.pulls.pulls import Found, FoundPull, Knock, LonePeak, PullState, feed, flush, replayed

from .torque import PLAIN, WAITS, Arrivals, feed_all, peak, run, sample, stream

VALUES = st.sampled_from(
    [None, "0.0", "0.3", "3.0", "4.99", "5.0", "20.1", "60", "60.00", "98.5", "-5.0", "-30", "-2.6"]
)
RUNS = st.lists(st.tuples(VALUES, st.integers(1, 30)), max_size=25)
STEPS = st.sampled_from([0, 1, 10, 10, 10, 90, 240, 400, 2500])


@st.composite
def wild(draw: st.DrawFn) -> Arrivals:
    """Anything a tool might send, in order of arrival: runs of equal values, silences, peaks at any moment."""
    arrivals: Arrivals = []
    now = 0
    for text, times in draw(RUNS):
        now += draw(STEPS)
        for _ in range(times):
            now += 10
            arrivals.append(sample(now, text))
        if draw(st.integers(0, 4)) == 0:
            arrivals.append(peak(now, f"{len(arrivals)}.5", duplicate=draw(st.booleans())))
    return arrivals


@given(wild(), st.lists(st.integers(1, 60), min_size=1, max_size=20))
@settings(max_examples=150, deadline=None, derandomize=True)
def test_chunks_of_any_size_find_the_same(arrivals: Arrivals, sizes: list[int]) -> None:
    whole_state, whole = feed_all(PullState(), arrivals, WAITS)
    state, found, begin, turn = PullState(), [], 0, 0
    while begin < len(arrivals):
        size = sizes[turn % len(sizes)]
        state, out = feed_all(state, arrivals[begin : begin + size], WAITS)
        state, passed = flush(state, arrivals[min(begin + size, len(arrivals)) - 1].at.mono_ns, WAITS)
        found += [*out, *passed]
        begin, turn = begin + size, turn + 1
    assert tuple(found) == whole
    assert state == whole_state
    one_by_one: list[Found] = []
    state = PullState()
    for arrival in arrivals:
        state, out = feed(state, arrival, WAITS)
        one_by_one += out
    assert tuple(one_by_one) == whole


@given(wild(), st.booleans())
@settings(max_examples=150, deadline=None, derandomize=True)
def test_nothing_is_lost_and_every_pull_holds_together(arrivals: Arrivals, own: bool) -> None:
    found = run(arrivals, replace(PLAIN, has_own_peak=own))
    told = [each.peak if isinstance(each, LonePeak) else each.own_peak for each in found]
    sent = [each for each in arrivals if isinstance(each, ToolPeak)]
    assert sorted(map(repr, filter(None, told))) == sorted(map(repr, sent))
    for each in found:
        if not isinstance(each, FoundPull):
            continue
        values = [Decimal(text) for _, text in each.trace]
        assert abs(each.maximum) == max(map(abs, values)) >= 5
        assert (each.maximum > 0) == (each.direction == "clockwise")
        assert abs(each.first_peak) <= abs(each.maximum)
        assert [ms for ms, _ in each.trace] == sorted(ms for ms, _ in each.trace)
        again = replayed(each.trace, PLAIN, each.unit)
        assert (again.top.text, again.first_peak.text) == (each.maximum_text, each.first_peak_text)


@given(st.integers(0, 2**32), st.floats(0.05, 1.0), st.sampled_from([1, 10, 50, 100]))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_noise_never_makes_a_pull(seed: int, sigma: float, period_ms: int) -> None:
    dice = Random(seed)
    texts = [f"{dice.gauss(0, sigma):.2f}" for _ in range(600)]
    assert not [each for each in run(stream(["0", *texts], period_ms=period_ms)) if isinstance(each, FoundPull)]


@given(st.lists(st.tuples(st.integers(1, 79), st.integers(1, 300), st.floats(-400, 400)), max_size=25))
@settings(max_examples=80, deadline=None, derandomize=True)
def test_knocks_never_make_a_pull(knocks: list[tuple[int, int, float]]) -> None:
    """Up for less than 80 ms each time, as hard and as often as you like, at 1 kHz."""
    texts: list[str | None] = ["0.0"]
    for up, down, torque in knocks:
        texts += [f"{torque:.2f}"] * up + ["0.0"] * down
    found = run(stream([*texts, *["0.0"] * 201], period_ms=1))
    assert all(isinstance(each, Knock) for each in found)
