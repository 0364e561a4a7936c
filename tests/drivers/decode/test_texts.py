"""Numbers written out: vectors in both directions, the declared mark and format, and patterns that are refused."""

import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.decode.said import AsideError
from drivers.decode.texts import read_text, write_text
from drivers.octets import FrameError, Special
from drivers.profile.template import Template, TemplateError
from drivers.profile.values import TextValue

OWN = "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"
UNITS = [{"equals": "mm", "unit": "mm"}, {"equals": "IN", "unit": "in"}]


def text(**keys: object) -> TextValue:
    plain = {"decode": "text", "role": "reading", "characteristic": OWN, "pattern": "{number}"}
    given = plain | ({} if "units" in keys else {"unit": "mm"}) | keys
    return TextValue.model_validate_json(json.dumps(given))


VECTORS = [
    (text(), "30.41", "30.41 mm"),
    (text(mark=","), "-30,41", "-30.41 mm"),
    (text(mark="none", exponent=-2), "3041", "30.41 mm"),
    (text(pattern="{number}{space}{unit}", units=UNITS), "30.41mm", "30.41 mm"),
    (text(pattern="{number}{space}{unit}", units=UNITS, terminator="\r\n"), "1.1975IN\r\n", "1.1975 in"),
    (text(pattern="D={number};", picture="+0000.00"), "D=+0030.41;", "30.41 mm"),
    (text(pattern="D={number};", picture="-0000,00", mark=","), "D=-0030,41;", "-30.41 mm"),
    (text(pattern="{number}", picture="000", mark="none", exponent=-1), "098", "9.8 mm"),
    (text(pattern="#{digits} {number}", exponent=3), "#0 0.0304100", "30.4100 mm"),
]


@pytest.mark.parametrize(("value", "message", "says"), VECTORS)
def test_vectors_both_ways(value: TextValue, message: str, says: str) -> None:
    assert str(read_text(value, message.encode())) == says
    number, unit = says.split()
    assert write_text(value, Decimal(number), unit) == message.encode()


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (text(pattern="#{digits} {number}"), "#0731   +30.41"),
        (text(pattern="{word}-{digits} {number}{space}{unit}", units=UNITS), "ch-1 - 0030.41   IN"),
        (text(pattern="{number}"), "00.07"),
        (text(pattern="{number}", terminator="\n"), "7.00"),
    ],
)
def test_what_is_ignored_stays_when_a_message_is_written_again(value: TextValue, message: str) -> None:
    said = read_text(value, message.encode())
    assert write_text(value, said.value, said.unit, message.encode()) == message.encode()


@pytest.mark.parametrize(
    ("value", "message", "reason"),
    [
        (text(), "30,41", "decimal mark"),
        (text(mark=","), "30.41", "decimal mark"),
        (text(mark="none"), "30.41", "decimal mark"),
        (text(picture="+0000.00"), "30.41", "fixed format"),  # the first key eaten by a keyboard that wakes
        (text(picture="+0000.00"), "+0030.4", "fixed format"),
        (text(picture="+0000.00"), "+00030.41", "fixed format"),
        (text(picture="0000.00"), "-0030.41", "fixed format"),
        (text(picture="00.0"), "30", "fixed format"),
        (text(pattern="{number} {unit}", units=UNITS), "30.41 MM", "unit 'MM' is not one"),
    ],
)
def test_what_is_not_as_declared_gives_no_reading(value: TextValue, message: str, reason: str) -> None:
    with pytest.raises(FrameError, match=reason) as raised:
        read_text(value, message.encode())
    assert not isinstance(raised.value, AsideError)


@pytest.mark.parametrize(
    "message",
    [
        "",
        "BAT 93%",
        "30.41 ",
        "1.234,5",
        "１２.5",
        "−3.5",
        "30.4444444444444444444444",
        "3.5e4",
        "nan",
        "\x1b[2J",
        "30.41\n",
    ],
)
def test_what_does_not_look_like_the_pattern_is_set_aside(message: str) -> None:
    with pytest.raises(AsideError):
        read_text(text(), message.encode())


@given(
    value=st.decimals(min_value=-9999, max_value=9999, places=2),
    mark=st.sampled_from([".", ","]),
    fixed=st.booleans(),
)
def test_any_value_that_is_written_is_read_again(value: Decimal, mark: str, fixed: bool) -> None:
    form = text(mark=mark, pattern="L {number}{space}{unit}", units=UNITS, picture=f"-0000{mark}00" if fixed else None)
    said = read_text(form, write_text(form, value, "in"))
    assert (said.value, said.unit) == (value, "in")


@given(message=st.binary(max_size=600), mark=st.sampled_from([".", ",", "none"]))
def test_any_octets_are_a_reading_or_refused(message: bytes, mark: str) -> None:
    value = text(pattern="{word}{space}{number}{space}{unit}", units=UNITS, mark=mark)
    try:
        assert read_text(value, message).quantity == "length"
    except FrameError as error:
        assert str(error).endswith(".")  # noqa: PT017  (either outcome is right; each has its own condition)


@pytest.mark.parametrize(
    ("value", "number", "unit", "reason"),
    [
        (text(picture="00.0"), "100.0", "mm", "does not fit in 00.0"),
        (text(picture="00.0"), "1.25", "mm", "does not fit"),
        (text(picture="00.0"), "-1.5", "mm", "has no sign"),
        (text(mark="none"), "1.5", "mm", "not a whole count"),
        (text(), "1.5", "in", "cannot say in"),
    ],
)
def test_what_a_format_cannot_carry_is_refused(value: TextValue, number: str, unit: str, reason: str) -> None:
    with pytest.raises(FrameError, match=reason):
        write_text(value, Decimal(number), unit)


def test_a_text_cannot_say_that_there_is_no_number() -> None:
    with pytest.raises(FrameError, match="cannot say not known"):
        write_text(text(), Special.NOT_KNOWN, "mm")


@pytest.mark.parametrize(
    ("pattern", "reason"),
    [
        ("{number}{number}", "once"),
        ("{word}", "once"),
        ("{nmber}", r"\{nmber\} is none of"),
        ("{number}\n", "printable text"),
        ("{number}\u202e", "printable"),
    ],
)
def test_a_pattern_that_cannot_be_used_is_refused(pattern: str, reason: str) -> None:
    with pytest.raises(TemplateError, match=reason):
        Template.parse(pattern)


def test_a_pattern_of_many_places_is_quick_on_a_message_that_almost_fits() -> None:
    parsed = Template.parse("{word}-{digits}{word}{space}{word}{digits}{space}{number}")
    assert parsed.match("-" * 500) is None
    assert parsed.match("1" * 511) is None
    assert parsed.match("1" * 513) is None
