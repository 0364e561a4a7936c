"""Where a number could be in a frame: guesses that fit every reading, and those that are no number after all."""

from decimal import Decimal

import pytest

from logger.learn.capture import Seen, Shown
from logger.learn.number import NumberGuess, number_guesses
from logger.learn.scale import displays

READINGS = ("12.34", "45.01", "03.70", "90.99")


def guesses(*lasts: int) -> list[NumberGuess]:
    """Return the guesses for frames of two octets of BCD in hundredths of a mm, and one more octet each."""
    known = []
    for line, (text, last) in enumerate(zip(READINGS, lasts, strict=True), 1):
        octets = bytes.fromhex(text.replace(".", "")) + bytes([last])
        shown = Shown(Decimal(text), 2, "mm", "mm", text)
        known.append(Seen(line, "c1", "c1", octets.hex(), octets, shown))
    return number_guesses(known, displays(each.shown for each in known if each.shown is not None))


@pytest.mark.parametrize("last", [0x05, 0x20, 0x45])
def test_digits_that_are_not_shown_and_never_change_are_no_digits(last: int) -> None:
    """An octet that stands behind the number, such as a flag, reads like two more digits that are rounded away."""
    assert [each.value.width for each in guesses(last, last, last, last)] == [16]


def test_digits_that_are_not_shown_and_change_are_digits() -> None:
    assert 24 in [each.value.width for each in guesses(0x05, 0x20, 0x45, 0x31)]
