"""Signatures over heads of the chain: made with the event that ends a job, and checked again."""

import builtins
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from .anchor import Anchor
from .file import reader
from .keys import BenchKey, holds
from .schema import has_signatures, trail_id_of

_ENDS = frozenset(("job_closed", "interrupted", "commented"))
_EVERY = 256
"""A long job is signed on the way as well, once in so many events."""

_ALL = """SELECT s.seq, s.hash, s.key, s.signature, e.hash FROM signatures s LEFT JOIN events e ON e.seq = s.seq
    ORDER BY s.seq"""


def message(trail: str, seq: int, digest: builtins.bytes) -> builtins.bytes:
    """Return what is signed: four lines of ASCII, so that any tool can rebuild it."""
    return f"evenhand-head-1\n{trail}\n{seq}\n{digest.hex()}\n".encode("ascii")


@dataclass(frozen=True, slots=True)
class Seal:
    """Signs heads with the key of this bench; what `Trail.open` takes."""

    key: BenchKey

    def wants(self, seq: int, record: Mapping[str, object]) -> bool:
        """Tell whether the head is to be signed after this event."""
        event = record.get("event")
        return seq % _EVERY == 0 or (isinstance(event, Mapping) and event.get("kind") in _ENDS)

    def sign(self, trail: str, seq: int, digest: builtins.bytes) -> tuple[builtins.bytes, builtins.bytes]:
        """Return the public key and the signature over a head."""
        return self.key.public, self.key.sign(message(trail, seq, digest))


def signed(anchor: Anchor, key: BenchKey) -> Anchor:
    """Return a head with the signature of this bench, as a record carries it."""
    return replace(anchor, key=key.public, signature=key.sign(message(anchor.trail, anchor.seq, anchor.hash)))


@dataclass(frozen=True, slots=True)
class Signed:
    """What the signatures of a trail show."""

    count: int = 0
    last: int = 0
    """Number of the last event that a signature covers."""
    keys: tuple[builtins.bytes, ...] = ()
    """Public keys that signed, in order of appearance."""
    wrong: str = ""
    """The first thing that does not fit; empty when all do."""


def check_signatures(path: Path) -> Signed:
    """Hold every signature of a trail against its chain; what `reader` raises."""
    with reader(path) as connection:
        if not has_signatures(connection):
            return Signed()
        trail, found = trail_id_of(connection), Signed()
        for row in connection.execute(_ALL):
            if wrong := _wrong(trail, row):
                return Signed(found.count, found.last, found.keys, wrong)
            keys = found.keys if row[2] in found.keys else (*found.keys, row[2])
            found = Signed(found.count + 1, row[0], keys)
        return found


def _wrong(trail: str, row: tuple[int, bytes, bytes, bytes, bytes | None]) -> str:
    seq, digest, key, signature, chained = row
    if not all(isinstance(each, bytes) for each in (digest, key, signature)):
        return f"the signature over event {seq} is none"
    if not holds(key, message(trail, seq, digest), signature):
        return f"the signature over event {seq} does not hold"
    if chained is None:
        return f"event {seq} was signed and is gone: the end of the trail was cut off"
    return "" if chained == digest else f"event {seq} is not the one that was signed: the trail was written anew"
