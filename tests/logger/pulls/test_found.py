"""The tool's own peak: which pull it joins, and how the samples cross-check it."""

from dataclasses import replace

import pytest

from logger.pulls.pulls import FoundPull, Knock, LonePeak, PullState, feed, flush

from .torque import WAITS, at, feed_all, hand, one, paced, peak, run, sample, stream


@pytest.mark.parametrize("ms", [850, 950, 1200, 1890])
def test_the_own_peak_joins_its_pull_during_the_fall_or_after(ms: int) -> None:
    arrivals = sorted([*stream(hand(rest_ms=2000)), peak(ms, "98.9")], key=lambda each: each.at.mono_ns)
    pull = one(arrivals, WAITS)
    assert pull.own_peak == peak(ms, "98.9")
    assert pull.cross_check == ""


def test_a_pull_waits_for_its_own_peak_no_longer_than_agreed() -> None:
    state, found = feed_all(PullState(), stream(hand(rest_ms=990)), WAITS)
    assert found == ()
    _, early = flush(state, at(1899).mono_ns, WAITS)
    assert early == ()
    flushed, told = flush(state, at(1900).mono_ns, WAITS)
    assert [type(each) for each in told] == [FoundPull]
    _, fed = feed(state, sample(1900, "0.00"), WAITS)
    assert fed == told, "samples and time passing without samples agree"
    late = peak(1950, "98.9")
    assert feed(flushed, late, WAITS)[1] == (LonePeak(late, streams=True),)


def test_a_pull_waits_no_longer_than_until_the_next_begins() -> None:
    long_wait = replace(WAITS, own_peak_within_ms=60_000)
    arrivals = [*stream(hand(top=60)), *stream(hand(top=98), start_ms=1300), peak(2600, "98.4")]
    first, second = run(arrivals, long_wait)
    assert isinstance(first, FoundPull)
    assert isinstance(second, FoundPull)
    assert (first.maximum_text, first.own_peak) == ("60.00", None)
    assert (second.maximum_text, second.own_peak) == ("98.00", peak(2600, "98.4"))


def test_a_bounce_does_not_take_the_own_peak_of_the_pull_that_waits() -> None:
    bounce = ["0.00"] * 22 + ["30.00"] * 3
    arrivals = [*stream([*hand(rest_ms=0), *bounce]), peak(1145, "98.5"), *stream(["0.00"] * 50, start_ms=1150)]
    pull, knock = run(arrivals, WAITS)
    assert isinstance(pull, FoundPull)
    assert isinstance(knock, Knock)
    assert pull.own_peak == peak(1145, "98.5")
    assert knock.own_peak is None


def test_a_bounce_that_rings_out_does_not_end_the_wait() -> None:
    bounce = [*["0.00"] * 21, *["30.00"] * 9, *["0.00"] * 15]
    arrivals = [*stream([*hand(rest_ms=0), *bounce]), peak(1345, "98.5"), *stream(["0.00"] * 50, start_ms=1350)]
    pull, knock = run(arrivals, WAITS)
    assert isinstance(pull, FoundPull)
    assert isinstance(knock, Knock)
    assert pull.own_peak == peak(1345, "98.5")
    assert knock.reason == "the bounce after a pull"


def test_a_repeated_peak_joins_no_pull() -> None:
    again = peak(1200, "60.0", duplicate=True)
    alone, pull = run([*stream(hand(rest_ms=300)), again], WAITS)
    assert alone == LonePeak(again, streams=True)
    assert isinstance(pull, FoundPull)
    assert pull.own_peak is None


def test_a_peak_without_a_pull_comes_out_alone() -> None:
    assert run([peak(0, "98")]) == (LonePeak(peak(0, "98"), streams=False),)
    again = peak(1000, "98.0", duplicate=True)
    found = run([*stream(hand(rest_ms=100)), peak(995, "98.0"), again], WAITS)
    assert [type(each) for each in found] == [LonePeak, FoundPull]


@pytest.mark.parametrize(
    ("text", "unit", "doubt"),
    [
        ("98.0", "N·m", ""),
        ("97.6", "N·m", ""),  # a digit of each and four times the noise: 0.51 N·m
        ("97.5", "N·m", ""),  # just within it
        ("97.4", "N·m", "must not be smaller"),
        ("100.38", "N·m", ""),  # 98 + 1.96 + 0.42
        ("100.39", "N·m", "further apart"),
        ("100.0", "N·m", ""),
        ("100.5", "N·m", "further apart than the 1.96 N·m that sampling can miss"),  # 98 + 1.96 + 0.51
        ("-98.0", "N·m", ""),
        ("72.9", "lbf·ft", ""),  # 98.84 N·m
        ("75.0", "lbf·ft", "further apart"),  # 101.69 N·m
        ("98.0", "mm", "is no torque"),
        ("?", "N·m", "is no torque"),
    ],
)
def test_the_samples_cross_check_the_own_peak(text: str, unit: str, doubt: str) -> None:
    pull = one([*stream(hand(rest_ms=0)), peak(905, text, unit)], WAITS)
    assert pull.own_peak is not None
    assert bool(pull.cross_check) == bool(doubt)
    assert doubt in pull.cross_check


def test_a_stream_too_slow_to_bound_the_peak_says_so_and_doubts_nothing() -> None:
    slow = replace(paced(10), min_ms=0, has_own_peak=True)
    pull = one([*stream(["0", "40", "0", "0"], period_ms=100), peak(310, "98")], slow)
    assert pull.under_read_bound is None
    assert pull.cross_check == ""


def test_a_knock_keeps_the_own_peak_that_came_with_it() -> None:
    (knock,) = run(
        [*stream(["0.00"] * 5 + ["60.00"] * 3), peak(75, "61.0"), *stream(["0.00"] * 60, start_ms=80)], WAITS
    )
    assert isinstance(knock, Knock)
    assert knock.own_peak == peak(75, "61.0")
