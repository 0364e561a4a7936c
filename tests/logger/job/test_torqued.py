"""The verdict of a fastener: from loose, the first pull that takes it to its window decides."""

from fractions import Fraction

import pytest

from logger.units import unit_names
from tests.logger.job.torquing import AGAIN, both_loose, loose, why
from tests.logger.walk import SMALL, Walk, answer, bolted, sheet_of, small


@pytest.mark.parametrize(("pull", "verdict"), [("81.34", "waiting"), ("81.35", "inside"), ("97.62", "high")])
def test_a_torque_window_in_pounds_against_a_wrench_in_newton_metres(pull: str, verdict: str) -> None:
    """60 and 72 lbf·ft are 81.3491 and 97.6189 N·m (NIST SP 811: 1 lbf·ft = 1.355 817 948 331 400 4 N·m)."""
    walk = Walk(sheet_of(SMALL.replace('["36 N·m", "44 N·m"]', '["60 lbf·ft", "72 lbf·ft"]')))
    while walk.key != "untouched:bolts.left":
        answer(walk)
    walk.loosened("bolts.left")
    while walk.key != "torque:bolts.left":
        answer(walk)
    assert walk.pull(f"{pull} N·m").verdict("bolts.left") == verdict


@pytest.mark.parametrize(
    ("peak", "verdict"),
    [("35.99", "waiting"), ("36", "inside"), ("40.0", "inside"), ("44.00", "inside"), ("44.01", "high")],
)
def test_a_pull_from_loose_against_the_window(peak: str, verdict: str) -> None:
    judged = both_loose().pull(f"{peak} N·m").verdicts["bolts.left"]
    assert judged.verdict == verdict
    assert judged.to_loosen == (verdict == "high")


def test_pulls_below_the_window_are_the_run_up() -> None:
    walk = both_loose().pull("20 N·m").pull("35.5 N·m")
    assert walk.verdicts["bolts.left"].reason == "so far 35.5 N·m, still below the window"
    assert walk.key == "torque:bolts.left"
    assert walk.pull("39 N·m").verdict("bolts.left") == "inside"


def test_any_instant_above_latches_until_loosened() -> None:
    walk = both_loose().pull("43 N·m", host="44.2")
    assert walk.verdict("bolts.left") == "high"
    assert walk.verdicts["bolts.left"].margin == Fraction(-1, 5)
    walk.pull("40 N·m")
    walk.back().back()
    assert walk.verdict("bolts.left") == "high"
    walk.loosened("bolts.left")
    assert walk.verdict("bolts.left") == "waiting"


def test_a_re_hit_is_told_and_replaces_nothing() -> None:
    walk = both_loose().pull("40.5 N·m").pull("40.1 N·m")
    while walk.key != "close":
        answer(walk)
    walk.pull("43.9 N·m")
    judged = walk.verdicts["bolts.right"]
    assert (judged.verdict, judged.text) == ("inside", "40.1")
    assert "43.9 N·m" in judged.reason
    walk.pull("44.1 N·m")
    assert walk.verdict("bolts.right") == "high"


def test_an_unasked_pull_that_took_hold_needs_loosening_one_below_does_not() -> None:
    walk = both_loose().back()
    assert walk.key == "measure:ends.right"
    below = walk.pull("20 N·m").verdicts["bolts.left"]
    assert (below.verdict, below.to_loosen) == ("waiting", False)
    held = walk.pull("40 N·m").verdicts["bolts.left"]
    assert (held.verdict, held.to_loosen) == ("waiting", True)


def test_the_first_pull_that_takes_hold_decides() -> None:
    walk = both_loose()
    walk.pull("40 N·m", invalid="a gap of 400 ms in the stream")
    assert walk.key == "slacken:bolts.left"
    walk.pull("40 N·m")
    assert walk.verdict("bolts.left") == "waiting"
    walk.confirm()
    while not walk.key.startswith("torque"):
        answer(walk)
    assert walk.pull("40 N·m").verdict("bolts.left") == "inside"


def test_an_invalid_pull_that_stayed_below_is_pulled_again() -> None:
    walk = both_loose().pull("20 N·m", invalid="a gap of 400 ms in the stream")
    assert walk.key == "torque:bolts.left"
    assert "cannot be used" in walk.verdicts["bolts.left"].reason


def test_a_torqued_fastener_that_was_disturbed_is_loosened_and_torqued_again() -> None:
    walk = both_loose().pull("40 N·m").pull("40 N·m").turned().confirm()
    assert walk.verdict("bolts.left") == "stale"
    assert walk.verdicts["bolts.left"].to_loosen


def test_a_pull_in_a_unit_that_is_no_torque_judges_nothing() -> None:
    walk = both_loose().pull("400 mm")
    assert walk.verdict("bolts.left") == "waiting"
    assert not walk.verdicts["bolts.left"].to_loosen


@pytest.mark.parametrize("unit", unit_names(["torque"]))
def test_every_torque_unit_is_judged(unit: str) -> None:
    assert both_loose().pull(f"1000000 {unit}").verdict("bolts.left") == "high"


def test_a_loose_fastener_says_how_far_it_is() -> None:
    gap_in = "a gap of 400 ms in the stream"
    again = AGAIN
    assert why(both_loose()) == ("waiting", "loose, not torqued yet")
    assert why(both_loose().pull("20 N·m", invalid=gap_in)) == (
        "waiting",
        f"the last pull cannot be used ({gap_in}): pull again",
    )
    tight = "tight by a pull that does not count"
    assert why(both_loose().pull("40 N·m", invalid=gap_in)) == ("waiting", f"{tight} ({gap_in}): {again}")
    assert why(both_loose().back().pull("40 N·m")) == ("waiting", f"{tight} (nothing asked for it): {again}")
    assert why(both_loose().pull("40 N·m").back()) == ("waiting", f"{tight} (taken back): {again}")
    assert why(both_loose().pull("45 N·m")) == ("high", f"above the window: {again}")
    torqued = both_loose().pull("40 N·m")
    assert why(torqued) == ("inside", "")
    assert why(torqued.loosened("bolts.left")) == ("stale", "loosened since it was torqued")
    assert why(torqued.pull("20 N·m")) == ("waiting", "so far 20 N·m, still below the window")
    disturbed = both_loose().pull("40 N·m").pull("40 N·m").turned().confirm()
    assert why(disturbed) == ("stale", f"disturbed since it was torqued: {again}")


def test_every_re_hit_is_told_with_what_it_reached() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    while walk.key != "close":
        answer(walk)
    walk.pull("43.9 N·m").pull("30 N·m")
    said = "pulled again since, to 43.9 N·m, 30 N·m: the first pull stands"
    assert why(walk, "bolts.right") == ("inside", said)


def test_what_was_let_pass_asks_for_nothing_more() -> None:
    judged = both_loose().pull("45 N·m").override("bolts.left", note="seen by the foreman").verdicts["bolts.left"]
    assert (judged.verdict, judged.reason) == ("overridden", "Robin: seen by the foreman (was high)")
    assert not judged.to_loosen


def test_pulls_that_took_hold_or_went_over_are_the_attempts() -> None:
    walk = loose(bolted()).pull("20 N·m")
    assert walk.verdicts["bolts.left"].attempts == 0
    assert walk.pull("45 N·m").verdicts["bolts.left"].attempts == 1
    assert loose(bolted()).pull("40 N·m").verdicts["bolts.left"].attempts == 1
