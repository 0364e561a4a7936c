"""Octets that are spoken for: counters and check sums, proven over all frames of a length; no flag lives in them."""

import binascii
from collections.abc import Callable, Sequence

from .kind import changed_bits, is_counter

ENOUGH = 5
"""Frames that it takes to prove a counter or a check sum."""


def busy_octets(frames: Sequence[bytes], known: Sequence[bytes]) -> frozenset[int]:
    """Return the octets that count, or check, the frames of one length; none where there are too few frames."""
    size = len(known[0]) if known else 0
    same = [frame for frame in frames if len(frame) == size]
    if len(set(same)) < ENOUGH or any(len(frame) != size for frame in known):
        return frozenset()
    marks = [at for at in range(min(3, size)) if not changed_bits(known, at)]
    alike = [frame for frame in same if all(frame[at] == known[0][at] for at in marks)]
    counters = {at for at in range(size) if _counts(same, at) or _counts(alike, at)}
    return frozenset(counters | _checks(list(set(same)), size))


def _counts(frames: Sequence[bytes], at: int) -> bool:
    return len(frames) >= ENOUGH and is_counter([frame[at] for frame in frames])


def _checks(frames: Sequence[bytes], size: int) -> set[int]:
    """Return the last octet or two, where they check those before, from the first, second or third octet on."""
    for start in range(min(3, size - 2)):
        if any(all(check(frame[start:-1]) == frame[-1] for frame in frames) for check in _ONE):
            return {size - 1}
        if any(all(check(frame[start:-2]) == frame[-2:] for frame in frames) for check in _TWO):
            return {size - 2, size - 1}
    return set()


def _xor(octets: bytes) -> int:
    total = 0
    for octet in octets:
        total ^= octet
    return total


def _crc(octets: bytes, poly: int, start: int) -> int:
    """Return a CRC of 8 bits, most significant bit first."""
    crc = start
    for octet in octets:
        crc ^= octet
        for _ in range(8):
            crc = (crc << 1 ^ poly) & 0xFF if crc & 0x80 else crc << 1
    return crc


def _modbus(octets: bytes) -> int:
    """Return the CRC-16 of the Modbus serial line specification: 0xA001, from 0xFFFF, least significant bit first."""
    crc = 0xFFFF
    for octet in octets:
        crc ^= octet
        for _ in range(8):
            crc = crc >> 1 ^ 0xA001 if crc & 1 else crc >> 1
    return crc


_ONE: tuple[Callable[[bytes], int], ...] = (
    lambda octets: sum(octets) & 0xFF,
    lambda octets: -sum(octets) & 0xFF,
    lambda octets: ~sum(octets) & 0xFF,
    _xor,
    lambda octets: _crc(octets, 0x07, 0),
    lambda octets: _crc(octets, 0x07, 0xFF),
    lambda octets: _crc(octets, 0x31, 0),
    lambda octets: _crc(octets, 0x31, 0xFF),
)
_WORDS: tuple[Callable[[bytes], int], ...] = (
    lambda octets: sum(octets) & 0xFFFF,
    lambda octets: binascii.crc_hqx(octets, 0),
    lambda octets: binascii.crc_hqx(octets, 0xFFFF),
    _modbus,
)


def _ordered(check: Callable[[bytes], int], order: str) -> Callable[[bytes], bytes]:
    return lambda octets: check(octets).to_bytes(2, "little" if order == "little" else "big")


_TWO = tuple(_ordered(check, order) for check in _WORDS for order in ("little", "big"))
