"""What workshops go by, tried on the main job: common practice, no source; in no sheet that is shipped."""

from fractions import Fraction

import pytest

from logger.job.measured import value_at
from logger.sheets.sheet import MeasureStep
from tests.logger.walk import SMALL, Walk, answer, sheet_of

TRADE = (
    SMALL.replace('window = ["25 mm", "40 mm"]\naim = "32 mm"', 'window = ["50 mm", "60 mm"]\naim = "55 mm"')
    .replace('plausible = ["5 mm", "90 mm"]', 'plausible = ["5 mm", "120 mm"]')
    .replace(
        'window = ["36 N·m", "44 N·m"]\naim = "40 N·m"', 'window = ["95 lbf·ft", "105 lbf·ft"]\naim = "100 lbf·ft"'
    )
    .replace('span = "538 mm"', 'span = "650 mm"')
)
"""A long-travel machine: slack of 50 to 60 mm on the centre stand, an axle nut of 95 to 105 lbf·ft set to 100."""


def _at_adjust(slack: str, left: str = "30.5 mm", right: str = "30.5 mm") -> Walk:
    return Walk(sheet_of(TRADE)).confirm().read(slack, left, right)


@pytest.mark.parametrize(
    ("slack", "verdict"), [("50 mm", "inside"), ("60 mm", "inside"), ("49.9 mm", "low"), ("60.1 mm", "high")]
)
def test_a_window_of_50_to_60(slack: str, verdict: str) -> None:
    assert Walk(sheet_of(TRADE)).confirm().read(slack).verdict("gap") == verdict


@pytest.mark.parametrize(
    ("left", "right", "verdict"), [("29.3 mm", "30.5 mm", "uneven"), ("30.5 mm", "30.5 mm", "inside")]
)
def test_a_pair_in_line_and_out_of_line(left: str, right: str, verdict: str) -> None:
    assert _at_adjust("55 mm", left, right).verdict("ends.agreement") == verdict


@pytest.mark.parametrize("slack", ["62 mm", "66 mm", "70 mm"])
def test_both_adjusters_are_turned_equally_flat_by_flat(slack: str) -> None:
    plan = _at_adjust(slack).plan
    assert plan is not None
    assert plan.advice is not None
    assert plan.advice.left == plan.advice.right > 0
    assert plan.advice.left.denominator == 1


def test_the_side_that_lags_is_brought_up_to_the_other() -> None:
    """29.3 and 30.5: the left is 1.2 mm behind, seven flats of a 1.0 mm thread and a little."""
    plan = _at_adjust("66 mm", "29.3 mm", "30.5 mm").plan
    assert plan is not None
    assert plan.advice is not None
    assert plan.advice.left - plan.advice.right in (7, 8)
    assert abs(plan.advice.expected_difference_mm) < Fraction(1, 6)


@pytest.mark.parametrize("slack", ["45 mm", "40 mm", "62 mm", "75 mm"])
def test_the_loose_side_is_the_safe_side(slack: str) -> None:
    """No advice leaves the chain tighter than the window, and one flat looser would not be nearer to the aim."""
    walk = _at_adjust(slack)
    plan = walk.plan
    assert plan is not None
    assert plan.advice is not None
    (expected,) = plan.advice.expected_slack_mm.values()
    assert expected is not None
    assert expected >= 50


@pytest.mark.parametrize(
    ("peak", "verdict"),
    [
        ("100 lbf·ft", "inside"),
        ("95 lbf·ft", "inside"),
        ("105 lbf·ft", "inside"),
        ("105.1 lbf·ft", "high"),
        ("135.6 N·m", "inside"),
        ("94.9 lbf·ft", "waiting"),
    ],
)
def test_an_axle_nut_of_95_to_105_set_to_100(peak: str, verdict: str) -> None:
    walk = _at_adjust("70 mm")
    while not walk.key.startswith("torque:"):
        if walk.key == "measure:gap":
            walk.read("55 mm")
        elif walk.prompt.kind == "measure":
            walk.read("30.5 mm")
        else:
            answer(walk)
    assert walk.pull(peak).verdict("bolts.left") == verdict


def test_repeats_of_a_workshop_caliper_differ_by_a_tenth() -> None:
    """Repeats within 0.1 mm are one value; a spread_within of twice that lets them pass, and 0.3 mm apart does not."""
    text = TRADE.replace(
        'places = ["left", "right"]', 'places = ["left", "right"]\nrepeats = 3\nspread_within = "0.2 mm"'
    )
    walk = (
        Walk(sheet_of(text)).confirm().read("55 mm", "30.5 mm", "30.6 mm", "30.5 mm", "30.4 mm", "30.5 mm", "30.5 mm")
    )
    assert walk.verdict("ends.agreement") == "inside"
    step = walk.sheet.by_id["ends"]
    assert isinstance(step, MeasureStep)
    assert value_at(walk.job, step, "left").value == Fraction("30.5") + Fraction(1, 30)
    apart = Walk(sheet_of(text)).confirm().read("55 mm", "30.5 mm", "30.8 mm", "30.5 mm")
    assert apart.verdict("ends.agreement") == "unsteady"
