"""Expected beside measured, and which causes are likely."""

from decimal import Decimal
from fractions import Fraction

import pytest

from logger.advice.cameout import (
    DIFFERS,
    ELSEWHERE,
    MISCOUNTED,
    SWAPPED,
    THREAD,
    Comparison,
    compare,
    compare_taut,
    comparison_u,
)
from logger.drive import Drive
from tests.logger.walk import Walk, answer, shipped

COURIER = Drive.from_teeth(15, 42, Decimal("12.7"), 555, Decimal("1.0"))


@pytest.mark.parametrize(
    ("before", "expected", "measured", "outcome"),
    [
        (47, 30.5, 31.2, "agrees"),
        (47, 30.5, 28.0, "differs"),
        (47, 30.5, 47.2, "differs"),
        (47, 30.5, 58.0, "opposite"),
        (-0.9, -0.0667, -1.7, "opposite"),
        (-0.9, -0.0667, -0.5, "differs"),
        (30, 30.4, 27.0, "differs"),
    ],
)
def test_expected_beside_measured(before: float, expected: float, measured: float, outcome: str) -> None:
    u = 0.6 if before > 1 else 0.13
    found = compare(Decimal(str(before)), expected, Decimal(str(measured)), u)
    assert found.outcome == outcome
    assert found.off_mm == pytest.approx(measured - expected)
    assert found.may_advise == (outcome != "opposite")
    assert bool(found.causes) == (outcome != "agrees")


def test_opposite_names_swapped_sides_first() -> None:
    found = compare(Decimal("0.9"), Fraction(1, 15), Decimal("1.75"), 0.13)
    assert found.causes[0] == "left and right may be swapped"


@pytest.mark.parametrize(
    ("measured", "outcome"), [("0.5", "agrees"), ("10", "differs"), ("22.1", "differs"), ("23", "opposite")]
)
def test_a_slack_that_grew_where_none_was_to_be_left_is_the_other_way_round(measured: str, outcome: str) -> None:
    found = compare_taut(20, Decimal(measured), 1.13)
    assert (found.outcome, found.counted) == (outcome, "the chain taut")
    assert found.may_advise == (outcome != "opposite")


def test_a_change_too_small_to_see_tells_nothing() -> None:
    assert compare(30, 27.0, 28, 1.0).tells
    assert not compare(30, 29.0, 28, 1.0).tells


def test_the_doubt_of_a_forecast_grows_with_the_way_it_came() -> None:
    # d(after)/d(before) = before/after at the same excess removed, since s^2 is nearly linear in the excess.
    after = [COURIER.slack_after(slack, 0.5) or 0 for slack in (46.99, 47.01)]
    gain = (after[1] - after[0]) / 0.02
    wanted = (1 + gain**2) ** 0.5
    assert comparison_u(1.0, 47, sum(after) / 2) == pytest.approx(wanted, rel=0.01)


# --- likely causes, on the shipped sheet ----------------------------------------------------------------------------


def _came_out(turned: tuple[str, str], slack: str, apart: str) -> dict[str, Comparison]:
    """From 50.0 mm and 3.2 mm apart: report these turns, then read these; what came out of it."""
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm", "150.0 mm", "100.0 mm", "151.0 mm", "39.2 mm", "36.0 mm").confirm()
    walk.turned(*turned).confirm().read(
        "100.0 mm", f"{100 + Decimal(slack)} mm", f"{36 + Decimal(apart)} mm", "36.0 mm"
    )
    found = walk.plan
    assert found is not None, walk.key
    return dict(found.came_out)


def test_what_comes_out_as_expected_has_no_causes() -> None:
    # 50 mm less three flats of 1/6 mm on the right: 0.25 mm of axle, 44.1 mm by hand.
    found = _came_out(("0", "3"), "44.1", "2.7")
    assert [each.outcome for each in found.values()] == ["agrees", "agrees"]
    assert found["slack"].u_mm == pytest.approx(0.8 * (1 + (50 / 44.1) ** 2) ** 0.5, rel=0.01)


def test_flats_that_were_miscounted_are_named() -> None:
    # Three flats on both sides where two were said: 0.5 mm of axle, 37.4 mm, and the sides stay as they were.
    found = _came_out(("2", "2"), "37.4", "3.2")
    assert found["difference"].outcome == "agrees"
    assert found["slack"].causes[0] == ELSEWHERE
    assert f"{MISCOUNTED}: one more on both sides would bring this" in found["slack"].causes
    assert MISCOUNTED not in found["slack"].causes


def test_another_thread_is_named_when_it_would_bring_what_was_read() -> None:
    # Six flats on the right of a 1.5 mm thread: 1.5 mm, where 1.0 mm was expected; 50 to 29.1 mm by hand.
    found = _came_out(("0", "6"), "29.1", "1.7")
    assert {each.outcome for each in found.values()} == {"differs"}
    assert found["difference"].causes[0] == f"{THREAD}: 1.5 mm would bring this"
    for cause in DIFFERS:
        assert any(each.startswith(cause) for each in found["difference"].causes)


def test_swapped_sides_are_named_when_they_would_bring_what_was_read() -> None:
    # Two flats on the right instead of the left: the same slack, but 0.33 mm less apart instead of more.
    found = _came_out(("2", "0"), "46.2", "2.87")
    assert found["slack"].outcome == "agrees"
    assert found["difference"].causes[0] == SWAPPED[0]


def test_a_comparison_far_off_is_a_surprise() -> None:
    assert not compare(50, 40.0, 43, 0.5).surprises
    assert compare(50, 40.0, 45, 0.5).surprises
    assert compare(Decimal("0.9"), Fraction(1, 15), Decimal("1.75"), 0.13).surprises
