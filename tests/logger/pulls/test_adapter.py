"""Torque adapters: published examples, the angle's convention, and the way back."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.pulls.adapter import TorqueAdapter
from logger.units import Limits

D = Decimal


def adapter(wrench: str, extension: str, angle: str = "0") -> TorqueAdapter:
    return TorqueAdapter(Fraction(wrench), Fraction(extension), Fraction(angle))


@pytest.mark.parametrize(
    ("target", "wrench", "extension", "angle", "setting"),
    [
        # US Navy NAVEDTRA 14315, fig. 3-44: 100 lbf·in, 12 in wrench, 6 in adapter
        ("100", "12", "6", "0", Fraction(200, 3)),
        # Light-helicopter maintenance manual, ch. 20 standard practices (2010): printed 117.39 and 158.82
        ("135", "10", "1.5", "0", Fraction(2700, 23)),
        ("135", "10", "1.5", "180", Fraction(2700, 17)),
        # A public calculator page: printed 71.1, and no change at 90 degrees
        ("80", "40", "5", "0", Fraction(640, 9)),
        ("80", "40", "5", "90", Fraction(80)),
        # Own arithmetic
        ("98", "400", "40", "90", Fraction(98)),
        ("98", "400", "40", "60", Fraction(98 * 20, 21)),
        ("98", "400", "40", "120", Fraction(98 * 20, 19)),
    ],
)
def test_a_setting_is_exact_where_the_cosine_is(
    target: str, wrench: str, extension: str, angle: str, setting: Fraction
) -> None:
    assert adapter(wrench, extension, angle).setting(D(target)) == setting


@pytest.mark.parametrize(
    ("angle", "setting"), [("0", 89.0909), ("45", 91.5280), ("90", 98.0), ("135", 105.4569), ("180", 108.8889)]
)
def test_the_angle_is_nothing_straight_out_and_corrects_nothing_square(angle: str, setting: float) -> None:
    """Own vector by the cosine form of US Army TM 9-254 fig. 46: 98 N·m, L 400, E 40."""
    assert float(adapter("400", "40", angle).setting(98)) == pytest.approx(setting, abs=5e-5)


@given(st.integers(50, 999), st.integers(0, 49), st.fractions(0, 180, max_denominator=100), st.fractions(1, 500))
def test_there_and_back_is_the_same_torque(wrench: int, extension: int, angle: Fraction, target: Fraction) -> None:
    tool = TorqueAdapter(Fraction(wrench), Fraction(extension), angle)
    assert tool.at_fastener(tool.setting(target)) == target
    assert (tool.setting(target) <= target) is (angle <= 90 or not extension)


def test_a_window_is_corrected_end_by_end() -> None:
    assert adapter("400", "40").settings(Limits(Fraction(88), None)) == Limits(Fraction(80), None)


@pytest.mark.parametrize(
    ("wrench", "extension", "angle", "words"),
    [
        ("0", "40", "0", "cannot be"),
        ("400", "-1", "0", "cannot be"),
        ("400", "40", "181", "not within"),
        ("400", "40", "-1", "not within"),
        ("40", "40", "180", "past the grip"),
    ],
)
def test_an_adapter_that_cannot_be_is_refused(wrench: str, extension: str, angle: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        adapter(wrench, extension, angle)
