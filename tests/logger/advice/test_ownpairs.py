"""What the nut did, as a job's own readings show it."""

from dataclasses import replace

import pytest

from logger.advice.advice import advise, predict
from tests.logger.advice.adjusting import slack_45
from tests.logger.walk import Walk, answer


def _after_torque(walk: Walk, up: str) -> Walk:
    """Go on to the first reading after the torque, and read the tightest place as `up`."""
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    return walk.read("100.0 mm", up)


def test_what_the_nut_did_is_shown_and_offered_but_not_used() -> None:
    walk = slack_45().confirm().turned("2", "2").confirm()
    walk.read("100.0 mm", "134.0 mm", "36.0 mm", "36.0 mm")
    walk = _after_torque(walk, "121.0 mm").read("100.0 mm", "122.5 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.given is not None
    assert found.shift is not None
    assert found.allowing is not None
    assert found.shift.slack_mm == pytest.approx(-13)
    assert (found.shift.tells, found.shift.nut.holds) == (True, True)
    assert found.given.nut is None
    assert found.advice == advise(found.given)
    # Read with the nut tight: what it did is in the reading, comes back when it is loosened, and comes again.
    turns = found.allowing.left, found.allowing.right
    assert found.allowing.expected_slack_mm["tightest"] == predict(found.given, *turns).expected_slack_mm["tightest"]
    assert found.came_out["slack"].measured_mm == 34  # as it was before the nut was tightened

    walk.confirm().turned("-2", "-2").confirm().read("100.0 mm", "145.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.given is not None
    assert found.shift is not None
    assert found.allowing is not None
    # Read with the nut snug: what it will do is still to come.
    assert not found.shift.nut.holds
    moved = found.given.drive.slack_after(45, found.shift.nut.movement_mm)
    assert predict(replace(found.given, nut=found.shift.nut), 0, 0).expected_slack_mm["tightest"] == moved
    assert found.allowing.axle_movement_mm < (found.advice.axle_movement_mm if found.advice else 0)


def test_no_shift_is_told_before_a_nut_was_tightened() -> None:
    found = slack_45().plan
    assert found is not None
    assert (found.shift, found.allowing, found.why_not, found.fitted) == (None, None, (), ())
