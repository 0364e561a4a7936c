"""What spoils a pull: samples without a value, gaps, what is out of order, units that change."""

from dataclasses import replace
from decimal import Decimal

import pytest

from logger.pulls.pulls import FoundPull, PullState, flush

from .torque import PLAIN, feed_all, hand, one, run, stream


@pytest.mark.parametrize("text", [None, "NaN", "-Infinity", "---"])
def test_one_sample_without_a_value_spoils_the_pull_but_does_not_hide_it(text: str | None) -> None:
    texts = hand()
    texts[60] = text
    pull = one(stream(texts))
    assert pull.invalid == "a sample without a value"
    assert pull.maximum_text == "98.00"
    assert pull.sample_count == 58
    assert all(Decimal(value).is_finite() for _, value in pull.trace)


def test_a_sample_without_a_value_just_before_the_rise_hides_how_it_began() -> None:
    texts = hand()
    texts[32] = None
    assert one(stream(texts)).invalid == "the stream does not show how it began"


@pytest.mark.parametrize("where", [1, 20, 35])
def test_a_sample_without_a_value_at_rest_spoils_nothing(where: int) -> None:
    texts = hand(rest_ms=1000)
    texts[-where] = None
    texts[10] = None
    assert one(stream(texts)).invalid == ""


def test_a_gap_inside_spoils_the_pull() -> None:
    arrivals = stream(hand())
    pull = one(arrivals[:45] + arrivals[75:])
    assert pull.invalid == "a gap of 310 ms in the stream"


def test_a_gap_from_rest_into_a_pull_spoils_it() -> None:
    arrivals = stream(hand())
    assert one(arrivals[:25] + arrivals[55:]).invalid == "the stream does not show how it began"


def test_a_gap_over_the_whole_fall_spoils_it() -> None:
    arrivals = stream(hand())
    assert one(arrivals[:78] + arrivals[110:]).invalid == "a gap of 330 ms in the stream"


def test_a_gap_after_the_fall_spoils_nothing() -> None:
    arrivals = stream(hand(rest_ms=1000))
    assert one(arrivals[:95] + arrivals[170:]).invalid == ""


@pytest.mark.parametrize("lost", range(33, 90))
def test_any_packet_lost_inside_a_pull_spoils_it_when_the_driver_says_so(lost: int) -> None:
    texts = hand()
    texts[lost : lost + 5] = [None] * 5
    assert one(stream(texts)).invalid != ""


def test_a_gap_that_leaves_one_sample_of_a_pull_makes_it_invalid_not_a_knock() -> None:
    assert (
        one([*stream(["0.00", "50.00"]), *stream(["0.00"] * 30, start_ms=400)]).invalid
        == "a gap of 390 ms in the stream"
    )


def test_a_stream_that_begins_inside_a_pull_does_not_show_it() -> None:
    assert one(stream(hand()[50:])).invalid == "the stream does not show how it began"
    ended, _ = flush(feed_all(PullState(), stream(["0.00"]), PLAIN)[0], None, PLAIN)
    _, found = feed_all(ended, stream([*["60.00"] * 20, *["0.00"] * 40], start_ms=10), PLAIN)
    assert [each.invalid for each in found if isinstance(each, FoundPull)] == ["the stream does not show how it began"]


def test_samples_out_of_order_spoil_the_pull() -> None:
    arrivals = stream(hand())
    arrivals[60], arrivals[61] = arrivals[61], arrivals[60]
    assert one(arrivals).invalid == "samples out of order"


def test_a_unit_changed_inside_spoils_both_parts() -> None:
    arrivals = [replace(each, unit="lbf·ft") if n >= 60 else each for n, each in enumerate(stream(hand()))]
    found = run(arrivals)
    assert [each.invalid for each in found if isinstance(each, FoundPull)] == [
        "the unit changed inside the pull",
        "the stream does not show how it began",
    ]


def test_a_unit_changed_after_the_fall_spoils_nothing() -> None:
    arrivals = [replace(each, unit="lbf·ft") if n >= 95 else each for n, each in enumerate(stream(hand()))]
    pull = one(arrivals)
    assert (pull.unit, pull.invalid) == ("N·m", "")


def test_a_wrench_that_never_comes_back_to_rest_is_told_and_not_gathered_for_ever() -> None:
    short = replace(PLAIN, max_ms=5000)
    found = run(stream(["0.00", *["4.00"] * 10, *["40.00"] * 1200]), short)
    pulls = [each for each in found if isinstance(each, FoundPull)]
    assert [each.invalid for each in pulls] == [
        "it never came back to rest: zero the wrench",
        "the stream does not show how it began",
        "the stream does not show how it began",
    ]
    assert sum(each.sample_count for each in pulls) == 1201
    barely = run(stream(["0.00", *["5.00"] * 700, *["0.00"] * 40]), short)
    assert [each.invalid for each in barely if isinstance(each, FoundPull)] == [each.invalid for each in pulls[:2]]
