"""What an answer says besides: a check let pass that was never taken, and both halves of a reading taken back."""

import pytest

from logger.job import named, words
from logger.job.happened import happened
from logger.job.untaken import untaken
from tests.logger.walk import Walk, answer, shipped, small


@pytest.mark.parametrize(
    ("check", "said"),
    [("gap", "was not taken"), ("bolts.left", "was not pulled"), ("cap", "was not confirmed")],
)
def test_an_override_of_what_was_never_taken_says_so(check: str, said: str) -> None:
    walk = small(upto="measure:gap")
    assert untaken(walk.job, check) == said
    walk.override(check)
    assert happened(walk.job, walk.last).endswith(f", which {said}")


def test_a_check_that_was_taken_needs_no_such_word() -> None:
    walk = small(upto="measure:gap").read("45.0 mm").override("gap")
    assert untaken(walk.job, "gap") == ""
    assert happened(walk.job, walk.last) == "Overridden by Robin: Belt sag"


def test_what_was_taken_back_was_not_taken() -> None:
    walk = small(upto="measure").read("45.0 mm").back("wrong edge")
    assert untaken(walk.job, "gap") == "was not taken"
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("22 N·m")
    assert untaken(walk.job, "bolts.left") == ""
    assert untaken(walk.back("slipped off").job, "bolts.left") == "was not pulled"


@pytest.mark.parametrize(
    ("sheet", "check", "grave"),
    [
        ("courier-chain", "brake", True),
        ("courier-chain", "axle_nut", True),
        ("parcel-conveyor", "locked", True),
        ("parcel-conveyor", "tightest", False),
    ],
)
def test_an_override_of_what_a_life_hangs_on_says_so_at_once(sheet: str, check: str, grave: bool) -> None:
    walk = Walk(shipped(sheet)).override(check)
    assert happened(walk.job, walk.last).startswith("NOT TO BE RIDDEN OR RUN. Overridden by Robin: ") == grave


@pytest.mark.parametrize(("check", "began"), [("brake", "NOT TO BE RIDDEN OR RUN: "), ("tightest", "Mind: ")])
def test_before_closing_an_override_is_told_with_its_weight(check: str, began: str) -> None:
    walk = Walk(shipped()).override(check)
    while walk.prompt.kind != "close":
        answer(walk)
    (told,) = words.detail(walk.job, walk.prompt)
    assert told.startswith(f"{began}{named.check_title(walk.job, check)} does not pass; Robin lets it: ")


def test_taking_back_a_half_of_a_difference_says_that_both_are_taken_again() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm", "132.0 mm").back("slipped")
    assert happened(walk.job, walk.last).endswith("it stays on the trail; both halves are taken again")
    assert walk.key.startswith("measure:slack.tightest")
    walk = small(upto="measure:gap").read("45.0 mm").back("slipped")
    assert happened(walk.job, walk.last).endswith("it stays on the trail")
