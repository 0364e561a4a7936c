"""Numbers as they travel, by published vectors in both directions and by round trips."""

import math
import struct
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers import octets
from drivers.gatt import FORMATS
from drivers.octets import FLOAT, FLOAT32, FLOAT64, SFLOAT, FrameError, Integer, MedicalFloat, Number, Special, shift

# HL7 Personal Health Device guide, "FLOATs and SFLOATs"; Bluetooth white paper Personal Health Devices Transcoding
# v16 (0x0072, 0xB076); a public question and answer, number 60841331 (36.4, 34.79, 36.97); the last two computed.
MEDICAL = [
    (SFLOAT, "7200", "114"),
    (SFLOAT, "76b0", "0.00118"),
    (SFLOAT, "0200", "2"),
    (SFLOAT, "14f0", "2.0"),
    (SFLOAT, "c8e0", "2.00"),
    (SFLOAT, "0210", "2E+1"),
    (SFLOAT, "0220", "2E+2"),
    (SFLOAT, "c800", "200"),
    (SFLOAT, "d204", "1234"),
    (SFLOAT, "2e0b", "-1234"),
    (SFLOAT, "fd07", "2045"),
    (SFLOAT, "0308", "-2045"),
    (FLOAT, "6c0100ff", "36.4"),
    (FLOAT, "970d00fe", "34.79"),
    (FLOAT, "710e00fe", "36.97"),
    (FLOAT, "140000ff", "2.0"),
    (FLOAT, "2efbff00", "-1234"),
    (FLOAT, "02000001", "2E+1"),
    (SFLOAT, "d4f3", "98.0"),
    (FLOAT, "482600fe", "98.00"),
]


@pytest.mark.parametrize(("kind", "hexes", "text"), MEDICAL)
def test_medical_floats_keep_the_precision_that_was_sent(kind: MedicalFloat, hexes: str, text: str) -> None:
    assert str(kind.decode(bytes.fromhex(hexes))) == text
    assert kind.encode(Decimal(text)).hex() == hexes


SPECIALS = [  # HL7 guide, table of special values
    (SFLOAT, "ff07", Special.NOT_A_NUMBER),
    (SFLOAT, "0008", Special.NOT_AT_RESOLUTION),
    (SFLOAT, "fe07", Special.PLUS_INFINITY),
    (SFLOAT, "0208", Special.MINUS_INFINITY),
    (SFLOAT, "0108", Special.RESERVED),
    (FLOAT, "ffff7f00", Special.NOT_A_NUMBER),
    (FLOAT, "00008000", Special.NOT_AT_RESOLUTION),
    (FLOAT, "feff7f00", Special.PLUS_INFINITY),
    (FLOAT, "02008000", Special.MINUS_INFINITY),
    (FLOAT, "01008000", Special.RESERVED),
]


@pytest.mark.parametrize(("kind", "hexes", "special"), SPECIALS)
def test_special_codes_both_ways(kind: MedicalFloat, hexes: str, special: Special) -> None:
    assert kind.decode(bytes.fromhex(hexes)) is special
    assert kind.encode(special).hex() == hexes


def test_special_mantissas_are_numbers_with_another_exponent() -> None:
    """As the text of the standard says; some public decoders differ."""
    assert SFLOAT.decode(bytes.fromhex("ff17")) == Decimal(20470)
    assert SFLOAT.encode(Decimal(20470)).hex() == "ff17"


@pytest.mark.parametrize(
    ("hexes", "text"),
    [("0000c442", "98"), ("3333c442", "98.1"), ("000000c0", "-2"), ("0000803f", "1"), ("00000000", "0")],
)
def test_binary32_is_the_shortest_decimal_with_these_octets(hexes: str, text: str) -> None:
    """98.1 is sent as 98.0999984741211 (to 15 digits, IEEE 754), which is what "98.1" means in binary32."""
    value = FLOAT32.decode(bytes.fromhex(hexes))
    assert value == Decimal(text)
    assert FLOAT32.encode(Decimal(text)).hex() == hexes


def test_the_largest_binary32_has_a_shortest_decimal_too() -> None:
    """3.4028235e38 (IEEE 754 binary32); every shorter decimal overflows or is another float."""
    assert FLOAT32.decode(bytes.fromhex("ffff7f7f")) == Decimal("3.4028235E+38")


def test_the_shortest_decimal_names_the_published_neighbour() -> None:
    assert FLOAT32.encode(Decimal("98.0999984741211")).hex() == "3333c442"


@pytest.mark.parametrize("kind", [FLOAT32, FLOAT64])
def test_binary_floats_say_what_is_no_number(kind: octets.BinaryFloat) -> None:
    for special in (Special.NOT_A_NUMBER, Special.PLUS_INFINITY, Special.MINUS_INFINITY):
        assert kind.decode(kind.encode(special)) is special
    with pytest.raises(FrameError):
        kind.encode(Special.NOT_KNOWN)


@pytest.mark.parametrize(
    ("kind", "hexes", "number"),
    [
        (octets.UINT8, "ff", 255),
        (octets.SINT8, "ff", -1),
        (octets.UINT16, "0102", 0x0201),
        (octets.SINT16, "0080", -32768),
        (octets.UINT24, "010000", 1),
        (octets.SINT24, "ffffff", -1),
        (octets.UINT32, "30e00300", 254000),
        (octets.SINT32, "b8d9ffff", -9800),
        (octets.UINT48, "000000000080", 1 << 47),
        (octets.SINT48, "000000000080", -(1 << 47)),
        (octets.UINT64, "ffffffffffffffff", (1 << 64) - 1),
        (octets.SINT64, "0000000000000080", -(1 << 63)),
    ],
)
def test_integers_are_little_endian(kind: Integer, hexes: str, number: int) -> None:
    assert kind.decode(bytes.fromhex(hexes)) == Decimal(number)
    assert kind.encode(Decimal(number)).hex() == hexes


@pytest.mark.parametrize("kind", FORMATS.values(), ids=repr)
def test_a_wrong_number_of_octets_is_refused_by_every_format(kind: octets.NumberFormat) -> None:
    for wrong in (b"", bytes(kind.size - 1), bytes(kind.size + 1)):
        with pytest.raises(FrameError, match=f"{len(wrong)} octets? where {kind.size}"):
            kind.decode(wrong)


@given(kind=st.sampled_from(list(FORMATS.values())), data=st.data())
def test_every_octet_string_of_the_right_size_round_trips(kind: octets.NumberFormat, data: st.DataObject) -> None:
    raw = data.draw(st.binary(min_size=kind.size, max_size=kind.size))
    number = kind.decode(raw)
    back = kind.encode(number)
    assert kind.decode(back) == number
    if number is not Special.NOT_A_NUMBER:
        assert back == raw


@given(st.floats(width=32, allow_nan=False, allow_infinity=False))
def test_a_shorter_decimal_would_name_another_float(value: float) -> None:
    decoded = FLOAT32.decode(struct.pack("<f", value))
    assert isinstance(decoded, Decimal)
    assert struct.pack("<f", float(decoded)) == struct.pack("<f", value)
    assert len(decoded.as_tuple().digits) <= 9
    assert math.isclose(float(decoded), value, rel_tol=1e-6, abs_tol=1e-45)


@given(mantissa=st.integers(-2045, 2045), exponent=st.integers(-8, 7))
def test_any_plain_mantissa_and_exponent_survive_sfloat(mantissa: int, exponent: int) -> None:
    number = shift(Decimal(mantissa), exponent)
    decoded = SFLOAT.decode(SFLOAT.encode(number))
    assert isinstance(decoded, Decimal)
    assert decoded.as_tuple() == number.as_tuple()


@given(st.decimals(allow_nan=False, allow_infinity=False), st.integers(-40, 40))
def test_shifting_there_and_back_changes_nothing(number: Decimal, places: int) -> None:
    assert shift(shift(number, places), -places).as_tuple() == number.as_tuple()


@pytest.mark.parametrize(
    ("kind", "number"),
    [
        (octets.UINT8, Decimal(256)),
        (octets.UINT8, Decimal(-1)),
        (octets.SINT16, Decimal("1.5")),
        (octets.UINT32, Special.NOT_KNOWN),
        (SFLOAT, Decimal(2046)),
        (SFLOAT, Decimal("20.475")),
        (SFLOAT, Special.NOT_KNOWN),
        (FLOAT32, Decimal("1E39")),
        (FLOAT, Decimal("1E200")),
        (SFLOAT, Decimal("Infinity")),
    ],
)
def test_what_a_format_cannot_carry_is_refused(kind: octets.NumberFormat, number: Number) -> None:
    with pytest.raises(FrameError):
        kind.encode(number)
