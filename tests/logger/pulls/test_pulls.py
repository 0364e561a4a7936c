"""Pulls found in torque streams: vectors of what is one and what is none."""

from dataclasses import replace
from decimal import Decimal

import pytest

from logger.pulls.pulls import FoundPull, Knock, Live, PullState, feed, flush

from .torque import PLAIN, at, feed_all, hand, line, one, run, sample, stream

# --- vectors ----------------------------------------------------------------------------------------------------------


def test_one_clean_pull_is_found_with_everything_known_of_it() -> None:
    pull = one(stream(hand()))
    assert pull.direction == "clockwise"
    assert (pull.maximum, pull.maximum_text) == (Decimal("98.00"), "98.00")
    assert (pull.first_peak, pull.first_peak_text) == (Decimal("98.00"), "98.00")
    assert pull.invalid == pull.warning == pull.cross_check == ""
    assert pull.own_peak is None
    assert pull.period_ms == Decimal("10.000")
    assert pull.under_read_bound == Decimal("1.96")
    assert pull.started == at(320), "the last sample below 5 N·m"
    assert pull.ended == at(900), "the first sample below 2.5 N·m"
    assert pull.sample_count == len(pull.trace) == 59
    assert pull.trace[0] == (0, "3.92")
    assert pull.trace[-1] == (580, "0.00")


def test_an_anticlockwise_pull_has_negative_peaks() -> None:
    pull = one(stream(hand(sign=-1)))
    assert pull.direction == "anticlockwise"
    assert pull.maximum == pull.first_peak == Decimal("-98.00")
    assert pull.maximum_text == "-98.00"
    assert pull.under_read_bound == Decimal("1.96")


def test_a_click_and_the_pull_beyond_it_are_one_pull_with_both_peaks() -> None:
    texts = line((0, 0), (100, 0), (600, 90), (610, 76.5), (800, 95), (900, 0), (1300, 0))
    pull = one(stream(texts))
    assert pull.first_peak_text == "90.00"
    assert pull.maximum_text == "95.00"


def test_easing_off_slowly_is_no_click() -> None:
    texts = line((0, 0), (100, 0), (600, 50), (1600, 30), (2100, 95), (2200, 0), (2600, 0))
    pull = one(stream(texts))
    assert pull.first_peak_text == pull.maximum_text == "95.00"


def test_a_plateau_is_one_pull_and_keeps_the_digits_of_its_first_sample() -> None:
    texts = [*line((0, 0), (100, 0), (500, 80)), "80.0", *["80.00"] * 100, *line((0, 0), (300, 0))]
    pull = one(stream(texts))
    assert pull.maximum_text == pull.first_peak_text == "80.0"


def test_a_rise_is_no_pull_until_it_is_released() -> None:
    texts = line((0, 0), (100, 0), (600, 90), (1000, 90))
    state, found = feed_all(PullState(), stream(texts), PLAIN)
    assert found == ()
    assert state.live.held == "90.00"
    assert flush(state, at(1500).mono_ns, PLAIN) == (state, ()), "a short silence ends nothing"
    lost, out = flush(state, at(3100).mono_ns, PLAIN)
    assert [each.invalid for each in out if isinstance(each, FoundPull)] == ["the stream ended inside the pull"]
    assert flush(state, None, PLAIN)[1] == out
    assert flush(lost, None, PLAIN)[1] == ()


def test_a_released_pull_is_told_once_the_release_has_lasted() -> None:
    arrivals = stream(hand(rest_ms=200))
    state, found = feed_all(PullState(), arrivals, PLAIN)
    assert found == ()
    state, found = feed(state, sample(1100, "0.00"), PLAIN)
    assert [type(each) for each in found] == [FoundPull]
    assert state.rise is None


def test_the_live_value_is_the_present_one_and_the_largest_so_far() -> None:
    state, _ = feed_all(PullState(), stream(line((0, 0), (50, 0), (500, 90), (700, 70))), PLAIN)
    assert (state.live.text, state.live.unit, state.live.held) == ("71.00", "N·m", "90.00")
    state, _ = feed_all(state, stream(["0.10"] * 50, start_ms=700), PLAIN)
    assert (state.live.text, state.live.held) == ("0.10", None)
    assert PullState().live.text is None


def test_a_hand_that_rests_on_the_wrench_does_not_prolong_the_pull() -> None:
    pull = one(stream([*hand(rest_ms=0), "0.00", *["3.00"] * 200]))
    assert pull.ended == at(900)
    assert pull.trace[-1] == (580, "0.00")


def test_a_wiggle_within_the_noise_is_no_click() -> None:
    pull = one(stream(["0.00", "6.00", "5.60", *["6.20"] * 20, *["0.00"] * 30]))
    assert pull.first_peak_text == "6.20", "a fall of 0.4 N·m is a share of 7 %, but less than six deviations"
    assert one(stream(["0.00", "6.00", "5.40", *["6.20"] * 20, *["0.00"] * 30])).first_peak_text == "6.00"


def test_two_pulls_are_two() -> None:
    found = run(stream(hand(top=60) + hand(top=98)))
    assert [each.maximum_text for each in found if isinstance(each, FoundPull)] == ["60.00", "98.00"]
    assert len(found) == 2


@pytest.mark.parametrize("sign", [1, -1])
def test_a_small_torque_is_pulled_the_way_it_is(sign: int) -> None:
    texts = line((0, 0), (100, 0), (500, 0.9), (600, 0), (900, 0), sign=sign)
    found = one(stream(texts), replace(PLAIN, start=Decimal("0.5")))
    assert (found.maximum, found.direction) == (sign * Decimal("0.90"), "clockwise" if sign > 0 else "anticlockwise")


def test_the_other_way_round_at_once_is_another_pull() -> None:
    texts = line((0, 0), (100, 0), (600, 60)) + line((0, -60), (500, -70), (600, 0), (900, 0))
    found = run(stream(texts))
    pulls = [each for each in found if isinstance(each, FoundPull)]
    assert len(pulls) == len(found) == 2
    assert [each.direction for each in pulls] == ["clockwise", "anticlockwise"]
    assert [each.maximum_text for each in pulls] == ["58.80", "-70.00"]
    assert [each.invalid for each in pulls] == ["", ""]


# --- the zero ---------------------------------------------------------------------------------------------------------


def test_a_wrench_off_zero_at_rest_is_warned_of_until_it_is_zeroed() -> None:
    state, _ = feed_all(PullState(), stream(["1.00"] * 100), PLAIN)
    assert state.warning == "", "the band includes its limit"
    state, _ = feed_all(state, stream(["3.10"] * 50, start_ms=1000), PLAIN)
    assert state.warning == "", "a touch is not an offset"
    state, _ = feed_all(state, stream(["3.10"] * 2, start_ms=1500), PLAIN)
    assert state.warning == "The wrench reads 3.10 N·m at rest: zero the wrench."
    assert feed(state, sample(1520, "3.20"), PLAIN)[0].warning == "The wrench reads 3.20 N·m at rest: zero the wrench."
    state, found = feed_all(state, stream([*hand()[31:], *["0.00"] * 30], start_ms=1520), PLAIN)
    pulls = [each for each in found if isinstance(each, FoundPull)]
    assert [bool(each.warning) for each in pulls] == [True]
    assert state.warning == ""


def test_rest_values_before_and_after_a_pull_do_not_add_up_to_an_offset() -> None:
    texts = [*["0.00"] * 10, *["1.50"] * 40, *hand()[31:91], *["1.50"] * 45]
    state, found = feed_all(PullState(), stream(texts), PLAIN)
    assert [type(each) for each in found] == [FoundPull]
    assert state.warning == ""


def test_an_offset_between_rest_and_start_makes_no_pull() -> None:
    assert run(stream(["3.10", "4.90", "-4.99"] * 300)) == ()


# --- knocks -----------------------------------------------------------------------------------------------------------


def test_a_knock_is_told_as_a_knock() -> None:
    found = run(stream(["0.00"] * 20 + ["250.00"] * 8 + ["0.00"] * 60))
    assert [type(each) for each in found] == [Knock]
    assert isinstance(found[0], Knock)
    assert found[0].reason == "a knock: up for 70 ms only"
    assert found[0].maximum == Decimal("250.00")
    assert len(found[0].trace) == 10


def test_a_knock_of_one_sample_was_up_for_no_time() -> None:
    (knock,) = run(stream(["0.00"] * 5 + ["60.00"] + ["0.00"] * 60))
    assert isinstance(knock, Knock)
    assert knock.reason == "a knock: up for 0 ms only"


def test_a_rattle_of_knocks_is_no_pull_though_it_lasts() -> None:
    found = run(stream(["0.00"] * 5 + (["40.00"] * 2 + ["0.00"] * 8) * 10 + ["0.00"] * 40))
    assert [type(each) for each in found] == [Knock]


def test_the_ringing_after_the_release_stays_in_its_pull() -> None:
    ringing = ["0.00"] * 10 + ["12.00"] * 3 + ["0.00"] * 5 + ["8.00"] * 2 + ["0.00"] * 60
    pull = one(stream([*hand(rest_ms=0), *ringing]))
    assert pull.maximum_text == "98.00"
    assert pull.invalid == ""


def test_a_bounce_that_is_over_within_the_dead_time_is_no_pull() -> None:
    bounce = ["0.00"] * 15 + ["-30.00"] * 10 + ["0.00"] * 60
    found = run(stream([*hand(rest_ms=0), *bounce]))
    assert [type(each) for each in found] == [FoundPull, Knock]
    assert isinstance(found[1], Knock)
    assert found[1].reason == "the bounce after a pull"
    held = run(stream([*hand(rest_ms=0), *["0.00"] * 15, *["-30.00"] * 20, *["0.00"] * 60]))
    assert [type(each) for each in held] == [FoundPull, FoundPull], "what outlasts the dead time is a pull"


def test_a_pull_of_two_samples_has_the_time_between_them_and_one_of_one_has_none() -> None:
    two = one(stream(["0.00", "60.00"], period_ms=12.5))
    assert (two.sample_count, two.period_ms, two.invalid) == (2, Decimal("12.500"), "the stream ended inside the pull")
    alone = one(stream(["60.00"]))
    assert (alone.sample_count, alone.period_ms) == (1, None)


def test_the_live_view_before_anything_arrived_and_after_the_stream_ended() -> None:
    assert PullState().live == Live(None, "", None)
    state, _ = feed_all(PullState(), stream(["0.10"]), PLAIN)
    assert state.live == Live("0.10", "N·m", None)
    assert flush(state, None, PLAIN)[0].live == Live(None, "", None)


def test_a_pull_knows_its_tool_its_unit_and_how_it_was_understood() -> None:
    learned = [replace(each, source="typed") if n > 5 else each for n, each in enumerate(stream(hand()))]
    pull = one(learned)
    assert (pull.tool, pull.unit, pull.source) == ("W1", "N·m", "typed")
    knock = run([replace(each, source="typed") for each in stream(["0.00"] * 9 + ["250.00"] * 3 + ["0.00"] * 60)])[0]
    assert isinstance(knock, Knock)
    assert (knock.tool, knock.unit, knock.source, knock.own_peak) == ("W1", "N·m", "typed", None)
    assert (knock.started, knock.ended) == (at(80), at(120))
    assert knock.trace == ((0, "0.00"), (10, "250.00"), (20, "250.00"), (30, "250.00"), (40, "0.00"))
