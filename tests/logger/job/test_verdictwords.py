from typing import get_args

import pytest

from logger import events as ev
from logger.bench.decide import closing
from logger.job import verdictwords
from logger.job.rules import Judged
from tests.logger.walk import SMALL, Walk, answer, described, sheet_of, shipped, small


def test_each_verdict_has_a_shape_of_its_own() -> None:
    assert set(verdictwords.SHAPES) == set(get_args(ev.Verdict))
    assert len(set(verdictwords.SHAPES.values())) == len(verdictwords.SHAPES)


def test_a_verdict_as_a_line() -> None:
    walk = (
        small(upto="measure:gap").say(described("C1", "caliper", accuracy="0 mm", resolution="0.1 mm")).read("45.0 mm")
    )
    assert verdictwords.verdict_line(walk.job, walk.verdicts["gap"]) == (
        "▲ high       Belt sag 45.0 mm · margin -5.0 mm, U 0.058 mm, under 0.1 % inside"
    )
    assert verdictwords.verdict_line(walk.job, walk.verdicts["safe"]) == "✓ done       Belt locked out"
    line = verdictwords.verdict_line(walk.job, walk.verdicts["ends.agreement"])
    assert line == "○ waiting    Bearing position, agreement (left: not taken yet)"


def _settle(walk: Walk, check: str) -> str:
    event = closing(walk.job, walk.verdicts)
    assert isinstance(event, ev.CloseRefused)
    return next(each.settle for each in event.open if each.check == check)


def test_what_would_settle_each_kind_of_check() -> None:
    walk = small(upto="measure:gap")
    assert _settle(walk, "cap") == "Confirm Cap and paint line."
    assert _settle(walk, "gap") == "Measure Belt sag: not taken yet."
    assert _settle(walk, "bolts.left").startswith("Confirm untouched: Bearing bolts, left; or loosen")
    walk.read("45.0 mm", "32.0 mm", "33.0 mm")
    assert _settle(walk, "gap") == "Adjust, then measure Belt sag again, or override with a note."
    assert _settle(walk, "ends.agreement").startswith("Adjust, then measure Bearing position, agreement again")
    walk.confirm().turned().confirm().read("32.0 mm", "32.0 mm", "32.0 mm")
    assert _settle(walk, "bolts.left") == "Torque Bearing bolts, left into 36 N·m to 44 N·m."
    walk.pull("50 N·m")
    assert _settle(walk, "bolts.left") == (
        "Loosen Bearing bolts, left; Belt sag and Bearing position come first, then torque it into 36 N·m to 44 N·m."
    )


def test_what_settles_a_note_a_worn_part_and_a_disturbed_confirmation() -> None:
    walk = Walk(shipped())
    assert _settle(walk, "mileage") == "Write down Mileage."
    while walk.key != "measure:wear":
        answer(walk)
    walk.read("103.0 mm")
    assert _settle(walk, "wear").startswith("Take Chain wear over 8 pitches again, replace the part")
    walk.read("102.0 mm")
    while walk.key != "close":
        answer(walk)
    assert _settle(walk.loosened("axle_nut"), "pin") == "Confirm Split pin, witness marks again."


def test_what_settles_a_pair_names_the_side_and_its_reason_once() -> None:
    walk = small(upto="close")
    walk.loosened("bolts")
    judged = walk.verdicts["ends.agreement"]
    assert judged.verdict == "stale"
    said = "Measure Bearing position, left: disturbed since it was taken."
    assert verdictwords.settle(walk.job, judged) == said


def _guarded(reading: str) -> Walk:
    text = SMALL.replace('about = "', 'decision = "guarded"\nabout = "')
    walk = Walk(sheet_of(text.replace('aim = "32 mm"', 'aim = "32 mm"\nmethod_u = "0.45 mm"'))).confirm()
    return walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm")).read(reading)


@pytest.mark.parametrize(
    ("reading", "line"),
    [
        ("26.20 mm", "margin 1.20 mm, U 0.90 mm, 99.6 % inside, passes from 25.90 mm to 39.10 mm"),
        ("25.00 mm", "margin 0.00 mm, U 0.90 mm, 50.0 % inside, passes from 25.90 mm to 39.10 mm"),
        ("24.10 mm", "margin -0.90 mm, U 0.90 mm, 2.3 % inside, passes from 25.90 mm to 39.10 mm"),
    ],
)
def test_margin_uncertainty_and_chance_in_one_line(reading: str, line: str) -> None:
    walk = _guarded(reading)
    judged = walk.verdicts["gap"]
    assert verdictwords.worth_line(judged) == line
    assert verdictwords.verdict_line(walk.job, judged).endswith(f" · {line}")


def test_without_uncertainty_the_line_is_as_short_as_ever() -> None:
    walk = small(upto="measure:gap").say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    judged = walk.read("32.0 mm").verdicts["gap"]
    assert verdictwords.worth_line(judged) == "margin 7.0 mm"
    assert verdictwords.verdict_line(walk.job, judged) == "■ inside     Belt sag 32.0 mm"
    assert verdictwords.worth_line(walk.verdicts["safe"]) == ""


@pytest.mark.parametrize(("figure", "text"), [(1.6006, "1.6"), (0.05774, "0.058"), (12.3, "12"), (0.000123, "0.00012")])
def test_an_uncertainty_has_two_digits(figure: float, text: str) -> None:
    assert verdictwords.short(figure) == text


def _weighed(**stated: str) -> Judged:
    walk = Walk(sheet_of(SMALL.replace('aim = "32 mm"', 'aim = "32 mm"\nmethod_u = "0.8 mm"'))).confirm()
    told = {"tool": "C1", "tool_kind": "caliper", "stated_by": "toolbook"} | stated
    return walk.say(ev.ToolDescribed.model_validate(told)).read("38.5 mm").verdicts["gap"]


def test_without_a_stated_accuracy_u_is_at_least_that_and_the_chance_rests_on_it() -> None:
    assert verdictwords.worth_line(_weighed()) == "margin 1.5 mm, U at least 1.6 mm, 97.0 % inside if U is no more"
    assert verdictwords.worth_line(_weighed(accuracy="0.03 mm")) == "margin 1.5 mm, U 1.6 mm, 97.0 % inside"


def test_where_nothing_is_stated_there_is_neither_u_nor_chance() -> None:
    walk = small().confirm().read("38.5 mm")
    assert verdictwords.worth_line(walk.verdicts["gap"]) == "margin 1.5 mm"
    assert "U " not in verdictwords.verdict_line(walk.job, walk.verdicts["gap"])


def test_what_a_difference_rests_on_is_said() -> None:
    walk = small().confirm().read("32.0 mm", "36.0 mm", "36.0 mm")
    lines = verdictwords.warning_lines(walk.job, walk.verdicts["ends.agreement"])
    assert "Rests on: one tool for both: its accuracy and calibration errors are common and cancel." in lines
