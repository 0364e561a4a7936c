"""The two sides of a pair against each other, and a machine's own side difference."""

from fractions import Fraction

import pytest

from logger import events as ev
from tests.logger.job.measuring import u_of, walk_on, with_offset
from tests.logger.job.torquing import why
from tests.logger.walk import SMALL, Walk, answer, described, sheet_of, small


def test_a_proven_side_difference_is_taken_off_before_the_sides_are_judged() -> None:
    walk = with_offset("0.60 mm", "0.05 mm").read("36.70 mm", "36.00 mm")
    judged = walk.verdicts["ends.agreement"]
    assert (judged.verdict, judged.text, judged.margin) == ("inside", "0.10", Fraction("0.40"))
    assert judged.reason == "read 0.70 mm, of which 0.60 mm is the machine's own"
    assert u_of(walk, "ends.agreement") == pytest.approx(0.05)
    assert with_offset("0.60 mm", "0.05 mm").read("36.00 mm", "36.00 mm").verdict("ends.agreement") == "uneven"
    assert with_offset("-0.02 in", "0 mm").read("35.50 mm", "36.00 mm").verdict("ends.agreement") == "inside"


def test_its_uncertainty_widens_the_guard_band() -> None:
    exact = described("C1", "caliper", accuracy="0 mm", resolution="0 mm")
    for u, verdict in (("0 mm", "inside"), ("0.1 mm", "unsure")):
        walk = with_offset("0 mm", u, decision="guarded").say(exact).read("36.40 mm", "36.00 mm")
        assert walk.verdict("ends.agreement") == verdict


def test_a_pair_in_inches_is_held_against_its_limit_in_inches() -> None:
    """0.5 mm is 0.019685 in, by the inch of 25.4 mm exactly (NIST SP 811)."""
    for right, verdict in (("1.4196 in", "inside"), ("1.4197 in", "uneven")):
        walk = walk_on().read("32.0 mm").read("1.4000 in", right, tool="C2")
        judged = walk.verdicts["ends.agreement"]
        assert (judged.verdict, judged.unit) == (verdict, "in")


def test_a_pair_has_the_digits_of_its_finer_reading_and_the_attempts_of_its_later_side() -> None:
    walk = walk_on().read("32.0 mm").read("36.2 mm", "36.05 mm")
    judged = walk.verdicts["ends.agreement"]
    assert (judged.text, judged.attempts) == ("0.15", 1)
    walk = walk_on().read("32.0 mm").read("36.25 mm", "36.2 mm")
    assert walk.verdicts["ends.agreement"].text == "0.05"


def test_a_pair_is_guarded_on_both_sides_whichever_side_of_a_window_the_sheet_guards() -> None:
    ends = 'agree_within = "0.5 mm"\nguard = "0.1 mm"\nguarded = "high"'
    for right, verdict in (("36.45 mm", "unsure"), ("36.40 mm", "inside"), ("35.55 mm", "unsure")):
        walk = walk_on(ends=ends, decision="guarded").override("gap").read("36.00 mm", right)
        assert walk.verdict("ends.agreement") == verdict


def test_of_a_pair_read_with_two_tools_both_are_named_where_nothing_is_stated() -> None:
    walk = walk_on(decision="guarded").override("gap").read("36.00 mm").read("36.00 mm", tool="C2")
    judged = walk.verdicts["ends.agreement"]
    assert judged.verdict == "waiting"
    assert judged.reason.startswith("nothing states how far C1 and C2 may be off")


def test_a_pair_is_never_rounded_onto_its_limit_also_where_it_does_not_decide() -> None:
    walk = walk_on(decision="guarded", ends='agree_within = "0.5 mm"\nrepeats = 3').override("gap")
    walk.read("36.6 mm", "36.5 mm", "36.5 mm", "36.0 mm", "36.0 mm", "36.0 mm")
    judged = walk.verdicts["ends.agreement"]
    assert (judged.verdict, judged.value, judged.text) == ("waiting", Fraction(8, 15), "≈ 0.53")


def test_what_should_be_known_of_either_side_is_told_once_with_the_pair() -> None:
    walk = walk_on().read("32.0 mm")
    said = {}
    for tool, battery in (("C1", 15), ("C2", 14)):
        walk.say(ev.ToolSeen(tool=tool, tool_kind="caliper", link="ready", battery=battery))
        said[tool] = f"the battery of {tool} is at {battery} %: change it soon"
    walk.read("36.0 mm").read("36.1 mm", tool="C2")
    assert walk.verdicts["ends.agreement"].warnings == (said["C1"], said["C2"])
    both = small(upto="measure:ends.left")
    both.say(ev.ToolSeen(tool="C1", tool_kind="caliper", link="ready", battery=15)).read("36.0 mm", "36.1 mm")
    assert both.verdicts["ends.agreement"].warnings == (said["C1"],)


@pytest.mark.parametrize(
    ("left", "right", "verdict", "text"),
    [
        ("36.2 mm", "36.7 mm", "inside", "-0.5"),
        ("36.70 mm", "36.2 mm", "inside", "0.50"),
        ("36.2 mm", "36.71 mm", "uneven", "-0.51"),
        ("36.71 mm", "36.2 mm", "uneven", "0.51"),
        ("36.2 mm", "36.2 mm", "inside", "0.0"),
    ],
)
def test_the_sides_agree_within_the_limit_included(left: str, right: str, verdict: str, text: str) -> None:
    walk = small(upto="measure:ends.left").read(left, right)
    judged = walk.verdicts["ends.agreement"]
    assert (judged.verdict, judged.text, judged.unit) == (verdict, text, "mm")
    assert judged.margin == Fraction(1, 2) - abs(Fraction(text))


def test_a_pair_without_a_window_has_no_check_per_place_and_asks_each_in_turn() -> None:
    walk = small(upto="measure:ends.left")
    assert "ends.left" not in walk.verdicts
    assert walk.read("36.2 mm").key == "measure:ends.right"
    assert walk.verdicts["ends.agreement"].reason == "right: not taken yet"


def test_a_pair_read_in_two_units_is_settled_whichever_tool_is_taken_again() -> None:
    for again in ("36.2 mm", "1.425 in"):
        walk = small(upto="measure:ends.left").read("1.425 in", tool="C2").read("36.2 mm")
        assert walk.verdict("ends.agreement") == "waiting"
        assert walk.key == "measure:ends.left"
        tool = "C2" if again.endswith("in") else "C1"
        walk.read(again, tool=tool)
        if again.endswith("in"):
            assert walk.key == "measure:ends.right"
            walk.read(again, tool=tool)
        assert walk.verdict("ends.agreement") == "inside"


def test_a_pair_with_a_window_judges_both() -> None:
    walk = Walk(
        sheet_of(SMALL.replace('agree_within = "0.5 mm"', 'window = ["30 mm", "40 mm"]\nagree_within = "0.5 mm"'))
    )
    while not walk.key.startswith("measure:ends"):
        answer(walk)
    walk.read("29.9 mm", "30.2 mm")
    assert [walk.verdict(f"ends.{each}") for each in ("left", "right", "agreement")] == ["low", "inside", "inside"]


def test_a_pair_is_as_stale_as_its_sides() -> None:
    walk = small(upto="measure:ends.left").read("36.2 mm", "36.3 mm").loosened("bolts")
    assert why(walk, "ends.agreement") == ("stale", "left: disturbed since it was taken")
