"""Attempts at a value, and what is taken back."""

import pytest

from logger import events as ev
from tests.logger.job.torquing import torqued
from tests.logger.walk import SMALL, Walk, answer, sheet_of, shipped, small

PAIRED = sheet_of(SMALL.replace('window = ["25 mm", "40 mm"]', 'window = ["25 mm", "40 mm"]\nrepeats = 3'))


def test_repeats_fill_one_attempt_then_another_begins() -> None:
    walk = Walk(PAIRED).confirm().read("32.0 mm", "32.1 mm", "32.2 mm")
    assert [len(attempt.taken) for attempt in walk.job.attempts[("gap", "")]] == [3]
    assert walk.key == "measure:ends.left"


def test_a_reading_after_a_withdrawal_joins_the_attempt_the_prompt_counts_on() -> None:
    sheet = sheet_of(SMALL.replace('window = ["25 mm", "40 mm"]', 'repeats = 3\nspread_within = "0.5 mm"'))
    walk = Walk(sheet).confirm().read("32.0 mm", "32.1 mm", "39.0 mm")
    assert walk.verdict("gap") == "unsteady"
    walk.read("32.2 mm")  # a second attempt, begun by mistake
    walk.back().back()
    assert (walk.prompt.number, walk.prompt.of) == (3, 3)
    walk.read("32.2 mm")
    assert walk.verdict("gap") == "inside"
    assert walk.verdicts["gap"].text == "32.1"


def test_a_withdrawn_attempt_falls_back_to_the_one_before_it_and_stays() -> None:
    walk = small(upto="measure:gap").read("45.0 mm", "32.0 mm", "32.0 mm").back().back()
    assert walk.key == "measure:ends.left"
    assert walk.verdict("gap") == "high"
    walk.back()
    assert walk.verdict("gap") == "waiting"
    assert [each.withdrawn for each in walk.job.attempts[("gap", "")][0].taken] == [True]


def test_an_attempt_before_a_disturbance_never_passes_again() -> None:
    walk = torqued()
    walk.read("32.0 mm").back()
    assert walk.verdict("gap") == "stale"


@pytest.mark.parametrize("halves", [1, 2])
def test_withdrawing_half_of_a_difference_withdraws_the_pair(halves: int) -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read(*["100.0 mm", "132.0 mm"][:halves])
    walk.back()
    assert all(each.withdrawn for each in walk.job.attempts[("slack", "tightest")][0].taken)
    assert walk.key == "measure:slack.tightest/taut down"


def test_withdrawing_the_first_half_by_number_withdraws_the_second_too() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    first = walk.read("100.0 mm").seq
    walk.read("132.0 mm").say(ev.TakenBack(of=first, why="wrong edge"))
    assert walk.job.attempts[("slack", "tightest")][0].live == ()
    assert walk.verdict("slack.tightest") == "waiting"


def test_a_half_that_was_disturbed_begins_anew() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm").loosened("axle_nut")
    assert walk.verdict("slack.tightest") == "stale"
    assert walk.key == "measure:slack.tightest/taut down"
    walk.read("101.0 mm", "133.0 mm")
    assert (walk.verdict("slack.tightest"), walk.verdicts["slack.tightest"].text) == ("inside", "32.0")


def test_back_goes_one_by_one_through_what_counts() -> None:
    walk = small(upto="measure:gap").read("32.0 mm", "30.0 mm")
    counted = walk.seq
    walk.duplicate("31.0 mm").note("a free note")
    assert walk.job.last_counted == counted
    walk.back()
    assert walk.job.last_counted == counted - 1
    walk.back()
    assert walk.job.last_counted == 0


def test_of_several_pulls_only_the_one_meant_is_taken_back() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("20 N·m").pull("40 N·m").back()
    assert [pull.withdrawn for pull in walk.job.fastener(("bolts", "left")).pulls] == [False, True]


def test_back_goes_one_by_one_through_pulls_too_and_leaves_out_what_nobody_asked_for() -> None:
    walk = torqued()
    first, second = (walk.job.fastener(("bolts", side)).pulls[-1].seq for side in ("left", "right"))
    while walk.key != "close":
        answer(walk)
    walk.say(ev.TakenBack(of=walk.job.last_counted, why="slipped"))
    walk.pull("20 N·m")
    assert not walk.job.fastener(("bolts", "right")).pulls[-1].asked
    while walk.job.last_counted > second:
        walk.back()
    assert walk.job.last_counted == second
    assert walk.back().job.last_counted == first


def test_a_reading_joins_the_last_attempt_and_leaves_the_others_as_they_were() -> None:
    sheet = sheet_of(SMALL.replace('window = ["25 mm", "40 mm"]', 'repeats = 3\nspread_within = "0.5 mm"'))
    walk = Walk(sheet).confirm().read("32.0 mm", "32.1 mm", "39.0 mm", "32.2 mm", "32.3 mm")
    taken = [[each.text for each in attempt.taken] for attempt in walk.job.attempts["gap", ""]]
    assert taken == [["32.0", "32.1", "39.0"], ["32.2", "32.3"]]
