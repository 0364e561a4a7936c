"""Numbers at an offset: vectors in both directions, round trips of every form, and what gives no reading."""

import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from drivers.decode.numbers import field_number, read_number, write_number
from drivers.decode.said import AsideError, Said
from drivers.octets import FrameError, Special
from drivers.profile.fields import Form
from drivers.profile.values import WIDTHS, NumberValue, OtherWay

OWN = "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"


def number(**keys: object) -> NumberValue:
    plain = {"decode": "number", "role": "reading", "characteristic": OWN, "offset": 0, "unit": "mm"}
    return NumberValue.model_validate_json(json.dumps(plain | keys))


def bits(at: int, equals: int, mask: int = 0xFF) -> dict[str, int]:
    return {"at": at, "mask": mask, "equals": equals}


CASES = [{"equals": 0, "unit": "mm", "exponent": -2}, {"equals": 1, "unit": "in", "exponent": -4}]
MM_OR_IN = {"at": 0, "mask": 0x01, "cases": CASES}

# computed by hand from the definitions; the float and medical ones are the published vectors of test_octets.py
VECTORS = [
    (number(form="unsigned", width=16, exponent=-2), "e10b", "30.41 mm"),
    (number(form="unsigned", width=16, order="big", exponent=-2), "0be1", "30.41 mm"),
    (number(form="signed", width=24, order="big", exponent=-3), "fffffe", "-0.002 mm"),
    (number(form="signed", width=40, exponent=0), "feffffffff", "-2 mm"),
    (number(form="sign-magnitude", width=16, exponent=-2), "e18b", "-30.41 mm"),
    (number(form="sign-magnitude", width=32, order="big", exponent=-2), "80000be1", "-30.41 mm"),
    (number(form="bcd", width=24, order="big", exponent=-2), "003041", "30.41 mm"),
    (number(form="bcd", width=24, exponent=-2), "413000", "30.41 mm"),
    (number(form="unsigned", width=64, exponent=-9), "ffffffffffffff7f", "9223372036.854775807 mm"),
    (number(form="float", width=32, unit="N·m"), "3333c442", "98.1 N·m"),
    (number(form="float", width=32, order="big", unit="N·m"), "42c43333", "98.1 N·m"),
    (number(form="float", width=64, unit="in"), "000000000000f83f", "1.5 in"),
    (number(form="medical", width=16, unit="N·m"), "d4f3", "98.0 N·m"),
    (number(form="medical", width=32, order="big", unit="N·m"), "fe002648", "98.00 N·m"),
    (number(form="unsigned", width=16, mask=0x0FFF, exponent=-1), "e10b", "304.1 mm"),
    (number(form="unsigned", width=16, mask=0xFFF0, exponent=-1), "10be", "304.1 mm"),
    (number(form="signed", width=16, mask=0x0FFF, exponent=-1), "ff0f", "-0.1 mm"),
    (number(form="unsigned", width=16, offset=1, sign=bits(0, 0x80, 0x80), exponent=-2), "80e10b", "-30.41 mm"),
    (number(form="bcd", width=16, offset=1, order="big", sign=bits(0, 0x2D), exponent=-2), "2d3041", "-30.41 mm"),
    # 1/32 N·m: the torque fields of Cycling Power Measurement (GATT Specification Supplement)
    (number(form="signed", width=16, factor="0.03125", unit="N·m"), "0100", "0.03125 N·m"),
    (number(form="unsigned", width=16, offset=1, unit=None, units=MM_OR_IN), "00e10b", "30.41 mm"),
    (number(form="unsigned", width=16, offset=1, unit=None, units=MM_OR_IN), "01e10b", "0.3041 in"),
]


@pytest.mark.parametrize(("value", "hexes", "says"), VECTORS)
def test_vectors_both_ways(value: NumberValue, hexes: str, says: str) -> None:
    frame = bytes.fromhex(hexes)
    assert str(read_number(value, frame)) == says
    text, unit = says.split()
    assert write_number(value, Decimal(text), unit) == frame
    assert write_number(value, Decimal(text), unit, frame) == frame


FORMS = [(form, width) for form, widths in WIDTHS.items() for width in widths]


@given(data=st.data(), kind=st.sampled_from(FORMS), order=st.sampled_from(["little", "big"]))
def test_any_frame_that_is_read_is_written_again(data: st.DataObject, kind: tuple[Form, int], order: str) -> None:
    form, width = kind
    value = number(form=form, width=width, order=order, offset=2, exponent=data.draw(st.integers(-6, 0)), lengths=(12,))
    frame = data.draw(st.binary(min_size=12, max_size=12))
    try:
        said = read_number(value, frame)
    except FrameError:
        return
    if said.value is Special.NOT_A_NUMBER and form == "float":
        return  # a float has many ways to say that
    try:
        assert write_number(value, said.value, said.unit, frame) == frame
    except FrameError:
        assert isinstance(said.value, Special)


@given(
    raw=st.integers(0, 9999),
    kind=st.sampled_from([k for k in FORMS if k[0] not in {"float", "medical"} and k[1] >= 16]),
    order=st.sampled_from(["little", "big"]),
    exponent=st.integers(-4, 2),
)
def test_any_value_that_is_written_is_read_again(raw: int, kind: tuple[Form, int], order: str, exponent: int) -> None:
    form, width = kind
    value = number(form=form, width=width, order=order, offset=3, exponent=exponent)
    amount = Decimal(raw).scaleb(exponent)
    assert read_number(value, write_number(value, amount, "mm")) == Said(amount, "mm", "length")


@given(
    exponent=st.integers(-4, 1),
    factor=st.decimals(min_value="0.0001", max_value=1000, places=4),
    raw=st.integers(0, 65535),
)
def test_a_factor_is_exact_both_ways(exponent: int, factor: Decimal, raw: int) -> None:
    value = number(form="unsigned", width=16, exponent=exponent, factor=str(factor))
    said = read_number(value, raw.to_bytes(2, "little"))
    assert isinstance(said.value, Decimal)
    assert said.value == raw * factor.scaleb(exponent)
    assert write_number(value, said.value, "mm") == raw.to_bytes(2, "little")


def test_a_zero_with_a_sign_is_shown_without_and_written_again() -> None:
    value = number(form="sign-magnitude", width=16, exponent=-2)
    said = read_number(value, bytes.fromhex("0080"))
    assert str(said) == "0.00 mm"
    assert write_number(value, said.value, "mm") == bytes.fromhex("0080")


MESSAGE = number(
    form="unsigned",
    width=16,
    offset=2,
    exponent=-2,
    lengths=(6,),
    header=(bits(0, 0xA5),),
    fixed=(bits(1, 0x00, 0xF0),),
    button=bits(5, 0x01, 0x01),
    counter={"at": 4},
    unknown=0xFFFF,
)


@pytest.mark.parametrize(
    ("hexes", "reason"),
    [
        ("a500e10b07", "It has 5 octets, as another kind of message."),
        ("a600e10b0701", "Its first octets are those of another kind of message."),
        ("a500e10b0700", "Its button was not pressed."),
    ],
)
def test_another_kind_of_message_is_set_aside(hexes: str, reason: str) -> None:
    with pytest.raises(AsideError, match=reason):
        read_number(MESSAGE, bytes.fromhex(hexes))


def test_a_bit_whose_meaning_is_not_known_gives_no_reading() -> None:
    with pytest.raises(
        FrameError, match=r"Octet 1 has bits \(0x40\) whose meaning the profile does not know"
    ) as raised:
        read_number(MESSAGE, bytes.fromhex("a541e10b0701"))
    assert not isinstance(raised.value, AsideError)


def test_bits_outside_every_mask_do_not_matter() -> None:
    assert str(read_number(MESSAGE, bytes.fromhex("a50fe10b63ff"))) == "30.41 mm"


def test_the_code_for_not_known_is_no_number() -> None:
    said = read_number(MESSAGE, bytes.fromhex("a500ffff0701"))
    assert said.value is Special.NOT_KNOWN
    assert write_number(MESSAGE, said.value, "mm") == bytes.fromhex("a500ffff0001")


MODES = [{"equals": 0x10, "mode": "held", "reads": False}, {"equals": 0x20, "mode": "absolute"}]
MODAL = number(form="unsigned", width=16, offset=1, exponent=-2, mode={"at": 0, "mask": 0x70, "cases": MODES})


def test_the_mode_that_a_tool_is_in_is_told_with_its_reading_and_written_again() -> None:
    frame = bytes.fromhex("a1e10b")
    said = read_number(MODAL, frame)
    assert (str(said), said.mode) == ("30.41 mm", "absolute")
    assert write_number(MODAL, said.value, "mm", frame) == frame
    assert read_number(MODAL, write_number(MODAL, said.value, "mm")).mode == "absolute"


@pytest.mark.parametrize(
    ("hexes", "reason"),
    [
        ("10e10b", "in the mode 'held', which gives no reading; set it to another mode"),
        ("30e10b", "mode code 0x30 is not one that the profile knows"),
        ("00e10b", "mode code 0x00 is not one that the profile knows"),
    ],
)
def test_a_mode_that_is_not_meant_for_readings_or_not_known_gives_none(hexes: str, reason: str) -> None:
    with pytest.raises(FrameError, match=reason) as caught:
        read_number(MODAL, bytes.fromhex(hexes))
    assert not isinstance(caught.value, AsideError), "it is told, not set aside"


@pytest.mark.parametrize(
    ("cases", "words"),
    [
        ([{"equals": 0x11, "mode": "held"}], "no bits that the mask leaves out"),
        ([{"equals": 0x10, "mode": "held"}, {"equals": 0x10, "mode": "absolute"}], "stands once"),
        ([{"equals": 0x10, "mode": "held", "reads": False}], "at least one mode gives readings"),
        ([{"equals": 0x10, "mode": "\u001b[2J"}], "should match"),
    ],
)
def test_a_mode_field_that_makes_no_sense_is_refused(cases: list[dict[str, object]], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        number(form="unsigned", width=16, offset=1, mode={"at": 0, "mask": 0x70, "cases": cases})


def test_a_unit_code_that_is_not_listed_gives_no_reading() -> None:
    wide = MM_OR_IN | {"mask": 0x03}
    value = number(form="unsigned", width=16, offset=1, unit=None, units=wide)
    with pytest.raises(FrameError, match="unit code 0x02 is not one"):
        read_number(value, bytes.fromhex("02e10b"))
    assert str(read_number(value, bytes.fromhex("01e10b"))) == "0.3041 in"


@pytest.mark.parametrize(
    ("value", "amount", "unit", "reason"),
    [
        (number(form="unsigned", width=8), "256", "mm", "256 does not fit in 8 bits"),
        (number(form="unsigned", width=8), "-1", "mm", "does not fit"),
        (number(form="signed", width=8), "128", "mm", "does not fit"),
        (number(form="sign-magnitude", width=8), "-128", "mm", "does not fit"),
        (number(form="bcd", width=8), "100", "mm", "does not fit"),
        (number(form="unsigned", width=8, exponent=-1), "1.25", "mm", "12.5 is not a whole count"),
        (number(form="unsigned", width=8, factor="3"), "1", "mm", "not a whole count of 3"),
        (number(form="unsigned", width=8), "1", "in", "cannot say in"),
        (number(form="unsigned", width=16, offset=1, unit=None, units=MM_OR_IN), "1", "thou", "cannot say thou"),
    ],
)
def test_what_a_layout_cannot_carry_is_refused(value: NumberValue, amount: str, unit: str, reason: str) -> None:
    with pytest.raises(FrameError, match=reason):
        write_number(value, Decimal(amount), unit)


def test_a_field_of_no_digits_is_no_number() -> None:
    with pytest.raises(FrameError, match="no decimal digits"):
        field_number(number(form="bcd", width=16), bytes.fromhex("3a41"))


def test_a_frame_that_is_too_short_is_refused_both_ways() -> None:
    value = number(form="unsigned", width=32)
    with pytest.raises(FrameError, match="2 octets where 4 are needed"):
        read_number(value, b"\1\2")
    with pytest.raises(FrameError, match="2 octets where 4 are needed"):
        write_number(value, Decimal(1), "mm", b"\1\2")


@given(frame=st.binary(max_size=16))
def test_any_octets_are_a_reading_or_refused(frame: bytes) -> None:
    try:
        said = read_number(MESSAGE, frame)
    except FrameError as error:
        assert str(error).endswith(".")  # noqa: PT017  (either outcome is right; each has its own condition)
    else:
        assert frame[0] == 0xA5
        assert said.unit == "mm"


def test_another_way_to_read_a_number_must_say_the_same() -> None:
    narrow = OtherWay(form="signed", offset=0, width=16, exponent=-2, unit="mm")
    value = NumberValue(
        decode="number", role="reading", characteristic="0xFFE1", form="signed", offset=0, width=32, exponent=-2,
        unit="mm", agree=(narrow,),
    )  # fmt: skip
    assert str(read_number(value, (-512).to_bytes(4, "little", signed=True))) == "-5.12 mm"
    for count in (40000, -40000):
        with pytest.raises(FrameError, match="more than one way"):
            read_number(value, count.to_bytes(4, "little", signed=True))
