"""Typed readings: what is taken exactly, and what is refused with which words."""

from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.profile.values import TypedValue
from drivers.reading import Stamp, ToolReading
from drivers.typed import TypedError, read_typed, read_typed_by

UNITS = {
    "mm": ("length", "mm"),
    "in": ("length", "in"),
    '"': ("length", "in"),
    "N·m": ("torque", "N·m"),
    "Nm": ("torque", "N·m"),
    "lbf·ft": ("torque", "lbf·ft"),
    "km": ("distance", "km"),
}
NOW = Stamp(7, 9)


def read(line: str) -> ToolReading:
    return read_typed(line, NOW, UNITS.get)


@pytest.mark.parametrize(
    ("line", "text", "unit", "quantity"),
    [
        ("36.2 mm", "36.2", "mm", "length"),
        ("-0.05 mm", "-0.05", "mm", "length"),
        ("98 N·m", "98", "N·m", "torque"),
        ("1.25 in", "1.25", "in", "length"),
        ("72 lbf·ft", "72", "lbf·ft", "torque"),
        ('1.250"', "1.250", "in", "length"),
        ("36.2mm", "36.2", "mm", "length"),
        ("+98.00 Nm", "98.00", "N·m", "torque"),
        ("  0012.30\tmm\r\n", "0012.30", "mm", "length"),
    ],
)
def test_a_plain_number_with_a_unit_is_taken_as_it_stands(line: str, text: str, unit: str, quantity: str) -> None:
    reading = read(line)
    assert (reading.text, reading.unit, reading.quantity) == (text, unit, quantity)
    assert (reading.tool, reading.source, reading.raw, reading.at) == ("typed", "typed", line, NOW)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", "The line is empty"),
        ("   ", "The line is empty"),
        ("36.2", "The unit is missing"),
        ("36", "The unit is missing"),
        ("36,2 mm", "write 12.5, not 12,5"),
        ("1.234,5 mm", "is not a reading"),
        ("1,234.5 mm", "A comma is not taken"),
        ("3.62e1 mm", "exponent"),
        ("36E0 mm", "exponent"),
        ("１２ mm", "Plain digits"),
        ("12.５ mm", "Plain digits"),
        ("−5 mm", "plain minus"),
        ("nan mm", "not a number"),
        ("-inf mm", "not a number"),
        (".5 mm", "before the point"),
        ("5. mm", "after the point"),
        ("5 furlong", "'furlong' is not one that is known"),
        ("5 km", "neither a length nor a torque"),
        ("1.2.3 mm", "is not a reading"),
        ("1 234 mm", "is not a reading"),
        ("5 mm 6 mm", "is not one that is known"),
        ("mm 5", "is not a reading"),
        ("done", "is not a reading"),
        ("--5 mm", "is not a reading"),
        ("5\x1b[2J mm", "cannot be shown"),
        ("5 mm\u202e", "cannot be shown"),
        ("1" * 13 + " mm", "at most 12 digits"),
        ("1" * 300 + " mm", "at most 40 characters"),
    ],
)
def test_anything_else_is_refused_with_its_reason(line: str, words: str) -> None:
    with pytest.raises(TypedError, match=words) as caught:
        read(line)
    assert "\n" not in str(caught.value)
    assert "\x1b" not in str(caught.value)


@given(st.decimals(-9999, 9999, places=3), st.sampled_from(["mm", "N·m"]))
def test_every_plain_decimal_is_read_exactly(number: Decimal, unit: str) -> None:
    assert Decimal(read(f"{number:f} {unit}").text) == number


@given(st.text(max_size=60))
def test_no_line_does_more_than_refuse(line: str) -> None:
    try:
        reading = read(line)
    except TypedError:
        return
    assert Decimal(reading.text).is_finite()
    assert reading.unit in {unit for _, unit in UNITS.values()}


@given(st.characters(categories=["L"]), st.text(max_size=10))
def test_a_reading_never_begins_with_a_letter(first: str, rest: str) -> None:
    with pytest.raises(TypedError):
        read(first + rest)


def test_how_fast_it_was_typed_stands_beside_it() -> None:
    assert read("36.2 mm").key_gap_ms is None
    assert read_typed("36.2 mm", NOW, UNITS.get, 4).key_gap_ms == 4


# --- tools that type in a way of their own ----------------------------------------------------------------------------

FIXED = TypedValue(decode="typed", pattern="{number}", picture="+0000.00", unit="mm")
COMMA = TypedValue(decode="typed", pattern="{number}", mark=",", unit="in")
BARE = TypedValue(decode="typed", pattern="{number}", unit="mm")


@pytest.mark.parametrize(
    ("value", "line", "text", "unit"),
    [
        (FIXED, "+0012.34", "12.34", "mm"),
        (FIXED, "-0000.05\r", "-0.05", "mm"),
        (COMMA, "1,2345\t", "1.2345", "in"),
        (BARE, "12.34", "12.34", "mm"),
    ],
)
def test_a_tool_is_read_as_its_profile_says(value: TypedValue, line: str, text: str, unit: str) -> None:
    reading = read_typed_by(value, line, NOW, 5)
    assert (Decimal(reading.text), reading.unit) == (Decimal(text), unit)
    assert (reading.source, reading.raw, reading.tool, reading.key_gap_ms) == ("typed", line, "typed", 5)


@pytest.mark.parametrize(
    ("value", "line"),
    [
        (FIXED, "0012.34"),  # the first key was lost
        (FIXED, "+012.34"),
        (FIXED, "+0012.3444444"),  # a key that stuck
        (FIXED, "+0012,34"),
        (COMMA, "1.2345"),
        (COMMA, "1.234,5"),
        (BARE, "12,34"),
        (BARE, "１２.34"),
        (BARE, "−12.34"),
        (BARE, "12.34 mm"),
        (BARE, ""),
        (BARE, "1" * 41),
        (BARE, "1\x1b[2J"),
    ],
)
def test_what_differs_in_anything_is_refused_in_a_sentence(value: TypedValue, line: str) -> None:
    with pytest.raises(TypedError, match="end it again") as caught:
        read_typed_by(value, line, NOW)
    assert "\x1b" not in str(caught.value)


@given(st.text(max_size=50))
def test_no_line_of_a_tool_does_more_than_be_refused(line: str) -> None:
    for value in (FIXED, COMMA, BARE):
        with suppress(TypedError):
            assert Decimal(read_typed_by(value, line, NOW).text).is_finite()
