"""A machine found slack and crooked, and drives of two threads, for the advice to work on."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from logger.advice.advice import AdviceInput
from logger.drive import Drive

COURIER = Drive.from_teeth(15, 42, Decimal("12.7"), 555, Decimal("1.0"))
COARSE = Drive.from_teeth(17, 42, Decimal("15.875"), 650, Decimal("1.5"))

FOUND = AdviceInput(
    drive=COURIER,
    slack_mm={"tightest": Decimal("47.0"), "opposite": Decimal("50.0")},
    governing="tightest",
    aim_mm=Fraction(32),
    window_mm=(Fraction(25), Fraction(40)),
    difference_mm=Decimal("-0.9"),
    agree_within_mm=Fraction(1, 2),
)


def known(expected: Mapping[str, float | None]) -> dict[str, float]:
    assert None not in expected.values()
    return {place: value for place, value in expected.items() if value is not None}
