"""Quantities as people write them: their digits kept, what is none refused with a sentence, shares."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.units import Quantity, parse_quantity, share, show, trimmed, unit_names


def test_a_quantity_keeps_its_digits() -> None:
    assert parse_quantity("36 mm") == Quantity("36", Decimal(36), "mm")
    assert parse_quantity("36.20mm") == Quantity("36.20", Decimal("36.20"), "mm")
    assert parse_quantity(" -0.050 in ").text == "-0.050"
    assert parse_quantity('1.4173"') == Quantity("1.4173", Decimal("1.4173"), "in")
    assert parse_quantity("72\u00a0ft-lb").unit == "lbf·ft"


@pytest.mark.parametrize(
    "text",
    [
        "12,5 mm", "0,5 mm", "1,000 mm", "nan mm", "inf mm", "-inf mm", "9**9**9 mm", "1e3 mm", "1E400 mm", "36", "",
        "mm", ".5 in", "5. in", "1/2 in", "3 1/2 in", "36 mm 4", "1 000 mm", "0x10 mm", "1_000 mm", "٣٦ mm", "３６ mm",
        "--1 mm", "+-1 mm", "36 nm", "36 J", "1234567890123 mm", "0.0000000000001 mm", "36 mm\x00", "98 N·m·m", "½ in",
        "1" * 100_000 + " mm",
    ],
)  # fmt: skip
def test_traps_are_refused_with_a_sentence(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_quantity(text)
    assert caught.value.message.endswith(".")
    assert caught.value.remedy
    assert len(str(caught.value)) < 400


def test_more_digits_than_any_tool_shows_are_refused() -> None:
    assert parse_quantity("123456.789012 mm").value == Decimal("123456.789012")
    with pytest.raises(BadInput) as refused:
        parse_quantity("123456.7890123 mm")
    said = "'123456.7890123' has more than 12 digits. Leave out the digits no tool can show."
    assert str(refused.value) == said


EXAMPLE = 'Write digits, a point where needed, and a unit, such as "36.2 mm" or "98 N·m".'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1" + " " * 62 + "mm", f"A quantity of 65 characters is too long. {EXAMPLE}"),
        ("12,5 mm", "'12,5 mm' is not a quantity. Write a point, not a comma, such as 12.5 mm."),
        (".5 in", f"'.5 in' is not a quantity. {EXAMPLE}"),
        ("36 4 mm", f"'36 4 mm' is not a quantity. {EXAMPLE}"),
        ("36", f"'36' has no unit. Allowed: {', '.join(unit_names())}."),
        ("36 Xmm", f"'36 Xmm' has unknown unit 'Xmm'. Allowed: {', '.join(unit_names())}."),
    ],
)
def test_what_is_no_quantity_is_told_whole(text: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse_quantity(text)
    assert str(refused.value) == said


def test_a_quantity_of_just_the_length_allowed_is_read() -> None:
    assert parse_quantity("1" + " " * 61 + "mm").unit == "mm"


def test_a_comma_is_told_to_be_a_point() -> None:
    with pytest.raises(BadInput, match="point, not a comma"):
        parse_quantity("12,5 mm")


def test_an_unknown_unit_names_what_is_allowed() -> None:
    with pytest.raises(BadInput, match=r"'furlong'.*Allowed: mm, .*lbf·ft"):
        parse_quantity("3 furlong")


@given(st.text(max_size=80))
def test_any_text_is_a_quantity_or_a_clear_refusal(text: str) -> None:
    try:
        found = parse_quantity(text)
    except BadInput:
        return
    assert found.value == Decimal(found.text)
    assert found.unit in unit_names()


@given(st.integers(-(10**12) + 1, 10**12 - 1), st.integers(0, 9), st.sampled_from(unit_names()))
def test_what_is_shown_reads_back_the_same(count: int, digits: int, unit: str) -> None:
    text = format(Decimal(count).scaleb(-digits), "f")
    if sum(c.isdigit() for c in text) > 12:
        return
    shown = show(Quantity(text, Decimal(text), unit))
    assert parse_quantity(shown).value == Decimal(text)
    assert parse_quantity(shown).unit == unit


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("-0.00", "0.00 mm"),
        ("-0", "0 mm"),
        ("-0.01", "-0.01 mm"),
        ("36.20", "36.20 mm"),
        ("+1", "+1 mm"),
        ("+0.0", "0.0 mm"),
    ],
)
def test_a_negative_zero_is_shown_without_its_sign(text: str, shown: str) -> None:
    assert show(Quantity(text, Decimal(text), "mm")) == shown


@pytest.mark.parametrize(
    ("part", "whole", "text", "told"),
    [
        ("1.5%", "1200 mm", "18", "1.5% of 1200 mm = 18 mm"),
        ("10 %", "1000 mm", "100", "10% of 1000 mm = 100 mm"),
        ("1.5 %", "1200.5 mm", "18.0075", "1.5% of 1200.5 mm = 18.0075 mm"),
        ("2.50 %", "40 N·m", "1", "2.50% of 40 N·m = 1 N·m"),
        ("0.5 %", "1 mm", "0.005", "0.5% of 1 mm = 0.005 mm"),
        ("0.0001 %", "0.01 mm", "0.00000001", "0.0001% of 0.01 mm = 0.00000001 mm"),
    ],
)
def test_a_share_is_exact_and_keeps_what_was_written(part: str, whole: str, text: str, told: str) -> None:
    found = share(parse_quantity(part), parse_quantity(whole))
    assert (found.text, found.value, found.unit) == (text, Decimal(text), parse_quantity(whole).unit)
    assert found.told == told


def test_a_quantity_that_stands_as_written_is_told_as_it_stands() -> None:
    assert parse_quantity("36.20mm").told == "36.20 mm"


def test_only_percent_is_a_share() -> None:
    with pytest.raises(BadInput) as refused:
        share(parse_quantity("1.5 mm"), parse_quantity("1200 mm"))
    assert str(refused.value) == "1.5 mm is no share. Write it in %, such as 1.5 %."


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("36.2000", "36.20"),
        ("36.2010", "36.201"),
        ("36.200", "36.20"),
        ("36.201", "36.201"),
        ("36.20", "36.20"),
        ("36.2", "36.2"),
        ("36.", "36."),
        ("3600", "3600"),
        ("0.0005", "0.0005"),
        ("0.00500", "0.005"),
    ],
)
def test_zeros_beyond_two_decimals_go_and_nothing_else(text: str, shown: str) -> None:
    assert trimmed(text) == shown
