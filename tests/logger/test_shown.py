"""Computed values as they are shown: never over a limit, and room never overstated."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.units import (
    Limits,
    approx,
    approx_limits,
    approx_margin,
    as_decimal,
    in_unit,
    parse_quantity,
    position,
    show_number,
)


def test_shown_limits_are_rounded_inwards() -> None:
    limits = in_unit((parse_quantity("60 lbf·ft"), parse_quantity("72 lbf·ft")), "N·m")
    assert approx_limits(limits, "N·m", 2) == ("≈ 81.35 N·m", "≈ 97.61 N·m")
    assert approx_limits(Limits(Fraction(30), None), "mm", 1) == ("30.0 mm", None)


ratios = st.fractions(-1000, 1000, max_denominator=10**6)


def _number(shown: str) -> Decimal:
    return Decimal(shown.removeprefix("≈ ").split(" ")[0])


@given(st.integers(-(10**6), 10**6), ratios, ratios)
def test_a_reading_passes_exactly_when_it_is_within_the_limits_as_shown(
    hundredths: int, a: Fraction, b: Fraction
) -> None:
    limits = Limits(min(a, b), max(a, b))
    reading = Decimal(hundredths) / 100
    low, high = approx_limits(limits, "mm", 2)
    assert low is not None
    assert high is not None
    assert (_number(low) <= reading <= _number(high)) == (position(reading, limits) == "inside")


@given(ratios, ratios, ratios, st.integers(0, 4))
def test_a_computed_value_never_shows_another_verdict(value: Fraction, a: Fraction, b: Fraction, digits: int) -> None:
    limits = Limits(min(a, b), max(a, b))
    shown = approx(value, "mm", digits, limits)
    if not a == b == value:  # a single point such as 1/3 has no decimal digits that lie on it
        assert position(_number(shown), limits) == position(value, limits)
    assert abs(Fraction(_number(shown)) - value) <= Fraction(1, 10**digits)
    assert shown.startswith("≈") == (Fraction(_number(shown)) != value)


def test_digits_are_added_where_rounding_would_hide_a_failure() -> None:
    limits = Limits(Fraction(10), Fraction("10.10"))
    assert approx(Fraction("10.104"), "mm", 2, limits) == "10.104 mm"
    assert approx(Fraction("10.10444"), "mm", 2) == "≈ 10.10 mm"
    assert approx(Fraction("27.5"), "mm", 0) == "27.5 mm"
    assert approx(Fraction(1, 3), "mm", 1, Limits(Fraction(1, 3), None)) == "≈ 0.3333333333334 mm"


def test_a_failing_margin_never_shows_as_zero() -> None:
    assert approx_margin(Fraction("-0.00004"), "mm", 2) == "≈ -0.001 mm"
    assert approx_margin(Fraction("0.5"), "mm", 2) == "+0.50 mm"


def test_room_is_never_overstated() -> None:
    assert approx_margin(Fraction("0.01"), "mm", 0) == "+0.01 mm"
    assert approx_margin(Fraction(2, 3), "mm", 0) == "≈ +0.6 mm"
    assert approx_margin(Fraction(0), "mm", 2) == "+0.00 mm"


def test_a_value_closer_to_a_limit_than_twelve_more_digits_is_rounded_to_the_side_it_is_on() -> None:
    two_thirds, hair = Fraction(2, 3), Fraction(5, 10**14)
    assert approx(two_thirds, "mm", 0, Limits(None, two_thirds + hair)) == "≈ 0.666666666666 mm"
    assert approx(two_thirds, "mm", 0, Limits(two_thirds, None)) == "≈ 1 mm"
    assert approx(-two_thirds, "mm", 0, Limits(-two_thirds - hair, None)) == "≈ -0.666666666666 mm"


def test_a_window_of_a_single_point_is_shown_as_such_and_never_left_without_figures() -> None:
    point, third, hair = Fraction("10.2"), Fraction(1, 3), Fraction(3, 10**13)
    assert approx_limits(Limits(point, point), "mm", 0) == ("10.2 mm", "10.2 mm")
    assert approx_limits(Limits(third, third), "mm", 1) == ("≈ 0.4 mm", "≈ 0.3 mm"), "no digits write it"
    assert approx_limits(Limits(third, third + hair), "mm", 0) == ("≈ 1 mm", "≈ 0 mm"), "nor do twelve more"


def test_limits_never_stand_upside_down() -> None:
    assert approx_limits(Limits(Fraction("10.2"), Fraction("10.7")), "mm", 0) == ("10.2 mm", "10.7 mm")


@pytest.mark.parametrize(
    ("value", "shown"), [("1/3", "0.333"), ("-2/3", "-0.667"), ("36", "36.000"), ("-1/9999", "0.000")]
)
def test_a_computed_number_has_its_digits(value: str, shown: str) -> None:
    assert show_number(Fraction(value), 3) == shown


def test_a_nought_of_many_digits_is_written_out() -> None:
    assert show_number(Fraction(0), 8) == "0.00000000"


@pytest.mark.parametrize(
    ("value", "decimal"),
    [("-5/2", "-2.5"), ("30", "30"), ("1/1000", "0.001"), ("2/3", "0.6666666666666666666666666667")],
)
def test_a_fraction_is_a_decimal_of_at_most_28_digits(value: str, decimal: str) -> None:
    assert str(as_decimal(Fraction(value))) == decimal
