"""Reading a trail back, and checking that it is what was written; works beside a running writer."""

import builtins
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from logger.errors import BadInput, TrailDamaged

from .canonical import DOMAIN, decode, digest, encode, genesis
from .clocks import Jump, jump, moment_of
from .file import SQLITE_ERRORS, job_of, reader, trouble
from .head import lost, read_note
from .schema import trail_id_of

_PAGE = 256
_MOST_JUMPS = 100
_NUMBERS = 64
"""Bytes: within so many after the job stand the running clock and the number."""
_KEEP = "Keep the file aside untouched, and compare it with a backup or the shop's copy."

_ALL = "SELECT seq, prev, hash, bytes FROM events WHERE seq > :after ORDER BY seq LIMIT :page"
# NOT INDEXED: read is the very table that `verify` checks, not an index beside it
_OF_JOB = """SELECT e.seq, e.prev, e.hash, e.bytes FROM job_events j NOT INDEXED CROSS JOIN events e ON e.seq = j.seq
    WHERE j.job = :job AND j.seq > :after ORDER BY j.seq LIMIT :page"""
_SCAN = """SELECT e.seq, e.prev, e.hash, e.bytes, j.job FROM events e LEFT JOIN job_events j ON j.seq = e.seq
    WHERE e.seq > :after ORDER BY e.seq"""


_Row = tuple[int, object, object, object, str]
"""seq, prev, hash, bytes and the job by the index; what a tampered cell holds may be anything."""


class StoredEvent(NamedTuple):
    """One event as it lies on the disk; a tuple, since a frozen dataclass takes five times as long to make."""

    seq: int
    prev: builtins.bytes
    hash: builtins.bytes
    bytes: builtins.bytes

    def record(self) -> dict[str, object]:
        """Return the record, with its `seq`; TrailDamaged when the bytes do not decode."""
        try:
            return decode(self.bytes)
        except BadInput as error:
            raise TrailDamaged(f"Event {self.seq}: {error.message}", _KEEP) from error


@dataclass(frozen=True, slots=True)
class Damage:
    """The first thing that is wrong with a trail."""

    seq: int
    """Number of the event; 0 where it is none of those that are there."""
    what: str


@dataclass(frozen=True, slots=True)
class Verified:
    """What a check of the whole trail found."""

    trail: str
    """Id of the trail."""
    count: int
    """Sound events from the first on."""
    head_seq: int
    head_hash: str
    """Hash of the last sound event, in hex; of an empty trail, the hash that stands before the first."""
    damage: Damage | None = None

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return self.damage is None

    def damaged(self) -> str:
        """Say what is wrong; empty when nothing is."""
        if self.damage is None:
            return ""
        if self.damage.seq == 0:
            return f"The trail is not whole: {self.damage.what}. The {self.count} events there are follow one another."
        return f"Event {self.damage.seq}: {self.damage.what}. The {self.count} events before it are sound."

    def shown(self) -> str:
        """Say what the chain of a sound trail shows."""
        if not self.count:
            return "it holds no events."
        return (
            f"all {self.count} events are sound: none was changed, removed or slipped in between; "
            f"the head is {self.head_seq} {self.head_hash}."
        )


def read(path: Path, job: str | None = None, *, after: int = 0) -> Iterator[StoredEvent]:
    """Yield the events after number `after` in order, of one job or of all, as far as they are committed.

    BadInput when there is no trail; TrailDamaged at the first event whose hash does not fit its bytes. No lock and
    no transaction is held between pages, so a slow consumer does not hinder the writer.
    """
    with reader(path) as connection:
        while page := _page(connection, job, after):
            for event in page:
                if digest(event.prev, event.bytes) != event.hash:
                    raise TrailDamaged(f"Event {event.seq} is not what was written.", _KEEP)
                yield event
            after = page[-1].seq


def _page(connection: sqlite3.Connection, job: str | None, after: int) -> list[StoredEvent]:
    question = _ALL if job is None else _OF_JOB
    rows = connection.execute(question, {"job": job, "after": after, "page": _PAGE}).fetchall()
    return [_event(row) for row in rows]


def _event(row: tuple[int, object, object, object, *tuple[object, ...]]) -> StoredEvent:
    return StoredEvent(row[0], _blob(row[1]), _blob(row[2]), _blob(row[3]))


def _blob(value: object) -> bytes:
    """Return bytes; anything else a tampered cell may hold becomes empty, which fits no hash."""
    return value if isinstance(value, bytes) else b""


def verify(path: Path) -> Verified:
    """Check every event of a trail, streaming; BadInput when there is none.

    Found are gaps, wrong links, wrong hashes, bytes that are not canonical, a job index that hides events, and a file
    that falls behind the note beside it.
    """
    return _verified(path, iter)


def sound_job(path: Path, job: str) -> tuple[tuple[int, bytes], ...]:
    """Check the whole trail and return number and bytes of the events of one job, all from one look at it.

    Raises as `need_sound` does; none where the trail is sound and has no such job.
    """
    kept: list[tuple[int, bytes]] = []

    def keep(rows: Iterable[_Row]) -> Iterator[_Row]:
        for row in rows:
            if row[4] == job:
                kept.append((row[0], _blob(row[3])))
            yield row

    _need(_verified(path, keep))
    return tuple(kept)


def _verified(path: Path, look: Callable[[Iterable[_Row]], Iterator[_Row]]) -> Verified:
    """Check every event; `look` sees each row on its way to the check."""
    note = read_note(path)  # before the scan: what is noted is on the disk by then
    with reader(path) as connection:
        scan = _Scan(trail_id_of(connection))
        try:
            damage = scan.go(look(connection.execute(_SCAN, {"after": 0})))
        except SQLITE_ERRORS as error:
            told = trouble(path, error)
            if not isinstance(told, TrailDamaged):
                raise told from error
            return scan.found(Damage(scan.seq + 1, f"the file cannot be read here ({error})"))
        gone = "" if damage else lost(connection, scan.trail, note)
        return scan.found(Damage(0, gone) if gone else damage)


class _Scan:
    """How far a check has come."""

    def __init__(self, trail: str) -> None:
        self.trail = trail
        self.seq = 0
        self._head = genesis(trail)

    def go(self, rows: Iterable[_Row]) -> Damage | None:
        """Check row by row; return the first thing that is wrong.

        The bytes of an event are bound by its hash. Where number and job stand in them as this program writes them,
        that is all there is to check; whatever looks otherwise is decoded and held against its canonical form.
        """
        job = object()  # like no cell: the first row names its job, also where that is missing
        named, reach = b"", 0
        last, head = self.seq, self._head
        try:
            for seq, prev, own, data, indexed in rows:
                if indexed != job:
                    job, named = indexed, b',"job":"%b","mono_us":' % str(indexed).encode()
                    reach = len(named) + _NUMBERS
                # all in one expression, without a call of ours: of a million rows each tenth of a microsecond shows
                if (
                    seq == last + 1
                    and prev == head
                    and type(data) is bytes
                    and sha256(DOMAIN + head + data).digest() == own
                    and (place := data.rfind(b',"seq":%d,"shown":{' % seq)) > reach
                    and data.rfind(named, place - reach, place) > 0
                ):
                    head = own
                elif what := _flaw(_event((seq, prev, own, data)), indexed, last + 1, head):
                    return Damage(last + 1, what)
                else:
                    head = _blob(own)
                last = seq
        finally:
            self.seq, self._head = last, head
        return None

    def found(self, damage: Damage | None) -> Verified:
        """Return what was found so far."""
        return Verified(self.trail, self.seq, self.seq, self._head.hex(), damage)


def clock_jumps(path: Path) -> tuple[Jump, ...]:
    """Return where the host's clock did not go as time does between two events of a job; the first 100."""
    found: list[Jump] = []
    job, last = "", None
    with reader(path) as connection:
        for (data,) in connection.execute("SELECT bytes FROM events ORDER BY seq"):
            try:
                record = decode(_blob(data))
            except BadInput:
                continue
            before, (job, last) = (job, last), (job_of(record), moment_of(record))
            jumped = jump(before[1], last) if before[0] == job else None
            if jumped is not None and len(found) < _MOST_JUMPS:
                found.append(jumped)
    return tuple(found)


def need_sound(path: Path) -> None:
    """Check the whole trail; TrailDamaged at the first thing that is wrong, BadInput when there is none."""
    _need(verify(path))


def _need(found: Verified) -> None:
    if found.damage is not None:
        raise TrailDamaged(found.damaged(), _KEEP)


def _flaw(event: StoredEvent, indexed: object, seq: int, prev: bytes) -> str:
    """Say what is wrong with an event that should be number `seq` after the hash `prev`; empty when nothing is."""
    if event.seq != seq:
        return f"it is missing (the next one there is {event.seq})"
    if event.prev != prev:
        return "it does not follow the event before it"
    if digest(event.prev, event.bytes) != event.hash:
        return "its bytes are not what was hashed"
    try:
        record = decode(event.bytes)
        canonical = encode(record) == event.bytes
    except BadInput as error:
        return f"its bytes cannot be read ({error.message.rstrip('.')})"
    if not canonical:
        return "its bytes are not in canonical form"
    if record.get("seq") != seq:
        return "its bytes carry another number"
    return "" if indexed == job_of(record) else "the index of jobs names another job for it"


def check_end(connection: sqlite3.Connection, trail_id: str, last: int = 16) -> tuple[int, bytes]:
    """Check the last few events at open; return the head, or raise TrailDamaged."""
    start = connection.execute("SELECT seq, hash FROM events ORDER BY seq DESC LIMIT 1 OFFSET ?", (last,)).fetchone()
    seq, head = (start[0], _blob(start[1])) if start else (0, genesis(trail_id))
    if not isinstance(seq, int):  # a tampered schema can make anything of the column
        raise TrailDamaged("The trail cannot be read: its events are not numbered.", _KEEP)
    for row in connection.execute(_SCAN, {"after": seq}):
        event = _event(row)
        if what := _flaw(event, row[4], seq + 1, head):
            raise TrailDamaged(f"Event {seq + 1} of the trail: {what}.", _KEEP)
        seq, head = event.seq, event.hash
    return seq, head
