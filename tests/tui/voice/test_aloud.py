"""Numbers as a mechanic says them, by table, and nothing left in a text that an engine could take for a command."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.units import unit_names
from tests.tui.hostile import HOSTILE
from tui.voice.aloud import MOST, aloud, flats_aloud, number_aloud, quantity_aloud


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("36.2", "mm", "thirty-six point two millimetres"),
        ("36.20", "mm", "thirty-six point two millimetres"),
        ("36.00", "mm", "thirty-six millimetres"),
        ("98", "N·m", "ninety-eight newton metres"),
        ("1", "mm", "one millimetre"),
        ("1.0", "N·m", "one newton metre"),
        ("1.1", "mm", "one point one millimetres"),
        ("21", "mm", "twenty-one millimetres"),
        ("0.05", "mm", "zero point zero five millimetres"),
        ("-0.60", "mm", "minus zero point six millimetres"),
        ("+0.1", "mm", "plus zero point one millimetres"),
        ("≈ 36.25", "mm", "about thirty-six point two five millimetres"),
        ("100", "mm", "one hundred millimetres"),
        ("72.3", "lbf·ft", "seventy-two point three foot pounds"),
        ("1.426", "in", "one point four two six inches"),
        ("12480", "km", "twelve thousand four hundred and eighty kilometres"),
        ("2", "%", "two percent"),
    ],
)
def test_a_value_with_its_unit(text: str, unit: str, said: str) -> None:
    assert quantity_aloud(text, unit) == said


def test_every_unit_of_a_length_and_a_torque_has_a_name() -> None:
    for unit in unit_names(("length", "torque", "distance", "angle", "time")):
        assert quantity_aloud("2", unit) not in (f"two {unit}", "two") or unit == "thou"


@pytest.mark.parametrize(
    ("flats", "said"),
    [
        (Fraction(0), "none"),
        (Fraction(1), "one flat tighter"),
        (Fraction(-2), "two flats looser"),
        (Fraction(1, 2), "half a flat tighter"),
        (Fraction(-3, 2), "one and a half flats looser"),
        (Fraction(11, 4), "two point seven five flats tighter"),
    ],
)
def test_how_far_a_side_is_turned(flats: Fraction, said: str) -> None:
    assert flats_aloud(flats) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Axle nut: pull, to 98 N·m", "Axle nut: pull, to ninety-eight newton metres"),
        ("margin 1.20 mm, U ± 0.9 mm", "margin one point two millimetres, U plus or minus zero point nine millimetres"),
        ("2 of 3", "two of three"),
        ("both 2 in line", "both two in line"),
        ("window 1.4 in", "window one point four inches"),
        ("slack -0.5 mm", "slack minus zero point five millimetres"),
        ("DEPOT-C001 lost", "DEPOT-C001 lost"),
        ("tool 7B, fleet 7", "tool 7B, fleet seven"),
        ("▲ TOO FAR: stop", "TOO FAR: stop"),
    ],
)
def test_numbers_in_a_text(text: str, said: str) -> None:
    assert aloud(text) == said


@pytest.mark.parametrize("text", [*HOSTILE, "[[h@'loU]]", "<speak><break time='9s'/></speak>", "a\n-w/tmp/x"])
def test_nothing_is_left_that_is_a_command(text: str) -> None:
    said = aloud(text)
    assert len(said) <= MOST
    assert all(character.isalnum() or character in " .,:;?!'-" for character in said)


@given(st.decimals(min_value=-99999, max_value=99999, places=3))
def test_a_number_said_has_no_digit_and_keeps_its_sign(value: object) -> None:
    said = number_aloud(str(value))
    assert not any(character.isdigit() for character in said)
    assert said.startswith("minus") == str(value).startswith("-")


@given(st.text(max_size=600))
def test_any_text_can_be_said(text: str) -> None:
    assert len(aloud(text)) <= MOST
