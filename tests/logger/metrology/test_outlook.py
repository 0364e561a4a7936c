"""Before the job begins: fitness of a resolution, what a tool leaves of a window, what tool would serve."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logger.metrology.conformity import GUARDED, SIMPLE, DecisionRule, decide
from logger.metrology.outlook import (
    acceptance_zone,
    outlook,
    outlook_words,
    resolution_fitness,
)
from logger.metrology.uncertainty import Amount, Budget, accuracy, stated
from logger.metrology.worth import ToolFigures, difference, reading_budget
from logger.units import Limits, margin

D = Decimal


def window(low: str, high: str) -> Limits:
    return Limits(Fraction(low), Fraction(high))


def torque_budget(percent: str, at: int = 100, **parts: Fraction) -> Budget:
    share = Amount(Fraction(percent) / 100, share=True)
    return Budget((accuracy(share, at, of_reference=True), *(stated(name, u) for name, u in parts.items())))


NARROW = window("95", "105")


@pytest.mark.parametrize(
    ("resolution", "limits", "fitness"),
    [
        ("0.01", window("25.39", "25.41"), "unfit"),
        ("1", window("30", "40"), "fit"),
        ("1.001", window("30", "40"), "coarse"),
        ("2.5", window("30", "40"), "coarse"),
        ("2.501", window("30", "40"), "unfit"),
        ("5", Limits(Fraction(30), None), "fit"),
        ("0", window("30", "30"), "fit"),
        ("0.01", window("30", "30"), "unfit"),
    ],
)
def test_a_resolution_against_its_window(resolution: str, limits: Limits, fitness: str) -> None:
    """Above a tenth a warning, above a quarter refused: common practice, no source."""
    assert resolution_fitness(D(resolution), limits) == fitness


@pytest.mark.parametrize(
    ("percent", "limits", "low", "high"),
    [
        ("4", window("95", "105"), 99.6, 100.4),
        ("2", window("95", "105"), 97.2, 102.6),
        ("4", window("90", "110"), 94.4, 105.1),
    ],
)
def test_what_a_wrench_leaves_of_a_torque_window(percent: str, limits: Limits, low: float, high: float) -> None:
    """Own arithmetic with w = 2u."""
    zone = acceptance_zone(limits, torque_budget(percent))
    assert zone is not None
    assert [float(end) for end in zone if end is not None] == pytest.approx([low, high], abs=0.06)


def test_the_zone_of_an_absolute_uncertainty_is_the_acceptance_limits() -> None:
    """Own torque window 90 to 106 with u = 1.2."""
    assert acceptance_zone(window("90", "106"), Budget((stated("all", D("1.2")),))) == window("92.4", "103.6")


def test_a_stated_guard_a_simple_rule_and_one_side() -> None:
    budget = torque_budget("2")
    assert acceptance_zone(NARROW, budget, SIMPLE) == NARROW
    assert acceptance_zone(NARROW, budget, DecisionRule("guarded", Fraction(1))) == window("96", "104")
    low = acceptance_zone(NARROW, budget, DecisionRule("guarded", sides="low"))
    both = acceptance_zone(NARROW, budget)
    assert low is not None
    assert both is not None
    assert (low.low, low.high) == (both.low, NARROW.high)
    assert acceptance_zone(Limits(None, Fraction(105)), budget) == Limits(None, both.high)


def test_a_share_that_grows_faster_than_the_reading_leaves_nothing() -> None:
    assert acceptance_zone(NARROW, torque_budget("80")) is None
    assert acceptance_zone(Limits(Fraction(1), None), torque_budget("80")) is None


@given(
    st.decimals(60, 140, places=2),
    st.decimals(0, 12, places=2),
    st.fractions(0, 4, max_denominator=50),
    st.sampled_from(["both", "low", "high"]),
)
def test_the_zone_holds_the_readings_that_will_be_decided_inside(
    value: Decimal, percent: Decimal, method: Fraction, sides: str
) -> None:
    assert sides in ("both", "low", "high")
    rule = DecisionRule("guarded", None, sides)  # type: ignore[arg-type]
    budget = torque_budget(str(percent), method=method)
    zone = acceptance_zone(window("80", "120"), budget, rule)
    inside = decide(value, window("80", "120"), budget.at(value), rule).word == "inside"
    room = Fraction(-1) if zone is None else margin(value, zone)
    assume(zone is None or abs(room) > D("0.00001"))
    assert inside is (room > 0)


@given(st.integers(1, 12), st.fractions(0, 4, max_denominator=50))
def test_each_end_of_the_zone_is_its_own_guard_away_from_the_limit(percent: int, method: Fraction) -> None:
    limits = window("50", "150")
    budget = torque_budget(str(percent), method=method)
    zone = acceptance_zone(limits, budget)
    assert zone is not None
    assert zone.low is not None
    assert zone.high is not None
    assert float(zone.low) - budget.at(zone.low).expanded == pytest.approx(50, abs=2e-6)
    assert float(zone.high) + budget.at(zone.high).expanded == pytest.approx(150, abs=2e-6)


# --- the sentence before the job ------------------------------------------------------------------------------------


def test_a_four_percent_wrench_can_hardly_decide_a_five_percent_window() -> None:
    found = outlook(NARROW, torque_budget("4"), GUARDED)
    assert found.word == "hardly"
    assert float(found.left or 0) == pytest.approx(0.075, abs=0.001)
    assert outlook_words(found, NARROW, "N·m") == (
        "Of the window 95.00 N·m to 105.00 N·m only ≈ 99.61 N·m to ≈ 100.35 N·m is left to aim at: "
        "a reading is worth no more than ±4.63 N·m.",
        "A tool of ±2.1 N·m (±2.1 %) or better would leave half of the window.",
    )


def test_a_tool_that_would_serve_does() -> None:
    found = outlook(NARROW, torque_budget("4"), GUARDED)
    better = Amount(Fraction(found.needed_accuracy or 0))
    served = outlook(NARROW, Budget((accuracy(better, 100),)), GUARDED)
    assert served.word == "decides"
    assert (served.left or 0) >= Fraction(1, 2)
    assert outlook_words(served, NARROW, "N·m") == ()


def test_a_six_percent_wrench_cannot_decide_it_at_all() -> None:
    found = outlook(NARROW, torque_budget("6"), GUARDED)
    assert found.word == "cannot"
    assert found.zone is None
    assert found.left == 0
    assert outlook_words(found, NARROW, "N·m")[0] == (
        "This tool cannot decide the window 95.00 N·m to 105.00 N·m: a reading is worth no more than ±6.95 N·m, "
        "and the guarded rule leaves nothing to aim at."
    )


def test_the_simple_rule_always_decides() -> None:
    assert outlook(NARROW, torque_budget("6")).word == "decides"


def test_no_tool_helps_where_the_method_is_too_rough() -> None:
    limits = window("30", "33")
    budget = reading_budget(ToolFigures(accuracy=Amount(Fraction("0.03"))), [D("31.5")], method_u=D("0.8"))
    found = outlook(limits, budget, GUARDED)
    assert found.word == "cannot"
    assert found.needed_u == D("0.37")
    assert outlook_words(found, limits, "mm")[1] == (
        "A more accurate tool alone would not serve: method, repeats and the rest must come below u = 0.37 mm."
    )


def test_two_tools_share_what_accuracy_may_cost_and_one_tool_needs_none() -> None:
    limits = window("-0.5", "0.5")
    rough = ToolFigures(accuracy=Amount(Fraction("0.5")))
    side = reading_budget(rough, [D("40")])
    two = outlook(limits, difference(side, side, same_tool=False), GUARDED)
    assert two.needed_accuracy == D("0.15"), "sqrt(3 / 2) of 0.125"
    assert outlook_words(two, limits, "mm")[1] == "A tool of ±0.15 mm or better would leave half of the window."
    assert outlook(limits, difference(side, side, same_tool=True), GUARDED).word == "decides"


def test_an_open_or_a_point_window_has_no_share() -> None:
    budget = torque_budget("4")
    assert outlook(Limits(Fraction(95), None), budget, GUARDED).word == "decides"
    point = outlook(window("95", "95"), budget, GUARDED)
    assert (point.word, point.left) == ("cannot", None)
    assert len(outlook_words(point, window("95", "95"), "N·m")) == 1


def test_a_guard_the_sheet_states_is_not_a_matter_of_the_tool() -> None:
    rule = DecisionRule("guarded", Fraction(6))
    found = outlook(NARROW, torque_budget("1"), rule)
    assert found.word == "cannot"
    assert len(outlook_words(found, NARROW, "N·m")) == 1


def test_a_share_or_a_worth_that_is_small_is_never_shown_as_nothing() -> None:
    limits = window("10", "10.01")
    found = outlook(limits, Budget((accuracy(Amount(Fraction("0.004")), 10),)), GUARDED)
    said = outlook_words(found, limits, "mm", 2)
    assert "a reading is worth no more than ±0.0046 mm" in said[0]
    assert said[1] == "A tool of ±0.0021 mm (±0.020 %) or better would leave half of the window."
