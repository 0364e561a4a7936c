"""Canonical bytes against RFC 8785, a reference library and the published SHA-256 vectors."""

import hashlib
import json
import unicodedata
from decimal import Decimal
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.trail.canonical import DOMAIN, MAX_BYTES, MAX_INT, decode, digest, encode, genesis

from .canonically import is_canonical

keys = st.text(st.characters(max_codepoint=127), max_size=8)
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
leaves = st.none() | st.booleans() | st.integers(-MAX_INT, MAX_INT) | texts
values = st.recursive(leaves, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=4))
records = st.dictionaries(keys, values, max_size=6)


def nfc(value: Any) -> Any:  # noqa: ANN401  (any JSON)
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, list):
        return [nfc(item) for item in value]
    if isinstance(value, dict):
        return {key: nfc(item) for key, item in value.items()}
    return value


@given(records)
def test_bytes_equal_those_of_the_reference_library(record: dict[str, Any]) -> None:
    assert encode(record) == rfc8785.dumps(nfc(record))


@given(records)
def test_what_is_encoded_decodes_the_same_and_is_canonical(record: dict[str, Any]) -> None:
    data = encode(record)
    assert decode(data) == nfc(record)
    assert is_canonical(data)


def test_rfc_8785_section_3_2_2_strings_and_literals() -> None:
    """The sample of RFC 8785, 3.2.2, without its floating-point numbers."""
    sample = rb'{"string": "\u20ac$\u000F\u000aA'
    sample += rb"'\u0042\u0022\u005c\\\"\/"
    sample += rb'", "literals": [null, true, false]}'
    expected = '{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert encode(decode(sample)) == expected.encode()


def test_rfc_8785_section_3_2_3_order_of_keys() -> None:
    """The sample of RFC 8785, 3.2.3, its ASCII keys in the order given there; its other keys are refused."""
    sample = {"1": "One", "\r": "Carriage Return"}
    assert encode(sample) == b'{"\\r":"Carriage Return","1":"One"}'
    for key in ("\u20ac", "\ufb33", "\U0001f600", "\u0080", "\u00f6"):
        with pytest.raises(BadInput, match="Keys are ASCII"):
            encode({**sample, key: "x"})


@pytest.mark.parametrize("number", [0, -1, 9007199254740991, -9007199254740991])
def test_rfc_8785_appendix_b_integers(number: int) -> None:
    assert encode({"n": number}) == b'{"n":%d}' % number


@pytest.mark.parametrize(
    ("value", "names"),
    [
        (10.0, "record.a holds a float"),
        (float("nan"), "float"),
        (Decimal("36.20"), "Decimal"),
        (2**53, "2\\^53-1"),
        (-(2**53), "2\\^53-1"),
        (b"00", "bytes"),
        ({1: 2}, "the key 1"),
        ({"é": 2}, "the key 'é'"),
        ([[0.5]], r"record\.a\[0\]\[0\] holds a float"),
        ("\ud800", "surrogate"),
        ("x" * MAX_BYTES, "at most"),
    ],
)
def test_what_cannot_be_canonical_is_refused_by_place(value: object, names: str) -> None:
    with pytest.raises(BadInput, match=names):
        encode({"a": value})


def test_nesting_is_bounded_both_ways() -> None:
    deep: list[Any] = []
    for _ in range(40):
        deep = [deep]
    with pytest.raises(BadInput, match="levels"):
        encode({"a": deep})
    with pytest.raises(BadInput, match="nested too deeply"):
        decode(b'{"a":' + b"[" * 200_000)


@pytest.mark.parametrize(
    "data",
    [
        b"", b"[]", b"1", b'{"a":1.0}', b'{"a":-0.0}', b'{"a":1e400}', b'{"a":NaN}', b'{"a":Infinity}', b'{"a":1}{}',
        b'{"a":1,"a":1}', b'{"a":9007199254740992}', b'{"a":' + b"9" * 5000 + b"}", '{"a":1}'.encode("utf-16"),
        b'\xef\xbb\xbf{"a":1}', b'{"a":"\xff"}', b'{"a":"\x01"}', b'{"a":1' + b" " * MAX_BYTES + b"}",
    ],
)  # fmt: skip
def test_decode_refuses_what_is_not_strict(data: bytes) -> None:
    with pytest.raises(BadInput):
        decode(data)


@pytest.mark.parametrize(
    "data",
    [
        b'{"a": 1}',
        b'{"b":1,"a":1}',
        b'{"a":"\\u0041"}',
        b'{"a":-0}',
        b'{"a":"\\/"}',
        '{"a":"e\u0301"}'.encode(),
        b'{"a":"\\ud800"}',
    ],
)
def test_other_bytes_for_the_same_record_are_not_canonical(data: bytes) -> None:
    assert isinstance(decode(data), dict)
    assert not is_canonical(data)


def test_both_forms_of_an_accent_give_the_same_bytes() -> None:
    assert encode({"by": "Jose\u0301"}) == encode({"by": "Jos\u00e9"}) == '{"by":"José"}'.encode()


def test_digest_is_sha_256_over_tag_previous_hash_and_bytes() -> None:
    prev = bytes(range(32))
    assert digest(prev, b"{}") == hashlib.sha256(b"evenhand-trail-1\n" + prev + b"{}").digest()
    assert genesis("ab") == hashlib.sha256(b"evenhand-trail-1\nab").digest()
    assert genesis("ab") != genesis("ac")
    assert DOMAIN.endswith(b"\n")


@pytest.mark.parametrize(
    ("message", "hexdigest"),
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
    ],
)
def test_fips_180_4_vectors(message: bytes, hexdigest: str) -> None:
    """The example messages published with FIPS 180-4 (from memory)."""
    assert hashlib.sha256(message).hexdigest() == hexdigest


def test_json_of_the_standard_library_reads_the_bytes() -> None:
    assert json.loads(encode({"unit": "N·m", "text": "98.30"})) == {"text": "98.30", "unit": "N·m"}
