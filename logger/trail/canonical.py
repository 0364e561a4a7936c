"""One form of bytes for one record (RFC 8785, the JSON canonicalization scheme), and the hash that chains them.

There are no floats: decimals are text exactly as received. With ASCII keys and integers within ±(2^53-1) the
standard library's sorted, compact JSON is the canonical form, so any language can verify the stored bytes.
"""

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from typing import NoReturn

from logger.errors import BadInput

DOMAIN = b"evenhand-trail-1\n"
"""Keeps these hashes apart from every other use of SHA-256; the digit is the version of the format."""

MAX_BYTES = 1 << 20
MAX_DEPTH = 32
MAX_INT = 2**53 - 1


def genesis(trail_id: str) -> bytes:
    """Return the hash that stands before the first event: it binds the chain to this trail's id."""
    return hashlib.sha256(DOMAIN + trail_id.encode("ascii")).digest()


def digest(prev: bytes, data: bytes) -> bytes:
    """Return SHA-256 over the domain tag, the 32 bytes of the previous hash and the stored bytes (FIPS 180-4)."""
    return hashlib.sha256(DOMAIN + prev + data).digest()


def encode(record: Mapping[str, object]) -> bytes:
    """Return the canonical bytes of a record; BadInput names the place of what cannot be stored (a float, say)."""
    text = json.dumps(
        _clean(record, "record", 0), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    try:
        data = text.encode()
    except UnicodeEncodeError:
        raise BadInput("The record holds half of a surrogate pair.", "Repair the text before storing it.") from None
    return _bounded(data)


def decode(data: bytes) -> dict[str, object]:
    """Read a record strictly; BadInput on anything but UTF-8 JSON of bounded size, with unique keys and no floats."""
    try:
        found = _DECODER.decode(_bounded(data).decode())
    except RecursionError:
        raise BadInput("The record is nested too deeply.", "It was not written by this program.") from None
    except ValueError as error:
        raise BadInput(f"The record is not canonical JSON: {error}.", "It was not written by this program.") from None
    if not isinstance(found, dict):
        raise BadInput("The record is not a JSON object.", "It was not written by this program.")
    return found


def _clean(value: object, where: str, depth: int) -> object:
    """Return the value with strings in Unicode form NFC; BadInput on what canonical bytes cannot hold."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return value if value.isascii() else unicodedata.normalize("NFC", value)
    if isinstance(value, int):
        return value if abs(value) <= MAX_INT else _refuse(where, "an integer beyond 2^53-1", "Store it as text.")
    if depth >= MAX_DEPTH:
        _refuse(where, f"more than {MAX_DEPTH} levels", "Flatten it.")
    if isinstance(value, Mapping):
        return {_key(key, where): _clean(item, f"{where}.{key}", depth + 1) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(item, f"{where}[{place}]", depth + 1) for place, item in enumerate(value)]
    return _refuse(where, f"a {type(value).__name__}", "Store numbers with a point as text, exactly as received.")


def _key(key: object, where: str) -> str:
    if isinstance(key, str) and key.isascii():
        return key
    return _refuse(where, f"the key {key!r}", "Keys are ASCII text.")


def _refuse(where: str, what: str, remedy: str) -> NoReturn:
    raise BadInput(f"{where} holds {what}, which cannot be stored.", remedy)


def _bounded(data: bytes) -> bytes:
    if len(data) > MAX_BYTES:
        raise BadInput(f"The record has {len(data)} bytes; at most {MAX_BYTES} are allowed.", "Store it in parts.")
    return data


def _unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice")
    return found


def _integer(text: str) -> int:
    if len(text) > len(str(-MAX_INT)) or abs(int(text)) > MAX_INT:
        raise ValueError("an integer is beyond 2^53-1")
    return int(text)


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"the number {text[:20]} is not an integer")


_DECODER = json.JSONDecoder(
    object_pairs_hook=_unique, parse_int=_integer, parse_float=_no_number, parse_constant=_no_number
)
