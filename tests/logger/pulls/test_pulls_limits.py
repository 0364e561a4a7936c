"""The limits of the settings by which pulls are found, included or not."""

from dataclasses import replace
from itertools import product

from logger.pulls.pulls import FoundPull, Knock, PullState, feed, flush

from .torque import PLAIN, at, feed_all, hand, one, run, sample, stream


def test_a_silence_of_just_the_gap_hides_nothing_and_a_longer_one_does() -> None:
    before, after = ["0.00", "20.00", *["60.00"] * 10], ["60.00", "20.00", *["0.00"] * 30]
    for silence, invalid in ((250, ""), (251, "a gap of 251 ms in the stream")):
        arrivals = [*stream(before), *stream(after, start_ms=110 + silence)]
        assert one(arrivals).invalid == invalid


def test_two_samples_at_one_moment_are_in_order() -> None:
    arrivals = stream(hand())
    arrivals.insert(60, sample(590, arrivals[59].text))
    assert one(arrivals).invalid == ""
    together = [sample(0, "0.00"), sample(0, "6.00"), *stream([*["60.00"] * 20, *["0.00"] * 40], start_ms=10)]
    assert [ms for ms, _ in one(together).trace[:3]] == [0, 0, 10]


def test_a_stream_is_lost_after_just_the_silence_agreed() -> None:
    state, _ = feed_all(PullState(), stream(["0.00", *["60.00"] * 20]), PLAIN)
    assert flush(state, at(200 + 1999).mono_ns, PLAIN)[1] == ()
    assert len(flush(state, at(200 + 2000).mono_ns, PLAIN)[1]) == 1


def test_a_rise_that_lasts_just_long_enough_is_a_pull() -> None:
    for samples, kind in ((8, Knock), (9, FoundPull)):  # 70 ms and 80 ms between the first and the last
        found = run(stream(["0.00"] * 5 + ["60.00"] * samples + ["0.00"] * 40))
        assert [type(each) for each in found] == [kind]


def test_a_bounce_that_ends_with_the_dead_time_is_one_and_a_moment_later_a_pull() -> None:
    for samples, kind in ((15, Knock), (16, FoundPull)):  # it falls 300 ms and 310 ms after the pull fell
        found = run(stream([*hand(rest_ms=0), *["0.00"] * 15, *["-30.00"] * samples, *["0.00"] * 60]))
        assert [type(each) for each in found] == [FoundPull, kind]


def test_a_wrench_is_pulled_for_no_longer_than_a_pull_lasts() -> None:
    short = replace(PLAIN, max_ms=500)
    for samples, invalid in ((50, ""), (51, "it never came back to rest: zero the wrench")):  # 490 ms and 500 ms
        found = run(stream(["0.00", *["40.00"] * (samples - 1), *["0.00"] * 40]), short)
        assert isinstance(found[0], FoundPull)
        assert found[0].invalid == invalid


def test_a_sample_at_start_begins_a_pull_and_one_at_rest_does_not_end_it() -> None:
    assert run(stream(["0.00", *["4.99"] * 30, *["0.00"] * 40])) == ()
    pull = one(stream(["0.00", *["5.00"] * 10, *["2.50"] * 10, *["2.49"] * 40]))
    assert (pull.maximum_text, pull.sample_count) == ("5.00", 22)
    turned = one(stream(["0.00", *["-5.00"] * 40, *["0.00"] * 40]))
    assert turned.direction == "anticlockwise"


def test_a_pull_the_other_way_begins_at_just_the_start() -> None:
    found = run(stream(["0.00", *["60.00"] * 20, *["-5.00"] * 40, *["0.00"] * 40]))
    assert [each.maximum_text for each in found if isinstance(each, FoundPull)] == ["60.00", "-5.00"]
    ends = [(each.started, each.ended, each.invalid) for each in found if isinstance(each, FoundPull)]
    assert ends == [(at(0), at(200), ""), (at(210), at(610), "")], "both in full: nothing is lost between them"
    stays = run(stream(["0.00", *["60.00"] * 20, *["-4.99"] * 40]))
    assert [each.maximum_text for each in stays if isinstance(each, FoundPull)] == ["60.00"]


def test_a_fall_within_the_time_of_a_click_is_one_and_a_slower_one_is_not() -> None:
    for held, first in ((9, "60.00"), (10, "90.00")):  # the fall of 6 N·m comes 100 ms and 110 ms after the top
        texts = ["0.00", "30.00", "60.00", *["59.90"] * held, "54.00", *["90.00"] * 5, *["0.00"] * 40]
        assert one(stream(texts)).first_peak_text == first


def test_a_fall_of_just_the_share_is_a_click() -> None:
    for low, first in (("57.00", "60.00"), ("57.01", "90.00")):
        texts = ["0.00", "30.00", "60.00", low, *["90.00"] * 8, *["0.00"] * 40]
        assert one(stream(texts)).first_peak_text == first


def test_a_fall_of_just_six_deviations_is_a_click() -> None:
    for low, first in (("5.40", "6.00"), ("5.41", "6.20")):
        texts = ["0.00", "6.00", low, *["6.20"] * 20, *["0.00"] * 30]
        assert one(stream(texts)).first_peak_text == first


def test_a_plateau_counts_its_click_from_when_it_was_last_at_the_top() -> None:
    texts = ["0.00", "30.00", *["60.00"] * 40, "50.00", *["90.00"] * 5, *["0.00"] * 40]
    assert one(stream(texts)).first_peak_text == "60.00"


def test_only_the_first_click_is_the_first_peak() -> None:
    texts = ["0.00", "30.00", "60.00", "50.00", "70.00", "60.00", "80.00", *["70.00"] * 8, *["0.00"] * 40]
    pull = one(stream(texts))
    assert (pull.first_peak_text, pull.maximum_text) == ("60.00", "80.00")


def test_a_rise_the_other_way_at_once_counts_from_its_first_sample() -> None:
    cases = [(8, "a knock: up for 70 ms only"), (9, "the bounce after a pull")]
    for (samples, reason), turned in product(cases, ("-60.00", "-5.00")):
        found = run(stream(["0.00", *["60.00"] * 20, *[turned] * samples, *["0.00"] * 40]))
        assert isinstance(found[1], Knock)
        assert found[1].reason == reason


def test_a_pull_does_not_begin_with_a_sample_of_the_other_way() -> None:
    pull = [each for each in run(stream(["0.00", "-5.00", *["60.00"] * 40, *["0.00"] * 40])) if type(each) is FoundPull]
    assert [(each.started, each.trace[0]) for each in pull] == [(at(20), (0, "60.00"))]


def test_a_wrench_is_off_zero_after_just_the_time_agreed_without_a_break() -> None:
    state, _ = feed_all(PullState(), stream(["3.10"] * 50), PLAIN)
    assert state.warning == "", "490 ms"
    assert feed(state, sample(500, "3.10"), PLAIN)[0].warning != ""
    broken, _ = feed_all(state, stream(["0.00", *["3.10"] * 50], start_ms=500), PLAIN)
    assert broken.warning == "", "it read zero between"
