"""What the advice starts from: readings by place, what they are worth, what the sheet asks for."""

import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from logger import events as ev
from logger.advice.plan import plan
from logger.sheets.drive import drive_of
from tests.logger.advice.adjusting import at_adjust, slack_45
from tests.logger.walk import SMALL, Walk, described, sheet_of
from tui import lines


def test_a_reading_in_inches_is_planned_with_in_millimetres() -> None:
    walk = at_adjust().read("4.000 in", "5.800 in", "4.000 in", "5.800 in", "1.5000 in", "1.5000 in", tool="C2")
    found = walk.plan
    assert found is not None
    assert found.before.slack["tightest"] == "45.720"
    assert found.before.difference == "0.000"


def test_a_place_that_was_not_read_again_keeps_its_distance_from_the_governing_one() -> None:
    walk = slack_45().confirm().turned("1", "1").confirm()
    walk.read("100.0 mm", "143.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.before.slack["tightest"] == "43.000"
    assert Decimal("44.5") < Decimal(found.before.slack["opposite"]) < Decimal("45.5")
    assert found.rounds == 1


def test_a_carried_slack_is_named_so_and_has_the_digits_of_readings() -> None:
    walk = slack_45()
    assert walk.plan is not None
    assert walk.plan.carried == ()
    walk.confirm().turned("1", "1").confirm().read("100.0 mm", "143.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.carried == ("opposite",)
    assert found.before.slack == {"tightest": "43.000", "opposite": "45.1"}


def _figures(walk: Walk, tool: str = "C1", **figures: str) -> Walk:
    return walk.say(ev.ToolDescribed(tool=tool, tool_kind="caliper", stated_by="toolbook", **figures))  # type: ignore[arg-type]


def test_the_advice_knows_what_the_readings_are_worth() -> None:
    # method 0.8 and 0.13 mm; two readings of a tool that counts in hundredths add 0.01 / sqrt 6 to each.
    walk = _figures(at_adjust(), accuracy="0.03 mm", resolution="0.01 mm")
    found = walk.read("100.00 mm", "145.00 mm", "100.00 mm", "147.00 mm", "36.00 mm", "36.00 mm").plan
    assert found is not None
    assert found.given is not None
    rounding = 0.01 / 6**0.5
    assert found.given.slack_u_mm == pytest.approx(math.hypot(0.8, rounding))
    assert found.given.difference_u_mm == pytest.approx(math.hypot(0.13, rounding))


def test_two_tools_on_two_sides_are_worth_less() -> None:
    walk = at_adjust("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm")
    walk = _figures(
        _figures(walk, accuracy="0.15 mm", resolution="0.01 mm"), "C2", accuracy="0.15 mm", resolution="0.01 mm"
    )
    found = walk.read("36.00 mm").read("36.00 mm", tool="C2").plan
    assert found is not None
    assert found.given is not None
    assert found.given.difference_u_mm == pytest.approx((0.13**2 + 2 * 0.15**2 / 3 + 0.01**2 / 6) ** 0.5)


def test_a_machine_with_a_proven_offset_is_square_there() -> None:
    walk = slack_45("37.0 mm")
    offset = ev.SideOffset(value="1.0 mm", u="0.2 mm", how="string along both wheels, 2 May")
    found = plan(replace(walk.job, side_offset=offset), walk.prompt)
    assert found is not None
    assert found.given is not None
    assert found.advice is not None
    assert found.given.offset_mm == 1
    assert found.given.difference_u_mm > 0.2
    assert found.advice.left == found.advice.right


@pytest.mark.parametrize(
    ("title", "named"),
    [
        ("Chain slack, middle of lower run", "slack"),
        ("Slack of the chain", "slack"),
        ("Chain sag, middle of lower run", "chain sag"),
        ("V-belt sag", "V-belt sag"),
    ],
)
def test_the_slack_is_called_what_the_title_of_its_step_calls_it(title: str, named: str) -> None:
    text = SMALL.replace('title = "Belt sag"', f'title = "{title}"')
    found = Walk(sheet_of(text)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").plan
    assert found is not None
    assert found.given is not None
    assert (found.called, found.given.called) == (named, named)
    said = " ".join(lines.advice(found))
    assert f"Expected after: {named} " in said
    assert f"Now: {named} 45.0 mm" in said
    assert named == "slack" or "slack" not in said


def test_sag_and_a_place_beside_the_middle_reach_the_geometry() -> None:
    text = SMALL.replace('slack = "gap"', 'slack = "gap"\nslack_is = "sag"\noff_centre = "100 mm"')
    found = Walk(sheet_of(text)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").plan
    assert found is not None
    assert found.given is not None
    drive = found.given.drive
    assert (drive.slack_kind, drive.off_centre_mm) == ("sag", 100)


def test_a_run_that_was_measured_gives_the_centre_of_known_teeth() -> None:
    teeth = 'span = "538 mm"\nfront_teeth = 15\nrear_teeth = 42\npitch = "12.7 mm"'
    table = sheet_of(SMALL.replace('span = "538 mm"', teeth)).drive
    assert table is not None
    assert drive_of(table).span_mm == pytest.approx(538)
    assert drive_of(table).cos_beta == pytest.approx(538 / math.hypot(538, (94.97 - 30.54) - 10.12), abs=2e-4)


def test_without_a_stated_method_a_forecast_may_stray_as_far_as_is_common() -> None:
    walk = Walk(sheet_of(SMALL)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm")
    assert walk.plan is not None
    assert walk.plan.given is not None
    assert (walk.plan.given.slack_u_mm, walk.plan.given.difference_u_mm) == (2.0, 0.2)


def test_of_a_guarded_decision_only_what_will_pass_is_gone_for() -> None:
    text = SMALL.replace('revision = "1"', 'revision = "1"\ndecision = "guarded"')
    text = text.replace('aim = "32 mm"', 'aim = "39.5 mm"\nmethod_u = "1.0 mm"\nguard = "3 mm"')
    walk = Walk(sheet_of(text)).say(described("C1", "caliper", accuracy="0.02 mm", resolution="0.01 mm"))
    found = walk.confirm().read("50.0 mm", "32.0 mm", "32.0 mm").plan
    assert found is not None
    assert found.given is not None
    assert found.advice is not None
    assert found.given.window_mm == (Fraction(28), Fraction(37))
    assert (found.advice.expected_slack_mm[""] or 0) <= 37


def test_an_implausible_place_that_was_overridden_is_left_out_of_the_advice() -> None:
    walk = at_adjust("100.0 mm", "145.0 mm", "100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.stop.startswith("slack.opposite is not plausible")
    found = walk.override("slack.opposite").plan
    assert found is not None
    assert found.advice is not None
    assert list(found.before.slack) == ["tightest"]


def test_an_implausible_governing_place_that_was_overridden_leaves_nothing_to_work_from() -> None:
    walk = at_adjust("100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm", "100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm")
    found = walk.override("slack.tightest").plan
    assert found is not None
    assert found.advice is None
    assert found.stop == "slack.tightest is not plausible, and nothing can be worked out from it"
