"""Budgets of readings and of differences: which parts enter, which cancel, and what is said of it."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.metrology.uncertainty import Amount, Budget, accuracy, stated
from logger.metrology.worth import SAME_TOOL, TWO_TOOLS, ToolFigures, difference, reading_budget

D = Decimal
CALIPER = ToolFigures(
    accuracy=Amount(Fraction("0.03")), resolution=Fraction("0.01"), calibration=Amount(Fraction("0.02"))
)
WRENCH = ToolFigures(accuracy=Amount(Fraction("0.04"), share=True), resolution=Fraction("0.1"), of_reference=True)


def named(budget: Budget) -> dict[str, float]:
    return {part.name: part.u for part in budget.components}


def test_a_reading_lists_its_parts_by_name_and_what_nobody_stated() -> None:
    budget = reading_budget(CALIPER, [D("36.2")], method_u=D("0.8"))
    assert named(budget) == {
        "accuracy": pytest.approx(0.03 / math.sqrt(3)),
        "resolution": pytest.approx(0.01 / math.sqrt(12)),
        "calibration": pytest.approx(0.01),
        "method": pytest.approx(0.8),
    }
    assert budget.unknown == ("repeats",)
    assert budget.u == pytest.approx(math.hypot(0.03 / math.sqrt(3), 0.01 / math.sqrt(12), 0.01, 0.8))
    assert budget.k == 2


def test_a_tool_of_which_nothing_is_known_gives_no_figure_but_says_so() -> None:
    budget = reading_budget(ToolFigures(), [D("36.2")])
    assert budget.u == 0
    assert budget.unknown == ("accuracy", "resolution", "calibration", "method", "repeats")


def test_repeats_enter_from_four_on() -> None:
    values = [D("30.2"), D("30.5"), D("30.1"), D("30.4"), D("30.3")]
    assert named(reading_budget(CALIPER, values))["repeats"] == pytest.approx(0.070710678)
    assert "repeats" not in named(reading_budget(CALIPER, values[:3]))


def test_a_share_of_the_reading_is_of_the_mean() -> None:
    budget = reading_budget(WRENCH, [D("97"), D("99")])
    assert budget.components[0] == accuracy(Amount(Fraction("0.04"), share=True), 98, of_reference=True)
    assert named(budget)["accuracy"] == pytest.approx(98 * 0.04 / (1 - 0.04**2) / math.sqrt(3))


def test_no_reading_is_refused() -> None:
    with pytest.raises(BadInput, match="no reading"):
        reading_budget(CALIPER, [])


def test_two_independent_readings_of_expanded_uncertainty_0_03() -> None:
    """Own vector: sqrt(2) of one."""
    one = Budget((stated("all", D("0.015")),))
    assert difference(one, one, same_tool=False).expanded == pytest.approx(0.042426, abs=5e-7)


def test_one_tool_cancels_accuracy_and_calibration_but_not_the_rest() -> None:
    sides = [reading_budget(CALIPER, [D(value)], method_u=D("0.13")) for value in ("41.20", "40.90")]
    budget = difference(*sides, same_tool=True, names=("left", "right"))
    assert budget.u == pytest.approx(math.sqrt(2) * math.hypot(0.01 / math.sqrt(12), 0.13))
    assert named(budget)["accuracy"] == 0, "still listed, with nothing left of it"
    assert {"resolution, left", "resolution, right", "method, left", "method, right"} <= named(budget).keys()
    assert budget.assumed == SAME_TOOL


def test_two_tools_cancel_nothing() -> None:
    sides = [reading_budget(CALIPER, [D(value)], method_u=D("0.13")) for value in ("41.20", "40.90")]
    budget = difference(*sides, same_tool=False, names=("left", "right"))
    assert budget.u == pytest.approx(math.sqrt(2) * sides[0].u)
    assert {"accuracy, left", "accuracy, right", "calibration, left"} <= named(budget).keys()
    assert budget.assumed == TWO_TOOLS


def test_of_a_shared_percentage_the_share_of_the_difference_is_left() -> None:
    tool = ToolFigures(accuracy=Amount(Fraction("0.01"), share=True))
    budget = difference(reading_budget(tool, [D("80")]), reading_budget(tool, [D("50")]), same_tool=True)
    assert budget.u == pytest.approx(0.30 / math.sqrt(3))
    assert budget.at(60).u == pytest.approx(0.60 / math.sqrt(3)), "and it follows the difference"
    opposite = difference(reading_budget(tool, [D("80")]), reading_budget(tool, [D("-50")]), same_tool=True)
    assert opposite.u == pytest.approx(1.30 / math.sqrt(3)), "readings of opposite sign add up"
    apart = difference(reading_budget(tool, [D("80")]), reading_budget(tool, [D("50")]), same_tool=False)
    assert apart.at(60).u == apart.u == pytest.approx(math.hypot(0.8, 0.5) / math.sqrt(3))


def test_what_one_reading_alone_has_does_not_cancel() -> None:
    bare = reading_budget(ToolFigures(resolution=Fraction("0.01")), [D("40")])
    budget = difference(reading_budget(CALIPER, [D("41")]), bare, same_tool=True)
    assert named(budget)["accuracy, first"] == pytest.approx(0.03 / math.sqrt(3))
    assert "accuracy" in budget.unknown


def test_a_side_offset_enters_with_its_own_uncertainty() -> None:
    sides = [reading_budget(CALIPER, [D("41.20")]) for _ in range(2)]
    plain = difference(*sides, same_tool=True)
    with_offset = plain.plus(stated("side offset", D("0.05")))
    assert with_offset.variance == plain.variance + Fraction("0.0025")


@given(st.decimals(-100, 100, places=2), st.decimals(-100, 100, places=2), st.booleans())
def test_a_difference_is_never_worth_less_by_one_absolute_tool(first: Decimal, second: Decimal, same: bool) -> None:
    one, two = reading_budget(CALIPER, [first]), reading_budget(CALIPER, [second])
    budget = difference(one, two, same_tool=same)
    assert budget.variance == difference(two, one, same_tool=same).variance
    whole = one.variance + two.variance
    assert budget.variance < whole if same else budget.variance == whole
