"""What the value of a place is worth: figures of its tools, the method, the scatter of its repeats."""

import math

import pytest

from tests.logger.job.measuring import DIFFERENCE, WINDOW, expanded_of, u_of, walk_on
from tests.logger.walk import described


def test_what_nobody_stated_of_a_reading_is_not_made_up_from_its_digits() -> None:
    walk = walk_on().read("32.0 mm", kind="", source="typed")
    assert u_of(walk, "gap") == 0
    assert walk.verdicts["gap"].unknown == ("accuracy", "resolution", "calibration", "method", "repeats")


def test_a_stated_resolution_is_a_rectangle() -> None:
    """GUM F.2.2.1: a step of 0.1 mm is 0.028 868 mm."""
    walk = walk_on().say(described("C1", "caliper", accuracy="0 mm", resolution="0.1 mm")).read("32.0 mm")
    assert u_of(walk, "gap") == pytest.approx(0.028868, abs=1e-6)


def test_accuracy_resolution_calibration_and_method_add_in_squares() -> None:
    """GUM 5.1.2: a rectangle of 0.05, steps of 0.1, U = 0.04 with k = 2, and a method of 0.3 mm."""
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.3 mm"')
    walk.say(described("C1", "caliper", accuracy="0.05 mm", resolution="0.1 mm", calibration_u="0.04 mm"))
    walk.read("32.0 mm")
    assert u_of(walk, "gap") == pytest.approx(math.sqrt(0.05**2 / 3 + 0.1**2 / 12 + 0.02**2 + 0.3**2))
    assert walk.verdicts["gap"].unknown == ("repeats",)


def test_a_figure_in_inches_is_taken_into_the_readings_unit() -> None:
    walk = walk_on().say(described("C1", "caliper", accuracy="0 mm", resolution="0.01 in")).read("32.0 mm")
    assert u_of(walk, "gap") == pytest.approx(0.254 / math.sqrt(12))


def test_repeats_say_something_of_their_scatter_from_four_on() -> None:
    """Own vector: 30.2 30.5 30.1 30.4 30.3, s = 0.158 114, u = 0.070 711 (GUM 4.2.3); three of them say nothing."""
    values = ("30.2 mm", "30.5 mm", "30.1 mm", "30.4 mm", "30.3 mm")
    for count, u in ((5, 0.070710678), (3, 0.0)):
        walk = walk_on(f"{WINDOW}\nrepeats = {count}")
        walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm")).read(*values[:count])
        assert u_of(walk, "gap") == pytest.approx(u)
        assert ("repeats" in walk.verdicts["gap"].unknown) == (count < 4)


@pytest.mark.parametrize(("method", "k"), [("0 mm", 2.87), ("0.05 mm", 2.32), ("0.5 mm", 2.025)])
def test_what_rests_on_few_repeats_has_the_factor_of_student(method: str, k: float) -> None:
    """Five repeats have four degrees of freedom, GUM table G.2: 2.87; beside a large method, over 100: 2.025."""
    walk = walk_on(f'{WINDOW}\nrepeats = 5\nmethod_u = "{method}"')
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    walk.read("30.2 mm", "30.5 mm", "30.1 mm", "30.4 mm", "30.3 mm")
    assert expanded_of(walk, "gap") == pytest.approx(k * u_of(walk, "gap"))


def test_a_pair_of_few_repeats_has_the_factor_of_both() -> None:
    walk = walk_on(ends='agree_within = "0.5 mm"\nrepeats = 4').read("32.00 mm")
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    walk.read(*["36.0 mm", "36.1 mm", "36.2 mm", "36.1 mm"] * 2)
    assert expanded_of(walk, "ends.agreement") == pytest.approx(2.52 * u_of(walk, "ends.agreement")), "six degrees"


def test_one_tools_common_error_cancels_in_a_difference_and_two_tools_do_not() -> None:
    """Accuracy 0.3 mm; the method enters once, not twice (EA-4/02 for the squares, GUM F.1.2.3 for what is common)."""
    for second, u, assumed in (
        ("C1", 0.4, "one tool for both"),
        ("C2", math.sqrt(0.4**2 + 2 * 0.3**2 / 3), "two tools"),
    ):
        walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.4 mm"')
        for tool in ("C1", "C2"):
            walk.say(described(tool, "caliper", accuracy="0.3 mm", resolution="0 mm"))
        walk.read("100.00 mm").read("132.00 mm", tool=second)
        assert u_of(walk, "gap") == pytest.approx(u)
        assert walk.verdicts["gap"].assumed.startswith(assumed)


def test_of_a_relative_accuracy_the_share_of_the_difference_is_left() -> None:
    walk = walk_on(f"{DIFFERENCE}{WINDOW}")
    walk.say(described("C1", "caliper", accuracy="1 %", resolution="0 mm")).read("100.00 mm", "132.00 mm")
    assert u_of(walk, "gap") == pytest.approx(0.32 / math.sqrt(3))


@pytest.mark.parametrize(("second", "squares"), [("C1", 0.0), ("C2", 2 * 0.03**2 / 3)])
def test_a_pair_by_one_caliper_or_by_two(second: str, squares: float) -> None:
    walk = walk_on(ends='agree_within = "0.5 mm"\nmethod_u = "0.1 mm"').read("32.00 mm")
    for tool in ("C1", "C2"):
        walk.say(described(tool, "caliper", accuracy="0.03 mm", resolution="0.01 mm"))
    walk.read("36.00 mm").read("36.10 mm", tool=second)
    assert u_of(walk, "ends.agreement") == pytest.approx(math.sqrt(0.1**2 + 2 * 0.01**2 / 12 + squares))


def test_two_tools_in_one_value_count_as_the_less_certain_one() -> None:
    walk = walk_on(f"{WINDOW}\nrepeats = 2")
    for tool, off in (("C1", "0.03 mm"), ("C2", "0.3 mm")):
        walk.say(described(tool, "caliper", accuracy=off, resolution="0 mm"))
    walk.read("32.00 mm").read("32.10 mm", tool="C2")
    assert u_of(walk, "gap") == pytest.approx(0.3 / math.sqrt(3))
    assert walk.verdicts["gap"].assumed.startswith("two tools for one value")


def test_a_figure_that_cannot_be_read_counts_as_not_stated() -> None:
    walk = walk_on().say(described("C1", "caliper", accuracy="rather good", resolution="5 N·m")).read("32.0 mm")
    assert u_of(walk, "gap") == 0
    assert {"accuracy", "resolution"} <= set(walk.verdicts["gap"].unknown)


def test_a_verdict_carries_what_its_value_is_worth() -> None:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.3 mm"').say(described("C1", "caliper", accuracy="0.03 mm"))
    judged = walk.read("32.0 mm").verdicts["gap"]
    assert judged.budget is not None
    assert {part.name for part in judged.budget.components} >= {"accuracy", "method"}
    assert judged.decision is not None
    assert judged.decision.u == judged.budget.u
