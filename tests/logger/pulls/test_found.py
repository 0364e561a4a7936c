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
    _, by_then = feed_all(PullState(), arrivals[:190], long_wait)
    assert [each.maximum_text for each in by_then if isinstance(each, FoundPull)] == ["60.00"], "while it goes up"
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


def test_a_pull_in_progress_keeps_the_last_own_peak_and_the_one_before_comes_out_alone() -> None:
    arrivals = sorted([*stream(hand()), peak(850, "97.9"), peak(870, "98.4")], key=lambda each: each.at.mono_ns)
    alone, pull = run(arrivals, WAITS)
    assert alone == LonePeak(peak(850, "97.9"), streams=True)
    assert isinstance(pull, FoundPull)
    assert pull.own_peak == peak(870, "98.4")


def test_the_own_peak_of_one_pull_is_not_that_of_the_next() -> None:
    arrivals = sorted([*stream(hand(top=60) + hand(top=98)), peak(850, "60.2")], key=lambda each: each.at.mono_ns)
    first, second = run(arrivals, WAITS)
    assert isinstance(first, FoundPull)
    assert isinstance(second, FoundPull)
    assert (first.own_peak, second.own_peak) == (peak(850, "60.2"), None)


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


@pytest.mark.parametrize(
    ("text", "unit", "doubted"),
    [
        ("97.59", "N·m", False),  # 98.00 is above it by 0.41 N·m: a last digit of each, 0.01, and four times 0.1 N·m
        ("97.58", "N·m", False),
        ("97.57", "N·m", True),
        ("97.49", "N·m", True),
        ("71.9", "lbf·ft", False),  # 97.48 N·m; a last digit of 0.1 lbf·ft is 0.136 N·m: 0.546 N·m in all
        ("71.8", "lbf·ft", True),  # 97.35 N·m
        ("995", "kgf·cm", False),  # 97.58 N·m; a last digit of 1 kgf·cm is 0.098 N·m: 0.508 N·m in all
        ("994", "kgf·cm", True),  # 97.48 N·m: 0.52 N·m below
    ],
)
def test_the_last_digits_of_both_in_one_unit_are_no_doubt(text: str, unit: str, *, doubted: bool) -> None:
    """NIST SP 811: 1 lbf·ft = 1.355 818 N·m, 1 kgf·m = 9.806 65 N·m."""
    pull = one([*stream(hand(rest_ms=0)), peak(905, text, unit)], WAITS)
    said = f"the samples reached 98.00 N·m, the tool's own peak is {text} {unit}: it must not be smaller"
    assert pull.cross_check == (said if doubted else "")


def test_an_own_peak_too_high_is_told_with_what_sampling_can_miss() -> None:
    pull = one([*stream(hand(rest_ms=0)), peak(905, "100.5")], WAITS)
    said = "the samples reached 98.00 N·m, the tool's own peak is 100.5 N·m"
    assert pull.cross_check == f"{said}: further apart than the 1.96 N·m that sampling can miss"


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
