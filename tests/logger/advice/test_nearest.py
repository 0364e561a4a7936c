"""What is advised where nothing fits: the answer that misses its limits least, by a search of our own."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest

from logger.advice.advice import Advice, AdviceInput, advise, predict
from tests.logger.advice.cases import FOUND, known

HALVES = [Fraction(n, 2) for n in range(-4, 5)]
"""Up to two flats either way."""


def _case(tightest: str, opposite: str, window: tuple[int, int], *, difference: str, offset: str) -> AdviceInput:
    low, high = window
    return replace(
        FOUND,
        slack_mm={"tightest": Decimal(tightest), "opposite": Decimal(opposite)},
        aim_mm=Fraction(low + high, 2),
        window_mm=(Fraction(low), Fraction(high)),
        difference_mm=Decimal(difference),
        offset_mm=Decimal(offset),
        agree_within_mm=Fraction(1, 10),
        max_flats=2,
    )


def _missed(case: AdviceInput, answer: Advice) -> float:
    """How far outside each place and the sides lie, as shares of half the window and of the agreement."""
    assert case.window_mm is not None
    assert case.agree_within_mm is not None
    low, high = map(float, case.window_mm)
    outside = [low - slack for slack in known(answer.expected_slack_mm).values() if slack < low]
    outside += [slack - high for slack in known(answer.expected_slack_mm).values() if slack > high]
    askew = abs(float(answer.expected_difference_mm) - float(case.offset_mm)) / float(case.agree_within_mm)
    return sum(outside) / (high - low) * 2 + max(askew - 1, 0)


@pytest.mark.parametrize(
    ("case", "turns", "said"),
    [
        # Both places too loose, by more than may be turned at once: not further askew for it than it is worth.
        (_case("49", "53", (31, 37), difference="0.7", offset="0.3"), ("1/2", "2"), "0.15"),
        # One place inside: how well inside makes up for nothing that the other misses.
        (_case("30", "41", (26, 30), difference="-0.1", offset="0.3"), ("2", "-1/2"), "0.02"),
        # The places differ by more than the window is wide.
        (_case("30", "43", (20, 22), difference="-0.3", offset="0"), ("2", "1/2"), "0.05"),
    ],
)
def test_the_nearest_misses_least(case: AdviceInput, turns: tuple[str, str], said: str) -> None:
    answer = advise(case)
    assert (answer.left, answer.right) == (Fraction(turns[0]), Fraction(turns[1]))
    others = [predict(case, left, right) for left, right in product(HALVES, HALVES)]
    least = min(_missed(case, other) for other in others if None not in other.expected_slack_mm.values())
    assert not answer.fits
    assert _missed(case, answer) == pytest.approx(least)
    assert least > 1
    slack = known(answer.expected_slack_mm)
    nearest = f"slack tightest {slack['tightest']:.1f} mm, opposite {slack['opposite']:.1f} mm, sides {said} mm apart"
    assert f"nothing fits; nearest is {nearest}" in answer.notes
    assert "a half flat: corner up" in answer.notes
