"""Readings against windows: exact on the limit, in any unit, with the room that is left."""

from decimal import Decimal
from fractions import Fraction

import pytest

from logger.errors import BadInput
from logger.units import Limits, Quantity, check_window, in_unit, margin, parse_quantity, position
from tests.logger.definitions import FOOT, GRAVITY, POUND


def test_every_on_limit_reading_passes() -> None:
    """Binary fractions reject more than 2,700 of these on either side."""
    for hundredths in range(1, 20_000):
        nominal = Decimal(hundredths) / 100
        low, high = nominal - Decimal("0.05"), nominal + Decimal("0.05")
        limits = in_unit((Quantity(str(low), low, "mm"), Quantity(str(high), high, "mm")), "mm")
        assert position(low, limits) == position(high, limits) == "inside"
        assert position(low - Decimal("0.01"), limits) == "low"
        assert position(high + Decimal("0.01"), limits) == "high"


@pytest.mark.parametrize(
    ("reading", "verdict"), [("81.34", "low"), ("81.35", "inside"), ("97.61", "inside"), ("97.62", "high")]
)
def test_a_window_in_pounds_judges_a_tool_in_newton_metres(reading: str, verdict: str) -> None:
    limits = in_unit((parse_quantity("60 lbf·ft"), parse_quantity("72 ft-lb")), "N·m")
    assert limits == Limits(60 * POUND * GRAVITY * FOOT, 72 * POUND * GRAVITY * FOOT)
    assert position(Decimal(reading), limits) == verdict


def test_open_sides_and_margins() -> None:
    limits = Limits(Fraction(30), None)
    assert position(Decimal("29.99"), limits) == "low"
    assert position(Decimal(10**9), limits) == "inside"
    assert margin(Decimal("29.99"), limits) == Fraction(-1, 100)
    assert margin(Decimal(32), Limits(Fraction(30), Fraction(33))) == 1
    assert in_unit((None, parse_quantity("1 in")), "mm") == Limits(None, Fraction("25.4"))


def test_a_window_is_refused_upside_down_empty_or_mixed() -> None:
    mm, inch, torque = (parse_quantity(text) for text in ("30 mm", "1 in", "3 N·m"))
    assert check_window(inch, mm) == (inch, mm)
    assert check_window(mm, mm) == (mm, mm)
    assert check_window(None, mm) == (None, mm)
    assert check_window(mm, None) == (mm, None)
    for low, high, said in [
        (mm, inch, "The window 30 mm to 1 in is upside down. Write the lower value first."),
        (
            parse_quantity("40 in"),
            parse_quantity("100 mm"),
            "The window 40 in to 100 mm is upside down. Write the lower value first.",
        ),
        (None, None, "A window needs at least one limit. Give its lowest value, its highest value or both."),
        (
            mm,
            torque,
            "mm is a length and N·m is a torque: they do not convert. Use one of: N·m, cN·m, dN·m, daN·m, N·cm, kgf·m, "
            "kgf·cm, lbf·ft, lbf·in, ozf·in.",
        ),
    ]:
        with pytest.raises(BadInput) as refused:
            check_window(low, high)
        assert str(refused.value) == said
