"""What is planned at an adjust prompt, and what stops the advice."""

from dataclasses import replace
from fractions import Fraction

import pytest

from logger.advice.advice import advise
from logger.advice.plan import expected_after, flats_text, plan
from logger.job.prompt import Prompt
from tests.logger.advice.adjusting import at_adjust, slack_45
from tests.logger.walk import SMALL, Walk, sheet_of, small


def test_nothing_is_planned_but_at_an_adjust_prompt() -> None:
    walk = at_adjust("100.0 mm", "145.0 mm")
    assert walk.plan is None
    assert small(upto="measure:gap").plan is None


def test_nothing_is_planned_on_a_sheet_without_geometry() -> None:
    text = SMALL[: SMALL.index("[drive]")] + SMALL[SMALL.index("[[due]]") :]
    walk = Walk(sheet_of(text)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm")
    assert walk.key == "loosen:adjust"
    assert walk.plan is None


def test_the_plan_is_worked_out_from_what_was_read() -> None:
    found = slack_45("36.2 mm").plan
    assert found is not None
    assert found.before.slack == {"tightest": "45.000", "opposite": "47.000"}
    assert found.before.difference == "0.200"
    assert found.given is not None
    assert (found.given.governing, found.given.aim_mm) == ("tightest", Fraction(32))
    assert found.given.window_mm == (Fraction(25), Fraction(40))
    assert found.given.agree_within_mm == Fraction(1, 2)
    assert found.advice == advise(found.given)
    assert (found.rounds, found.stop, found.came_out) == (0, "", {})


def test_the_plan_is_the_same_before_and_after_the_loosening_it_asks_for() -> None:
    walk = slack_45()
    before = walk.plan
    walk.confirm()
    assert walk.verdict("slack.tightest") == "stale"
    assert walk.key == "turn:adjust"
    assert walk.plan == before


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
    walk = at_adjust("100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm")
    assert walk.verdict("slack.tightest") == "high"
    walk.read("100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.advice is None
    assert "slack.tightest is not plausible" in found.stop


def test_a_stop_for_a_strange_value_is_told_whole_and_names_what_is_carried() -> None:
    walk = slack_45().confirm().turned("1", "1").confirm()
    found = walk.read("100.0 mm", "195.0 mm", "100.0 mm", "195.0 mm", "36.0 mm", "36.0 mm").plan
    assert found is not None
    said = "slack.tightest is not plausible: take it back and measure again, or override slack.tightest"
    assert (found.stop, found.carried) == (said, ("opposite",))


@pytest.mark.parametrize(("places", "check"), [("", "gap"), ('places = ["mark"]', "gap.mark")])
def test_without_the_only_slack_nothing_is_worked_out_also_when_it_was_let_pass(places: str, check: str) -> None:
    text = SMALL.replace('title = "Belt sag"', f'title = "Belt sag"\n{places}')
    walk = Walk(sheet_of(text)).confirm().read("95.0 mm", "95.0 mm", "32.0 mm", "32.0 mm")
    found = plan(walk.job, Prompt("turn", "adjust"))
    assert found is not None
    assert found.stop == f"{check} is not plausible: take it back and measure again, or override {check}"
    found = plan(walk.override(check).job, Prompt("turn", "adjust"))
    assert found is not None
    assert (found.given, found.stop) == (None, f"{check} is not plausible, and nothing can be worked out from it")
    assert (found.called, found.carried) == ("belt sag", ())


def test_of_sides_that_were_not_read_no_difference_is_expected() -> None:
    found = slack_45().plan
    assert found is not None
    assert found.given is not None
    assert expected_after(found.given, 1, 1).difference == "0.00"
    assert expected_after(replace(found.given, difference_mm=None), 1, 1).difference is None


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
