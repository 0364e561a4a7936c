"""Fasteners that nobody loosened: confirmed untouched, pulled all the same, looked at again."""

import pytest

from logger.job.rules import WANTS
from tests.logger.job.torquing import AGAIN, why
from tests.logger.walk import answer, small


def test_a_fastener_nobody_loosened() -> None:
    walk = small(upto="untouched:bolts.left")
    assert walk.verdict("bolts.left") == "waiting"
    assert walk.confirm().verdict("bolts.left") == "done"


@pytest.mark.parametrize(
    ("pull", "verdict", "prompt"),
    [("20 N·m", "stale", "untouched:bolts.left"), ("40 N·m", "waiting", "slacken:bolts.left")],
)
def test_a_pull_on_a_fastener_that_was_confirmed_untouched(pull: str, verdict: str, prompt: str) -> None:
    """Below the window it stays where it was, to be looked at again; at the window it was torqued, not from loose."""
    event = small(upto="untouched:bolts.left").pull(pull).last
    walk = small(upto="untouched:bolts.right").say(event)
    assert walk.verdict("bolts.left") == verdict
    while walk.key.startswith("measure"):
        answer(walk)
    assert walk.key == prompt


def test_a_pull_over_the_window_on_an_untouched_fastener_latches() -> None:
    assert small(upto="untouched:bolts.left").pull("50 N·m").verdict("bolts.left") == "high"


def test_a_fastener_that_should_have_been_loosened_for_a_turning_is_loosened_and_torqued() -> None:
    judged = small(upto="close").turned().verdicts["bolts.left"]
    assert judged.verdict in WANTS
    assert judged.to_loosen


def test_a_fastener_that_nobody_loosened_says_what_it_wants() -> None:
    walk = small(upto="untouched:bolts.left")
    assert why(walk) == ("waiting", "confirm that it is untouched, or loosen it")
    assert why(walk.confirm()) == ("done", "not loosened, witness mark in line")
    tight = small(upto="untouched:bolts.left").pull("40.0 N·m")
    assert why(tight) == ("waiting", f"pulled to 40.0 N·m without being loosened: {AGAIN}")
    turned = "the adjusters were turned: loosen it, then torque it"
    assert why(small(upto="untouched:bolts.left").turned()) == ("waiting", turned)
    assert why(small(upto="close").turned()) == ("stale", turned)


def test_a_fastener_confirmed_untouched_is_looked_at_again_after_whatever_may_have_moved_it() -> None:
    again = ("stale", "confirm that it is untouched, or loosen it")
    unplaced = small(upto="close").pull("30 N·m")
    assert (why(unplaced), unplaced.verdicts["bolts.left"].to_loosen) == (again, False)
    undone = small(upto="untouched:bolts.left").pull("-12 N·m", anticlockwise=True).last
    walk = small(upto="untouched:bolts.right").say(undone)
    assert (why(walk), walk.verdicts["bolts.left"].to_loosen) == (again, False)
