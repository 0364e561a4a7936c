"""What turns will bring: taut runs, the nut, and forecasts that lie on a limit."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logger.advice.advice import AdviceInput, Nut, advise, predict, snug
from logger.drive import Drive
from tests.logger.advice.cases import COURIER, FOUND


def test_one_flat_on_one_side_is_half_a_step() -> None:
    both, one = predict(FOUND, 1, 1), predict(FOUND, 1, 0)
    assert one.axle_movement_mm == pytest.approx(both.axle_movement_mm / 2)
    assert one.expected_difference_mm - both.expected_difference_mm == COURIER.per_flat_mm


def test_turns_that_would_run_taut_are_said() -> None:
    answer = predict(FOUND, 12, 12)
    assert not answer.fits
    assert answer.expected_slack_mm == {"tightest": None, "opposite": None}
    assert answer.notes[0] == "the chain would run taut at tightest: do not turn so far"


def test_a_sprocket_on_the_left_follows_the_left_adjuster() -> None:
    case = replace(FOUND, left_share=Fraction(3, 4))
    assert predict(case, 2, 0).axle_movement_mm == pytest.approx(3 * predict(case, 0, 2).axle_movement_mm)


def test_of_two_places_that_would_run_taut_both_are_named() -> None:
    assert predict(FOUND, 12, 12).notes == (
        "the chain would run taut at tightest: do not turn so far",
        "the chain would run taut at opposite: do not turn so far",
    )


# --- allowing for the nut -------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=40)
@given(st.integers(-150, 150), st.integers(-30, 30), st.integers(-2, 4), st.integers(-2, 4), st.booleans())
def test_what_the_nut_will_do_is_added_once(moved: int, apart: int, left: int, right: int, holds: bool) -> None:
    nut = Nut(movement_mm=moved / 1000, difference_mm=Fraction(apart, 100), holds=holds)
    plain, allowing = FOUND, replace(FOUND, nut=nut)
    tight, before = predict(allowing, left, right), predict(snug(allowing), left, right)
    if holds:  # the readings have it already: the same with the nut tight, less before it is
        assert tight.expected_slack_mm == predict(plain, left, right).expected_slack_mm
    else:
        assert before.expected_slack_mm == predict(plain, left, right).expected_slack_mm
    assert tight.expected_difference_mm - before.expected_difference_mm == nut.difference_mm
    slacks = before.expected_slack_mm["tightest"], tight.expected_slack_mm["tightest"]
    if None not in slacks:
        assert COURIER.movement(slacks[0] or 0, slacks[1] or 0) == pytest.approx(nut.movement_mm, abs=2e-4)
    assert tight.fits <= before.fits


def test_allowing_for_a_nut_that_pulls_rearward_leaves_more_slack_before_it() -> None:
    allowing = replace(FOUND, nut=Nut(movement_mm=0.15))
    answer = advise(allowing)
    assert answer.fits
    assert answer.axle_movement_mm < advise(FOUND).axle_movement_mm


def test_a_nut_that_moves_the_axle_just_as_far_as_the_turns_is_forecast_all_the_same() -> None:
    """44 mm is 39.6 mm after one flat a side and 34.7 mm after as much again by the nut."""
    case = replace(
        FOUND, slack_mm={"tightest": Decimal(44)}, difference_mm=None, window_mm=(Fraction(34), Fraction(43))
    )
    found = predict(replace(case, nut=Nut(movement_mm=float(COURIER.per_flat_mm))), 1, 1)
    assert found.expected_slack_mm["tightest"] == pytest.approx(34.66, abs=0.01)
    assert found.fits, "although what was read lies outside"


def test_a_chain_that_only_the_tight_nut_leaves_slack_reads_none_before_it() -> None:
    before = snug(replace(FOUND, nut=Nut(movement_mm=-5.0, difference_mm=Fraction(1, 4), holds=True)))
    assert before == replace(
        FOUND,
        slack_mm={"tightest": Decimal("0.000"), "opposite": Decimal("0.000")},
        difference_mm=Decimal("-1.15"),
    )
    assert dict(before.slack_mm) == {"tightest": 0, "opposite": 0}


# --- on a limit -----------------------------------------------------------------------------------------------------


ON_THE_LIMIT = AdviceInput(
    drive=Drive.from_teeth(17, 42, Decimal("15.875"), 650, Decimal("1.25")),
    slack_mm={"": Decimal("32.1")},
    governing="",
    aim_mm=Fraction(32),
    window_mm=(Fraction(31), Fraction("32.1")),
    difference_mm=Decimal("0.1"),
    agree_within_mm=Fraction(1, 10),
)


@pytest.mark.parametrize("slack", ["31", "31.1", "32.1", "31.000000001"])
def test_what_lies_on_a_limit_fits_as_it_is(slack: str) -> None:
    case = replace(ON_THE_LIMIT, slack_mm={"": Decimal(slack)})
    found = predict(case, 0, 0)
    assert found.fits
    assert found.expected_slack_mm[""] == float(slack)
    assert advise(replace(case, agree_within_mm=Fraction(1, 10))).fits


@pytest.mark.parametrize("slack", ["32.1000000001", "30.9999999999"])
def test_a_reading_beyond_a_limit_by_less_than_noise_does_not_fit_as_it_is(slack: str) -> None:
    assert not predict(replace(ON_THE_LIMIT, slack_mm={"": Decimal(slack)}), 0, 0).fits


def test_sides_beyond_what_is_to_agree_never_fit_by_noise() -> None:
    assert not predict(replace(ON_THE_LIMIT, difference_mm=Decimal("0.1000000001")), 0, 0).fits


def test_a_forecast_on_a_limit_fits_though_its_arithmetic_is_in_floats() -> None:
    after = predict(ON_THE_LIMIT, 1, 1).expected_slack_mm[""]
    assert after is not None
    for off, fits in ((Fraction(0), True), (Fraction(1, 10**10), True), (Fraction(1, 10**8), False)):
        low = Fraction(after) + off
        assert predict(replace(ON_THE_LIMIT, window_mm=(low, low + 1)), 1, 1).fits is fits
        high = Fraction(after) - off
        assert predict(replace(ON_THE_LIMIT, window_mm=(high - 1, high)), 1, 1).fits is fits
