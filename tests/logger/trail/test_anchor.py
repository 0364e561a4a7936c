"""A head noted elsewhere: each way to note it leads back to the same."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.trail.anchor import Anchor, as_text, from_text
from logger.trail.anchorfile import from_record

from .headed import HASH, HEAD, TRAIL


def record(**head: object) -> bytes:
    return json.dumps({"format": "evenhand-record", "job": "j1", "head": {"trail": TRAIL, **head}}).encode()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (as_text(HEAD), HEAD),
        (f" {as_text(HEAD).lower()}\n", HEAD),
        (f"41:{HASH}", Anchor(41, HEAD.hash)),
        (f"41 {HASH.upper()}", Anchor(41, HEAD.hash)),
        (HEAD.words, Anchor(41, HEAD.hash[:8])),
    ],
)
def test_each_form_is_read(text: str, expected: Anchor) -> None:
    assert from_text(text) == expected


@given(st.integers(0, 10**15 - 1), st.binary(min_size=32, max_size=32))
def test_the_text_of_a_head_comes_back(seq: int, digest: bytes) -> None:
    assert from_text(as_text(Anchor(seq, digest, TRAIL))) == Anchor(seq, digest, TRAIL)


def test_the_text_uses_only_what_a_qr_code_holds_in_its_denser_mode() -> None:
    """ISO/IEC 18004, alphanumeric mode: digits, capitals and nine signs (from memory)."""
    assert set(as_text(HEAD)) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
    assert as_text(HEAD) == f"EVENHAND:1:{TRAIL.upper()}:41:{HASH.upper()}"


@pytest.mark.parametrize("text", ["", "41", "41:abc", f"x:{HASH}", f"-1:{HASH}", f"41:{HASH}0", "1" * 16 + f":{HASH}"])
def test_what_is_no_head_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        from_text(text)


def test_a_record_gives_its_head_and_who_signed_it() -> None:
    assert from_record(record(seq=41, sha256=HASH), "r.json") == HEAD
    signed = from_record(record(seq=41, sha256=HASH, key="ab" * 32, signature="cd" * 64, later="unknown"), "r.json")
    assert signed == Anchor(41, HEAD.hash, TRAIL, b"\xab" * 32, b"\xcd" * 64)
    assert from_record(f"{HEAD.words}\n".encode(), "note.txt") == Anchor(41, HEAD.hash[:8])


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{}",
        b"[" * 100_000,
        b"\xff\xfe",
        b'{"format":"evenhand-record"}',
        b'{"format":"evenhand-record","head":7}',
        record(seq=41, sha256=HASH).replace(b"evenhand-record", b"another"),
        record(seq="41", sha256=HASH),
        record(seq=-1, sha256=HASH),
        record(seq=41, sha256="ba"),
        record(seq=41, sha256=HASH, signature="x"),
    ],
)
def test_what_is_no_record_is_refused_by_name(data: bytes) -> None:
    with pytest.raises(BadInput, match=r"r\.json is neither"):
        from_record(data, "r.json")
