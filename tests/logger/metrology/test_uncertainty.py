"""Components and budgets of uncertainty: each by its formula, combined exactly, and the root that becomes a guard band.

Published figures of whole budgets are in test_outside.py.
"""

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.metrology.uncertainty import (
    Amount,
    Budget,
    Component,
    accuracy,
    calibration,
    coverage_factor,
    repeats,
    resolution,
    root_up,
    stated,
    true_torque_interval,
    within,
)
from logger.units import parse_quantity

D = Decimal
figures = st.decimals(min_value=0, max_value=1000, places=4)


def amount(text: str, unit: str = "mm") -> Amount:
    return Amount.of(parse_quantity(text), unit)


@pytest.mark.parametrize(
    ("part", "u"),
    [
        (resolution(D("0.01")), 0.002886751),
        (resolution(D("0.02")), 0.005773503),
        (resolution(D("0.05")), 0.014433757),
        (resolution(D("0.1")), 0.028867513),
        (accuracy(amount("0.02 mm"), D("36.2")), 0.02 / math.sqrt(3)),
        (accuracy(amount("20 µm"), D("36.2")), 0.02 / math.sqrt(3)),
        (accuracy(amount("1 %"), D("50")), 0.5 / math.sqrt(3)),
        (accuracy(amount("1 %"), D("-50")), 0.5 / math.sqrt(3)),
        (calibration(amount("0.03 mm"), D("36.2")), 0.015),
        (calibration(amount("0.5 %"), D("80"), k=D("2.5")), 0.16),
        (stated("method", D("0.8")), 0.8),
        (within("a rectangle of half-width 4", 4), 2.309401),  # GUM 4.3.7, clause from memory
    ],
)
def test_a_component_by_its_formula(part: Component, u: float) -> None:
    assert part.u == pytest.approx(u, abs=5e-10, rel=5e-7)


def test_what_is_common_to_one_tool_and_what_is_not() -> None:
    assert accuracy(amount("0.02 mm"), 1).common
    assert calibration(amount("0.02 mm"), 1).common
    assert not resolution(1).common
    assert not stated("method", 1).common


def test_each_component_says_what_it_rests_on() -> None:
    assert accuracy(amount("0.02 mm"), 1).how == "±0.02, rectangular"
    assert accuracy(amount("4 %", "N·m"), 98).how == "±4 % of reading, rectangular"
    assert accuracy(amount("4 %", "N·m"), 98, of_reference=True).how == "±4 % of the true torque, rectangular"
    assert calibration(amount("0.03 mm"), 1).how == "U = 0.03, k = 2"
    assert resolution(D("0.01")).how == "0.01 / √12"


UNSIGNED = "Write how large it is, without a sign."


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (
            lambda: amount("-0.02 mm"),
            "-0.02 mm is negative. Write how far a reading may be off, without a sign.",
        ),
        (lambda: accuracy(Amount(Fraction(-1)), 1), f"The accuracy of -1 is negative. {UNSIGNED}"),
        (
            lambda: accuracy(Amount(Fraction(-1, 10), share=True), 1, of_reference=True),
            "A torque accuracy of -10% says nothing. Write less than 100 %, such as 4 %.",
        ),
        (lambda: resolution(D("-0.01")), f"The resolution of -0.01 is negative. {UNSIGNED}"),
        (lambda: stated("method", D("-0.8")), f"The method of -0.8 is negative. {UNSIGNED}"),
        (lambda: within("sampling", -1), f"The sampling of -1 is negative. {UNSIGNED}"),
        (lambda: calibration(Amount(Fraction(-1)), 1), f"The calibration of -1 is negative. {UNSIGNED}"),
        (
            lambda: calibration(Amount(Fraction(1)), 1, k=0),
            "A coverage factor of 0 cannot be. Copy k from the certificate; it is 2 on most.",
        ),
        (
            lambda: amount("0.02 mm", "%"),
            "mm is a length and % is a share: they do not convert. Use one of: %.",
        ),
        (
            lambda: true_torque_interval(100, 1),
            "A torque accuracy of 100% says nothing. Write less than 100 %, such as 4 %.",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_words(make: Callable[[], object], said: str) -> None:
    with pytest.raises(BadInput) as refused:
        make()
    assert str(refused.value) == said


def test_a_figure_is_taken_into_the_unit_of_the_reading_exactly() -> None:
    assert amount("20 µm") == Amount(Fraction("0.02"))
    assert amount("0.001 in") == Amount(Fraction("0.0254"))
    assert amount("0 mm") == Amount(Fraction(0)), "a tool may be stated to be exact"
    assert amount("4 %") == Amount(Fraction("0.04"), share=True)


def test_what_lies_within_a_width_says_so_or_what_it_was_told() -> None:
    assert within("sampling", 4).how == "±4, rectangular"
    assert within("sampling", 4, "from the rate").how == "from the rate"


def test_a_guard_band_is_k_times_u() -> None:
    assert [Budget((stated("a", 2),), Fraction(k)).guard() for k in (1, 2, 3)] == [2, 4, 6]


def test_a_certificate_is_divided_by_the_k_it_names() -> None:
    assert calibration(Amount(Fraction(3)), 1, k=3).square == 1
    assert calibration(Amount(Fraction(3)), 1, k=1).square == 9
    assert calibration(Amount(Fraction(3)), 1).square == Fraction(9, 4)


def test_what_was_stated_says_so_or_how() -> None:
    assert stated("method", 1).how == "stated"
    assert stated("side offset", 1, "laser, both wheels").how == "laser, both wheels"


# --- repeats --------------------------------------------------------------------------------------------------------


def test_four_repeats_speak_for_themselves() -> None:
    """Own vectors, worked out by hand."""
    five = repeats([D("30.2"), D("30.5"), D("30.1"), D("30.4"), D("30.3")])
    assert five is not None
    assert five.square == Fraction(1, 200)  # s² = 0.025
    assert five.u == pytest.approx(0.070710678, abs=1e-9)
    assert five.degrees == 4
    again = repeats([D("97.8"), D("98.4"), D("98.1"), D("98.6"), D("97.9")])
    assert again is not None
    assert again.u == pytest.approx(0.150332964, abs=1e-9)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_fewer_repeats_tell_nothing(count: int) -> None:
    values = [D("30.2"), D("30.5"), D("30.1")][:count]
    assert repeats(values) is None


def test_repeats_without_scatter_add_nothing_and_rest_on_nothing() -> None:
    still = repeats([D("30.2")] * 4)
    assert still is not None
    assert still.square == 0
    assert Budget((still,)).degrees is None


# --- combined -------------------------------------------------------------------------------------------------------


def test_the_parts_of_a_torque_combined() -> None:
    """Own vector; GTC and metrolopy give the same u and degrees of freedom."""
    budget = Budget((resolution(D("0.1")), stated("calibration", D("0.5")), stated_repeats(D("0.6"), 5)))
    assert budget.u == pytest.approx(0.568184, abs=5e-7)
    assert budget.expanded == pytest.approx(1.136368, abs=1e-6)
    assert float(budget.degrees or 0) == pytest.approx(80.418, abs=5e-4)
    assert budget.guard() == D("1.136369"), "rounded up"
    assert budget.guard(2) == D("1.14")
    assert budget.covered().k == D("2.05")


def stated_repeats(s: Decimal, count: int) -> Component:
    return Component("repeats", Fraction(s) ** 2 / count, "stated", degrees=count - 1)


def test_a_pythagorean_budget_is_exact() -> None:
    budget = Budget((stated("a", 3), stated("b", 4)))
    assert budget.variance == 25
    assert budget.guard() == 10


@given(st.lists(figures, max_size=6), st.integers(1, 3))
def test_the_combined_u_is_the_root_of_the_sum_of_squares(us: list[Decimal], k: int) -> None:
    budget = Budget(tuple(stated(str(i), u) for i, u in enumerate(us)), Fraction(k))
    assert budget.u == pytest.approx(math.hypot(*map(float, us)), rel=1e-12)
    assert budget.expanded == pytest.approx(k * budget.u, rel=1e-12)


@given(st.fractions(0, 10**9), st.integers(0, 9))
def test_a_root_is_rounded_up_and_by_less_than_one_last_digit(square: Fraction, digits: int) -> None:
    root, step = root_up(square, digits), Fraction(1, 10**digits)
    assert root**2 >= square
    assert root == 0 or (root - step) ** 2 < square
    assert (root / step).denominator == 1


def test_a_share_of_the_reading_moves_with_it_and_nothing_else_does() -> None:
    budget = Budget((accuracy(amount("1 %"), 50), resolution(D("0.1"))))
    moved = budget.at(D("80.5"))
    assert moved.components == (accuracy(amount("1 %"), D("80.5")), resolution(D("0.1")))
    assert budget.at(50) == budget


def test_adding_a_part_or_none() -> None:
    budget = Budget((resolution(1),))
    assert budget.plus(None) == budget
    assert [part.name for part in budget.plus(stated("side offset", 1)).components] == ["resolution", "side offset"]


@pytest.mark.parametrize(
    ("degrees", "k"),
    [
        (None, "2"),
        ("0.4", "13.97"),
        ("1", "13.97"),
        ("4.99", "2.87"),
        ("16.75", "2.17"),
        ("29", "2.11"),
        ("900", "2.025"),
    ],
)
def test_few_degrees_of_freedom_ask_for_a_larger_factor(degrees: str | None, k: str) -> None:
    assert coverage_factor(None if degrees is None else Fraction(degrees)) == Fraction(k)


# --- torque ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("indicated", "share", "low", "high"),
    [
        (100, "0.04", 96.153846, 104.166667),
        (100, "0.06", 94.339623, 106.382979),
        (20, "0.04", 19.230769, 20.833333),
        (-100, "0.04", -104.166667, -96.153846),
        (100, "0", 100, 100),
    ],
)
def test_the_true_torque_behind_an_indicated_one(indicated: int, share: str, low: float, high: float) -> None:
    """ISO 6789's relative error is of the reference value (symbols from memory), so the interval is asymmetric."""
    assert [float(end) for end in true_torque_interval(indicated, D(share))] == pytest.approx([low, high], abs=5e-7)


@pytest.mark.parametrize(
    ("reference", "percent", "passes"),
    [
        ("104", -3.84615, True),
        ("104.16", -3.99386, True),
        ("104.17", -4.00307, False),
        ("96.16", 3.99334, True),
        ("96.15", 4.00416, False),
    ],
)
def test_the_relative_error_of_an_indicated_100(reference: str, percent: float, passes: bool) -> None:
    """Our own arithmetic on ISO 6789's definition: a tool that over-tightens has a negative error."""
    error = Fraction(100) / Fraction(reference) - 1
    assert float(error) * 100 == pytest.approx(percent, abs=5e-6)
    assert (abs(error) <= D("0.04")) is passes
    low, high = true_torque_interval(100, D("0.04"))
    assert (low <= D(reference) <= high) is passes, "the interval holds exactly what the error permits"


@given(st.decimals(1, 1000, places=2), st.decimals(0, "0.5", places=3))
def test_the_ends_of_the_interval_have_exactly_the_permitted_error(indicated: Decimal, share: Decimal) -> None:
    low, high = true_torque_interval(indicated, share)
    assert Fraction(indicated) / low - 1 == Fraction(share)
    assert Fraction(indicated) / high - 1 == -Fraction(share)
    part = accuracy(Amount(Fraction(share), share=True), indicated, of_reference=True)
    assert part.square == (high - low) ** 2 / 12, "a rectangle over an asymmetric interval (GUM 4.3.8)"


def test_an_absolute_accuracy_of_torque_stays_symmetric() -> None:
    assert accuracy(amount("3 N·m", "N·m"), 98, of_reference=True) == accuracy(amount("3 N·m", "N·m"), 98)
