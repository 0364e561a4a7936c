from decimal import Decimal
from fractions import Fraction

import pytest

from logger.advice import advise
from logger.plan import flats_text, plan
from logger.prompt import Prompt
from tests.logger.walk import SMALL, Walk, answer, sheet_of, shipped, small


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
    found = _slack_45("36.4 mm").plan
    assert found is not None
    assert found.before.slack == {"tightest": "45.000", "opposite": "47.000"}
    assert found.before.difference == "0.400"
    assert found.given is not None
    assert (found.given.governing, found.given.aim_mm) == ("tightest", Fraction(32))
    assert found.given.window_mm == (Fraction(25), Fraction(40))
    assert found.given.agree_within_mm == Fraction(1, 2)
    assert found.advice == advise(found.given)
    assert (found.rounds, found.stop, found.came_out) == (0, "", {})


def test_a_reading_in_inches_is_planned_with_in_millimetres() -> None:
    found = _at_adjust("4 in", "5.8 in", "4 in", "5.8 in", "1.5 in", "1.5 in").plan
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
    walk.read("100.0 mm", "141.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.before.slack["tightest"] == "41.000"
    assert Decimal("42.5") < Decimal(found.before.slack["opposite"]) < Decimal("43.5")
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
    found = walk.plan
    assert found is not None
    assert found.advice is not None


def test_a_value_that_is_not_plausible_though_read_twice_is_no_ground_for_turning() -> None:
    walk = _at_adjust("100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm")
    assert walk.verdict("slack.tightest") == "high"
    walk.read("100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.advice is None
    assert "slack.tightest is not plausible" in found.stop


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
