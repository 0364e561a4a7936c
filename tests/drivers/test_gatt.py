"""SIG value types and Presentation Format descriptors, by published vectors in both directions."""

from decimal import Decimal

import pytest
from bleak.uuids import normalize_uuid_16
from hypothesis import given
from hypothesis import strategies as st

from drivers import gatt
from drivers.gatt import LENGTH, LINEAR_POSITION, SIG_VALUES, TORQUE, PresentationFormat, battery_of, plain, text_of
from drivers.octets import FrameError, Special

# Encodings: Bluetooth SIG GATT Specification Supplement; the octets computed by hand from it.
SIG_VECTORS = [
    (TORQUE, "48260000", "98.00", "N·m"),
    (TORQUE, "b8d9ffff", "-98.00", "N·m"),
    (LENGTH, "30e00300", "25.4000", "mm"),
    (LENGTH, "e0930400", "30.0000", "mm"),
    (LINEAR_POSITION, "0cfeffff", "-0.0500", "mm"),
]


@pytest.mark.parametrize(("uuid", "hexes", "text", "unit"), SIG_VECTORS)
def test_sig_values_both_ways(uuid: str, hexes: str, text: str, unit: str) -> None:
    value = SIG_VALUES[uuid].decode(bytes.fromhex(hexes))
    assert isinstance(value, Decimal)
    assert (plain(value), SIG_VALUES[uuid].unit) == (text, unit)
    assert SIG_VALUES[uuid].encode(Decimal(text)).hex() == hexes


@pytest.mark.parametrize(("uuid", "hexes"), [(TORQUE, "ffffff7f"), (LENGTH, "ffffffff"), (LINEAR_POSITION, "ffffff7f")])
def test_not_known_both_ways(uuid: str, hexes: str) -> None:
    assert SIG_VALUES[uuid].decode(bytes.fromhex(hexes)) is Special.NOT_KNOWN
    assert SIG_VALUES[uuid].encode(Special.NOT_KNOWN).hex() == hexes


@given(raw=st.integers(-(1 << 31), (1 << 31) - 2))
def test_every_torque_count_round_trips(raw: int) -> None:
    """Where scaling goes through floats, 0.29 N·m becomes 28 counts."""
    payload = raw.to_bytes(4, "little", signed=True)
    value = SIG_VALUES[TORQUE].decode(payload)
    assert value == Decimal(raw) / 100
    assert SIG_VALUES[TORQUE].encode(value) == payload


@given(raw=st.integers(0, (1 << 32) - 2))
def test_every_length_count_round_trips_as_millimetres(raw: int) -> None:
    payload = raw.to_bytes(4, "little")
    value = SIG_VALUES[LENGTH].decode(payload)
    assert value == Decimal(raw) / 10000
    assert isinstance(value, Decimal)
    assert plain(value).partition(".")[2].__len__() == 4
    assert SIG_VALUES[LENGTH].encode(value) == payload


# Core Specification Vol 3 Part G 3.3.3.5 (layout) and SIG formattypes and units (numbers); octets computed.
DESCRIBED = [
    ("10fe4127010000", "48260000", "98.00", "N·m", "torque"),
    ("08f90127010000", "30e00300", "25.4000", "mm", "length"),
    ("10fb0127010000", "280e0000", "36.24", "mm", "length"),
    ("0efca227010000", "d430", "1.2500", "in", "length"),
    ("14004127010000", "0000c442", "98", "N·m", "torque"),
    ("14054127010000", "0000c442", "98", "N·m", "torque"),  # an exponent with a float is ignored
    ("16004127010000", "d4f3", "98.0", "N·m", "torque"),
    ("17000127010000", "6c0100fc", "36.4", "mm", "length"),
    ("0a004127010000", "6200000000000000", "98", "N·m", "torque"),
    ("04024127010000", "17", "2300", "N·m", "torque"),  # value 23, exponent 2 (a documentation site's example)
    ("06fd4127010000", "340f", "3.892", "N·m", "torque"),  # value 3892, exponent -3 (seen in five documents)
]


@pytest.mark.parametrize(("descriptor", "hexes", "text", "unit", "quantity"), DESCRIBED)
def test_described_values_both_ways(descriptor: str, hexes: str, text: str, unit: str, quantity: str) -> None:
    described = PresentationFormat.decode(bytes.fromhex(descriptor))
    assert described.encode().hex() == descriptor
    form = described.value_format()
    value = form.decode(bytes.fromhex(hexes))
    assert isinstance(value, Decimal)
    assert (plain(value), form.unit, form.quantity) == (text, unit, quantity)
    assert form.encode(value).hex() == hexes


@pytest.mark.parametrize(
    ("descriptor", "words"),
    [
        ("0400ad27010000", "unit 0x27AD"),  # percentage
        ("0eff6327010000", "unit 0x2763"),  # degree
        ("10fe2527010000", "unit 0x2725"),  # joule: not the torque unit
        ("19004127010000", "number format 0x19"),  # text
        ("01004127010000", "number format 0x01"),  # boolean
        ("10fe412701", "5 octets where 7"),
    ],
)
def test_what_is_not_understood_is_named(descriptor: str, words: str) -> None:
    with pytest.raises(FrameError, match=words):
        PresentationFormat.decode(bytes.fromhex(descriptor)).value_format()


@pytest.mark.parametrize(
    ("descriptor", "hexes"),
    [
        ("087f0127010000", "01000000"),  # 1e127 m
        ("08800127010000", "01000000"),  # 1e-128 m
        ("15000127010000", "000000000000f07f"[:14] + "6f"),  # a float64 of three hundred digits
    ],
)
def test_a_number_of_hundreds_of_digits_is_refused(descriptor: str, hexes: str) -> None:
    form = PresentationFormat.decode(bytes.fromhex(descriptor)).value_format()
    with pytest.raises(FrameError, match="beyond"):
        form.decode(bytes.fromhex(hexes))


@given(st.binary(min_size=7, max_size=7), st.binary(max_size=10))
def test_no_descriptor_and_no_payload_does_more_than_refuse(descriptor: bytes, payload: bytes) -> None:
    try:
        value = PresentationFormat.decode(descriptor).value_format().decode(payload)
    except FrameError:
        return
    assert isinstance(value, Special) or len(plain(value)) <= 40


@pytest.mark.parametrize("number", [0x180A, 0x185A, 0x2A19, 0x2C0B])
def test_sixteen_bit_numbers_expand_as_bleak_expands_them(number: int) -> None:
    assert gatt.uuid16(number) == normalize_uuid_16(number)


def test_a_zero_has_no_sign_and_no_exponent() -> None:
    assert [plain(Decimal(t)) for t in ("-0.00", "0E+2", "2E+1", "-0.05")] == ["0.00", "0", "20", "-0.05"]


@pytest.mark.parametrize(
    ("payload", "text"),
    [
        (b"DC-0417", "DC-0417"),
        (b"DC-0417\x00\x00", "DC-0417"),
        (b"  a\x1b[2Jb\n", "a[2Jb"),
        (b"\xff\xfe", "\ufffd\ufffd"),
        (b"x" * 300, "x" * 64),
        (b"", ""),
    ],
)
def test_text_values_lose_padding_and_control_characters(payload: bytes, text: str) -> None:
    assert text_of(payload) == text


@pytest.mark.parametrize(
    ("payload", "level"), [(b"\x00", 0), (b"\x64", 100), (b"\x65", None), (b"", None), (b"\x10\x20", None)]
)
def test_battery_levels_above_a_hundred_are_reserved(payload: bytes, level: int | None) -> None:
    """Battery Level is 0 to 100, all other values reserved (GATT Specification Supplement)."""
    assert battery_of(payload) == level
