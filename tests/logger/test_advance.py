"""The advance of a flat as readings show it, and what that is worth."""

from fractions import Fraction
from random import Random
from statistics import fmean, stdev

import pytest

from logger.drive import Fit, Move, fit_advance
from tests.logger.drives import DRIVE


def test_the_advance_that_readings_show() -> None:
    moves = [
        Move(DRIVE.movement(before, DRIVE.slack_after(before, moved) or 0), flats)
        for before, moved, flats in ((50, 0.4, 2), (45, 0.2, 1), (30, -0.6, -3))
    ]
    found = fit_advance(moves)
    assert found is not None
    assert found.per_flat_mm == pytest.approx(0.2)
    assert found.moves == 3
    assert fit_advance([Move(0.3, 0)]) is None


def test_a_fit_knows_what_it_is_worth_by_simulation() -> None:
    # Monte Carlo over the readings themselves; each is used once, also where two moves share one.
    rng, flats, us = Random(7), (2.0, -1.0, 3.0), (0.05, 0.04, 0.06, 0.05)
    found = []
    for _ in range(4000):
        errors = [rng.gauss(0, u) for u in us]
        moves = [Move(0.2 * flat + errors[k + 1] - errors[k], flat) for k, flat in enumerate(flats)]
        fit = fit_advance(moves)
        assert fit is not None
        found.append(fit.per_flat_mm)
    fit = fit_advance(Move(0, flat, us[k], us[k + 1], joined=k > 0) for k, flat in enumerate(flats))
    assert fit is not None
    assert fit.u_mm == pytest.approx(stdev(found), rel=0.05)
    assert fmean(found) == pytest.approx(0.2, abs=0.002)


@pytest.mark.parametrize(
    ("joined", "weights"),
    [
        ((False, True, True), (1, 1 - 2, 2 - 4, 4)),  # a reading between two moves leans on both, once
        ((False, False, True), (1, 1, 2, 2 - 4, 4)),
        ((True, False, False), (1, 1, 2, 2, 4, 4)),  # nothing came before the first
    ],
)
def test_each_reading_enters_a_fit_once(joined: tuple[bool, ...], weights: tuple[int, ...]) -> None:
    """u of sum(c_i x_i) / sum(flats^2) with each reading its own u, by hand (GUM 5.1.2)."""
    flats, us = (1.0, 2.0, 4.0), (0.5, 0.25, 0.75, 0.125, 0.375, 0.625)
    moves: list[Move] = []
    at = 0
    for flat, shared in zip(flats, joined, strict=True):
        at -= bool(shared and moves)
        moves.append(Move(0.2 * flat, flat, us[at], us[at + 1], joined=shared))
        at += 2
    fit = fit_advance(moves)
    assert fit is not None
    by_hand = sum((weight * u) ** 2 for weight, u in zip(weights, us, strict=False)) ** 0.5 / 21
    assert fit.u_mm == pytest.approx(by_hand)
    assert fit.moves == 3


def test_a_fit_tells_only_when_enough_was_turned() -> None:
    nominal = Fraction(1, 4)
    assert Fit(0.25, 0.06, 1).tells(nominal)
    assert not Fit(0.25, 0.07, 1).tells(nominal)
    assert not Fit(0.34, 0.05, 1).differs(nominal)
    assert Fit(0.36, 0.05, 1).differs(nominal)


def test_the_limits_of_what_a_fit_tells_and_differs_by() -> None:
    assert Fit(0.25, 0.0625, 1).tells(Fraction(1, 4)), "twice its uncertainty is just half a flat"
    assert not Fit(0.25, 0.0, 1).tells(Fraction(1, 4)), "nothing is known of what it is worth"
    assert not Fit(0.5, 0.125, 1).differs(Fraction(1, 4)), "just twice its uncertainty away"
    assert not Fit(0.0, 0.125, 1).differs(Fraction(1, 4))
