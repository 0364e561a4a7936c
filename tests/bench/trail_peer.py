"""The trail beside a well-known event store, in one run: `python -m tests.bench.trail_peer [APPENDS] [EVENTS]`.

The peer is the `eventsourcing` library with its SQLite recorder (a write-ahead log and SQLite's default, a full flush
at each commit). Both store the same reading one by one; both give typed events back, ours after its chain was verified.
Then a job of so many events is checked, typed and folded to its end, against a bare read of its rows: once of readings
that nothing asked for, as a tool left switched on would send them, once of acts and readings that all count.
"""

import asyncio
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from time import process_time
from typing import Any
from uuid import UUID, uuid5

from eventsourcing.domain import DomainEvent, datetime_now_with_tzinfo
from eventsourcing.persistence import DatetimeAsISO, EventStore, JSONTranscoder, Mapper, UUIDAsHex
from eventsourcing.sqlite import SQLiteAggregateRecorder, SQLiteDatastore

from logger import events as ev
from logger.bench.envelope import bytes_of
from logger.shelf.shelf import job_as_left, job_records
from logger.trail.file import reader
from logger.trail.trail import Trail

from .manyjobs import template
from .rows import Row, seconds, table

JOB = uuid5(UUID(int=0), "j1")
ROUNDS = 5


class PeerReading(DomainEvent):
    """The same reading as an event of the peer; its parts are text, as the library's transcoder takes them."""

    job: str
    boot: str
    utc: str
    mono_us: int
    shown: dict[str, object]
    reading: dict[str, object]


def _readings(count: int) -> list[ev.Record]:
    """An opening, and readings that nothing asked for."""
    opened, *rest = template()
    taken = next(each for each in rest if isinstance(each.event, ev.ReadingTaken))
    assert isinstance(taken.event, ev.ReadingTaken)
    aside = taken.event.model_copy(update={"answers": None, "set_aside": "unprompted"})
    return [opened, *(taken.model_copy(update={"seq": at, "event": aside}) for at in range(2, count + 1))]


def _events(count: int) -> list[ev.Record]:
    """A whole job, its acts and readings told again and again before its closing: each of them changes the job."""
    opened, *rest = template()
    acts = [each for each in rest if not isinstance(each.event, ev.JobClosed)]
    told = (acts * (count // len(acts) + 1))[: count - 1]
    return [opened, *(each.model_copy(update={"seq": at}) for at, each in enumerate(told, 2))]


def _peer_event(record: ev.Record, version: int) -> PeerReading:
    data = bytes_of(record)
    named: dict[str, Any] = {key: data[key] for key in ("job", "boot", "utc", "mono_us", "shown")}
    named["reading"] = data["event"]
    when = datetime_now_with_tzinfo()
    return PeerReading(originator_id=JOB, originator_version=version, timestamp=when, **named)


def _store(path: Path) -> EventStore[UUID]:
    recorder = SQLiteAggregateRecorder(SQLiteDatastore(str(path)))
    recorder.create_table()
    transcoder = JSONTranscoder()
    transcoder.register(UUIDAsHex())
    transcoder.register(DatetimeAsISO())
    return EventStore(Mapper(transcoder), recorder)


def _appends(folder: Path, count: int) -> tuple[float, ...]:
    """How many times more appends a second, one in flight, the models made into bytes in both."""
    record = _readings(2)[1]
    store = _store(folder / "peer-append.sqlite")
    version = 0

    def peer() -> None:
        nonlocal version
        for _ in range(count):
            version += 1
            store.put([_peer_event(record, version)])

    async def ours(trail: Trail) -> None:
        for _ in range(count):
            await trail.append(bytes_of(record))

    with Trail.open(folder / "append.sqlite") as trail:
        ratios = [seconds(peer) / seconds(lambda: asyncio.run(ours(trail))) for _ in range(ROUNDS)]
    return tuple(ratios)


def _fill(path: Path, records: Sequence[ev.Record]) -> None:
    async def put(trail: Trail) -> None:
        await asyncio.gather(*(trail.append(bytes_of(record)) for record in records))

    with Trail.open(path) as trail:
        asyncio.run(put(trail))


def _bare(path: Path) -> int:
    with reader(path) as connection:
        question = "SELECT e.seq, e.bytes FROM job_events j JOIN events e ON e.seq = j.seq WHERE j.job = 'j1'"
        return len(connection.execute(question).fetchall())


def _work(work: Callable[[], object]) -> float:
    """The seconds of processor it takes; where only memory is read, the rest is the mood of the host."""
    return seconds(work, process_time)


def _replays(folder: Path, count: int) -> list[Row]:
    records = _readings(count)
    path, store = folder / "full.sqlite", _store(folder / "peer.sqlite")
    _fill(path, records)
    store.put([_peer_event(record, at) for at, record in enumerate(records[1:], 1)])
    acted = folder / "acts.sqlite"
    _fill(acted, _events(count))
    peers, typed, folded, changed = [], [], [], []
    for _ in range(ROUNDS):
        bare = _work(lambda: _bare(path))
        ours = _work(lambda: job_records(path, "j1"))
        peers.append(_work(lambda: list(store.get(JOB))) / ours)
        typed.append(ours / bare)
        folded.append(_work(lambda: job_as_left(path, "j1")) / bare)
        changed.append(_work(lambda: job_as_left(acted, "j1")) / _work(lambda: _bare(acted)))
    rows = "a bare read of its rows"
    return [
        Row("replay, chain verified, typed events, times as fast", "eventsourcing, SQLite", tuple(peers), ">= 4"),
        Row(f"job of {count} events verified and typed, all kept", rows, tuple(typed)),
        Row(f"job of {count} events replayed to its end", rows, tuple(folded), "<= 8"),
        Row("the same where every event changes the job", rows, tuple(changed)),
    ]


def measured(appends: int, events: int) -> list[Row]:
    """Return the rows, with so many appends a round and a job of so many events."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        found = _appends(folder, appends)
        return [
            Row("append, one in flight, times as fast", "eventsourcing, SQLite", found, ">= 1.2"),
            *_replays(folder, events),
        ]


def rows(quick: bool) -> list[Row]:
    """Return every figure of this file."""
    return measured(100 if quick else 400, 10_000)


def main(words: Sequence[str]) -> int:
    """Measure, and print a table."""
    appends, events = (int(given) for given in (*words, *("400", "10000")[len(words) :]))
    sys.stdout.write(f"{table(measured(appends, events))}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:3]))
