import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from logger import events as ev
from logger.advice.advice import advise, predict
from logger.advice.plan import REREAD, STANDS, expected_after, flats_text, plan
from logger.job.happened import happened
from logger.job.prompt import Prompt
from logger.sheets.drive import drive_of
from tests.logger.walk import SMALL, Walk, answer, described, sheet_of, shipped, small
from tui import lines


def _at_adjust(*readings: str) -> Walk:
    """The shipped sheet with these readings of slack (two halves each, tightest then opposite) and sides."""
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    return walk.read(*readings)


def _slack_45(left: str = "36.0 mm", right: str = "36.0 mm") -> Walk:
    return _at_adjust("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm", left, right)


def test_nothing_is_planned_but_at_an_adjust_prompt() -> None:
    walk = _at_adjust("100.0 mm", "145.0 mm")
    assert walk.plan is None
    assert small(upto="measure:gap").plan is None


def test_nothing_is_planned_on_a_sheet_without_geometry() -> None:
    text = SMALL[: SMALL.index("[drive]")] + SMALL[SMALL.index("[[due]]") :]
    walk = Walk(sheet_of(text)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm")
    assert walk.key == "loosen:adjust"
    assert walk.plan is None


def test_the_plan_is_worked_out_from_what_was_read() -> None:
    found = _slack_45("36.2 mm").plan
    assert found is not None
    assert found.before.slack == {"tightest": "45.000", "opposite": "47.000"}
    assert found.before.difference == "0.200"
    assert found.given is not None
    assert (found.given.governing, found.given.aim_mm) == ("tightest", Fraction(32))
    assert found.given.window_mm == (Fraction(25), Fraction(40))
    assert found.given.agree_within_mm == Fraction(1, 2)
    assert found.advice == advise(found.given)
    assert (found.rounds, found.stop, found.came_out) == (0, "", {})


def test_a_reading_in_inches_is_planned_with_in_millimetres() -> None:
    walk = _at_adjust().read("4.000 in", "5.800 in", "4.000 in", "5.800 in", "1.5000 in", "1.5000 in", tool="C2")
    found = walk.plan
    assert found is not None
    assert found.before.slack["tightest"] == "45.720"
    assert found.before.difference == "0.000"


def test_the_plan_is_the_same_before_and_after_the_loosening_it_asks_for() -> None:
    walk = _slack_45()
    before = walk.plan
    walk.confirm()
    assert walk.verdict("slack.tightest") == "stale"
    assert walk.key == "turn:adjust"
    assert walk.plan == before


def test_a_place_that_was_not_read_again_keeps_its_distance_from_the_governing_one() -> None:
    walk = _slack_45().confirm().turned("1", "1").confirm()
    walk.read("100.0 mm", "143.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.before.slack["tightest"] == "43.000"
    assert Decimal("44.5") < Decimal(found.before.slack["opposite"]) < Decimal("45.5")
    assert found.rounds == 1


def test_what_was_expected_stands_beside_what_was_measured() -> None:
    walk = _slack_45().confirm()
    expected = walk.plan
    assert expected is not None
    assert expected.given is not None
    walk.turned("1", "1").confirm()
    turn = walk.job.turns[-1]
    assert turn.expected is not None
    walk.read("100.0 mm", f"{100 + Decimal(turn.expected.slack['tightest']) + 1} mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    slack = found.came_out["slack"]
    assert (slack.outcome, round(slack.off_mm, 1)) == ("agrees", 1.0)
    assert found.came_out["difference"].outcome == "agrees"


def test_a_machine_that_answers_the_other_way_round_stops_the_advice_until_it_is_read_again() -> None:
    walk = _slack_45("37.5 mm").confirm()
    walk.turned("0", "4").confirm()  # right rearward: left minus right should fall from 1.5 to 0.8
    walk.read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.came_out["difference"].outcome == "opposite"
    assert found.advice is None
    assert "left and right may be swapped" in found.stop
    walk.back("doubtful").read("36.0 mm")
    assert _stopped(walk) == "take back what was read since"  # of one side alone, nothing is known
    for _ in range(3):
        walk.back("doubtful")
    walk.read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    assert _stopped(walk) == "it was read again and stands"  # no slip of the hand: the machine is the other way round
    for _ in range(3):
        walk.back("read wrong")
    walk.read("100.0 mm", "142.0 mm", "36.8 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.advice is not None


def _stopped(walk: Walk) -> str:
    """Why nothing is advised: what is to be done about it."""
    found = walk.plan
    assert found is not None
    assert found.advice is None
    said = (REREAD, STANDS)
    return next(each for each in said if found.stop.endswith(each)).partition(":")[0].partition(",")[0]


def _the_other_way_round() -> Walk:
    """The sides came out the other way round, and stand after all was read again."""
    walk = _slack_45("37.5 mm").confirm()
    walk.turned("0", "4").confirm().read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    for _ in range(3):
        walk.back("doubtful")
    return walk.read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")


def test_turns_that_tell_nothing_do_not_start_the_advice_again() -> None:
    walk = _the_other_way_round().turned("0", "0").confirm()
    walk.read("100.0 mm", "143.0 mm", "100.0 mm", "145.0 mm", "38.3 mm", "36.0 mm")
    assert _stopped(walk) == "take back what was read since"


def test_a_turning_of_ones_own_that_comes_out_right_starts_the_advice_again() -> None:
    walk = _the_other_way_round().turned("0", "4")
    turn = walk.job.turns[-1]
    assert turn.expected is not None
    assert turn.expected.difference == "1.63"
    walk.confirm().read("100.0 mm", "136.0 mm", "100.0 mm", "138.0 mm", "37.6 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.came_out["difference"].outcome == "agrees"
    assert found.advice is not None


def test_a_run_that_should_be_taut_and_grew_is_the_other_way_round() -> None:
    walk = _at_adjust("100.0 mm", "117.0 mm", "100.0 mm", "118.0 mm", "36.0 mm", "36.0 mm").confirm()
    walk.turned("2", "2")
    turn = walk.job.turns[-1]
    assert turn.expected is not None
    assert (turn.expected.slack, turn.expected.taut) == ({}, ("tightest", "opposite"))
    assert "The chain would run taut by that (tightest and opposite)" in happened(walk.job, walk.last)
    walk.confirm().read("100.0 mm", "122.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.came_out["slack"].outcome == "opposite"
    assert found.came_out["slack"].counted == "the chain taut"
    assert found.advice is None


def test_turns_that_leave_slack_warn_of_nothing() -> None:
    walk = _slack_45().confirm().turned("1", "1")
    assert happened(walk.job, walk.last) == "Turned: left 1 flat tighter, right 1 flat tighter"


def test_a_carried_slack_is_named_so_and_has_the_digits_of_readings() -> None:
    walk = _slack_45()
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
    walk = _figures(_at_adjust(), accuracy="0.03 mm", resolution="0.01 mm")
    found = walk.read("100.00 mm", "145.00 mm", "100.00 mm", "147.00 mm", "36.00 mm", "36.00 mm").plan
    assert found is not None
    assert found.given is not None
    rounding = 0.01 / 6**0.5
    assert found.given.slack_u_mm == pytest.approx(math.hypot(0.8, rounding))
    assert found.given.difference_u_mm == pytest.approx(math.hypot(0.13, rounding))


def test_two_tools_on_two_sides_are_worth_less() -> None:
    walk = _at_adjust("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm")
    walk = _figures(
        _figures(walk, accuracy="0.15 mm", resolution="0.01 mm"), "C2", accuracy="0.15 mm", resolution="0.01 mm"
    )
    found = walk.read("36.00 mm").read("36.00 mm", tool="C2").plan
    assert found is not None
    assert found.given is not None
    assert found.given.difference_u_mm == pytest.approx((0.13**2 + 2 * 0.15**2 / 3 + 0.01**2 / 6) ** 0.5)


def test_a_machine_with_a_proven_offset_is_square_there() -> None:
    walk = _slack_45("37.0 mm")
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


# --- what the nut did -----------------------------------------------------------------------------------------------


def _after_torque(walk: Walk, up: str) -> Walk:
    """Go on to the first reading after the torque, and read the tightest place as `up`."""
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    return walk.read("100.0 mm", up)


def test_what_the_nut_did_is_shown_and_offered_but_not_used() -> None:
    walk = _slack_45().confirm().turned("2", "2").confirm()
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
    found = _slack_45().plan
    assert found is not None
    assert (found.shift, found.allowing, found.why_not, found.fitted) == (None, None, (), ())


# --- a chain past its limit -----------------------------------------------------------------------------------------


WEAR = """[[step]]
id = "wear"
kind = "measure"
title = "Chain wear"
tools = ["caliper"]
ask = "Pull it taut and measure."
pitches = 8
window = ["126 mm", "128.27 mm"]
[[step]]
id = "adjust"
"""


def test_a_chain_past_its_limit_is_not_adjusted() -> None:
    text = SMALL.replace('span = "538 mm"', 'span = "538 mm"\npitch = "15.875 mm"')
    walk = Walk(sheet_of(text.replace('[[step]]\nid = "adjust"\n', WEAR))).confirm()
    walk.read("45.0 mm", "32.0 mm", "32.0 mm", "129.0 mm")
    found = plan(walk.job, Prompt("turn", "adjust"))
    assert found is not None
    assert found.advice is None
    assert "not to be adjusted but replaced, together with both sprockets" in found.stop
    walk.override("wear")
    found = plan(walk.job, Prompt("turn", "adjust"))
    assert found is not None
    assert found.advice is not None
    assert "not to be adjusted but replaced" in found.advice.notes[-1]
    assert found.advice.notes[-1].endswith("it was overridden")


def test_a_value_that_is_not_plausible_though_read_twice_is_no_ground_for_turning() -> None:
    walk = _at_adjust("100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm")
    assert walk.verdict("slack.tightest") == "high"
    walk.read("100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.advice is None
    assert "slack.tightest is not plausible" in found.stop


def test_a_stop_for_a_strange_value_is_told_whole_and_names_what_is_carried() -> None:
    walk = _slack_45().confirm().turned("1", "1").confirm()
    found = walk.read("100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm", "36.0 mm", "36.0 mm").plan
    assert found is not None
    said = "slack.tightest is not plausible: take it back and measure again, or override slack.tightest"
    assert (found.stop, found.carried) == (said, ("opposite",))


def test_both_sides_have_to_be_read_again_before_a_surprise_stands() -> None:
    walk = _slack_45("37.5 mm").confirm().turned("0", "4").confirm().read("100.0 mm", "143.0 mm", "38.3 mm")
    walk.back("doubtful").back("doubtful").read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    assert _stopped(walk) == "take back what was read since", "the right side was read once only"


def test_of_sides_that_were_not_read_no_difference_is_expected() -> None:
    found = _slack_45().plan
    assert found is not None
    assert found.given is not None
    assert expected_after(found.given, 1, 1).difference == "0.00"
    assert expected_after(replace(found.given, difference_mm=None), 1, 1).difference is None


def test_an_implausible_place_that_was_overridden_is_left_out_of_the_advice() -> None:
    walk = _at_adjust("100.0 mm", "145.0 mm", "100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.stop.startswith("slack.opposite is not plausible")
    found = walk.override("slack.opposite").plan
    assert found is not None
    assert found.advice is not None
    assert list(found.before.slack) == ["tightest"]


def test_an_implausible_governing_place_that_was_overridden_leaves_nothing_to_work_from() -> None:
    walk = _at_adjust("100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm", "100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm")
    found = walk.override("slack.tightest").plan
    assert found is not None
    assert found.advice is None
    assert found.stop == "slack.tightest is not plausible, and nothing can be worked out from it"


def test_without_the_governing_slack_there_is_no_plan() -> None:
    walk = small(upto="measure:gap")
    assert plan(walk.job, Prompt("turn", "adjust")) is None


@pytest.mark.parametrize(
    ("flats", "text"),
    [
        (Fraction(0), "0"),
        (Fraction(10), "10"),
        (Fraction(1, 2), "0.5"),
        (Fraction(-5, 2), "-2.5"),
        (Fraction(-3), "-3"),
    ],
)
def test_flats_as_text(flats: Fraction, text: str) -> None:
    assert flats_text(flats) == text
