"""How many events a second a collector keeps, against the raw floor of its database, and how that grows.

`python -m tests.bench.shop_load [BENCHES ...]`: the store alone on SQLite and PostgreSQL against executemany and COPY
of the same rows, then the whole way over a real broker with that many benches. Figures of a noisy machine: use the
ratios.
"""

import asyncio
import logging
import resource
import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

import psycopg

from logger.collector.collector import Collector
from logger.collector.store import Answers, Store
from logger.collector.tables import open_database
from logger.shop.outbox import Outbox, Timing
from logger.shop.outboxtrail import CursorFile
from logger.shop.topics import BenchTopics
from logger.shop.wire import Ack
from logger.shop.wiremqtt import MqttBroker
from logger.shop.wireport import Message
from logger.trail.read import StoredEvent
from tests.collect.made import SHOP, ListSource, chain, sent
from tests.collect.servers import mosquitto, postgres
from tests.collect.stores import new_database

from .rows import Row

BATCH = 256
EVENTS = 6000
_COLUMNS = (
    "(bench text, trail text, seq bigint, prev {b}, hash {b}, bytes {b}, job text, utc text, key {b}, signature {b}"
)


def as_rows(events: list[StoredEvent]) -> list[tuple[object, ...]]:
    return [("bay-1", "t", e.seq, e.prev, e.hash, e.bytes, "j1", "2025-01-01T00:00:00Z", b"", b"") for e in events]


def batches(events: list[StoredEvent]) -> list[list[StoredEvent]]:
    return [events[start : start + BATCH] for start in range(0, len(events), BATCH)]


def sqlite_floor(folder: Path, events: list[StoredEvent]) -> float:
    connection = sqlite3.connect(folder / "floor.sqlite", isolation_level=None)
    for pragma in ("journal_mode = WAL", "synchronous = FULL"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute(f"CREATE TABLE events {_COLUMNS.format(b='blob')}, PRIMARY KEY (bench, trail, seq))")
    began = time.perf_counter()
    for batch in batches(events):
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany("INSERT INTO events VALUES (?,?,?,?,?,?,?,?,?,?)", as_rows(batch))
        connection.execute("COMMIT")
    took = time.perf_counter() - began
    connection.close()
    return len(events) / took


def postgres_floor(url: str, events: list[StoredEvent]) -> float:
    with psycopg.connect(url) as connection:
        connection.execute(f"CREATE TABLE events {_COLUMNS.format(b='bytea')}, PRIMARY KEY (bench, trail, seq))")
        connection.commit()
        began = time.perf_counter()
        for batch in batches(events):
            with connection.cursor().copy("COPY events FROM STDIN") as copy:
                for row in as_rows(batch):
                    copy.write_row(row)
            connection.commit()
        return len(events) / (time.perf_counter() - began)


def store_speed(url: str, events: list[StoredEvent]) -> float:
    engine = open_database(url)
    store = Store(engine, SHOP, lambda: "2025-01-01T00:00:00Z")
    heaps = [[sent(event) for event in batch] for batch in batches(events)]
    began = time.perf_counter()
    for heap in heaps:
        store.take(heap)
    took = time.perf_counter() - began
    engine.dispose()
    return len(events) / took


class Timed:
    """A store that notes how large its batches were."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.sizes: list[int] = []

    def take(self, batch: list[Message]) -> Answers:
        self.sizes.append(len(batch))
        return self._store.take(batch)

    def standing(self) -> list[Ack]:
        return self._store.standing()


async def whole_way(folder: Path, url: str, benches: int, total: int) -> str:
    """Send `total` events of so many benches over a real broker; everything but the broker shares one process."""
    each = max(4, total // benches)
    with mosquitto(folder) as broker:
        engine = open_database(url)
        store = Timed(Store(engine, SHOP, lambda: "2025-01-01T00:00:00Z"))
        here = MqttBroker("127.0.0.1", broker.port, "collector", mqtt="3.1.1")
        boxes, before = [], resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        async with asyncio.TaskGroup() as group:
            tasks = [group.create_task(Collector(SHOP, here, store).run())]
            for number in range(benches):
                source = ListSource(chain(1, trail=f"{number:032x}"), f"{number:032x}")
                name = f"bay-{number}"
                line = MqttBroker("127.0.0.1", broker.port, name, mqtt="3.1.1", timeout_s=30)
                cursor = CursorFile(folder / f"{name}.json")
                boxes.append(Outbox(source, line, BenchTopics(SHOP, name), cursor, timing=Timing(1.0, 5.0)))
            tasks += [group.create_task(box.run()) for box in boxes]
            while any(box._state.acked < 1 for box in boxes):  # noqa: ASYNC110
                await asyncio.sleep(0.02)
            store.sizes.clear()
            latency = [await one_more(box) for box in boxes[:20]]
            began = time.perf_counter()
            for box in boxes:
                add(box, each)
            while any(box._state.acked < each for box in boxes):  # noqa: ASYNC110
                await asyncio.sleep(0.005)
            took = time.perf_counter() - began
            for task in tasks:
                task.cancel()
        engine.dispose()
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    return (
        f"{benches:4} benches: {benches * each / took:6.0f} events/s, {statistics.mean(store.sizes):5.1f} a commit, "
        f"acknowledged after {statistics.median(latency) * 1000:4.0f} ms (median), memory + {grown:.0f} MiB"
    )


def add(box: Outbox, count: int) -> int:
    source = box._source
    assert isinstance(source, ListSource)
    source.events += chain(count, after=source.events[-1])
    box._wake.set()
    return len(source.events)


async def one_more(box: Outbox) -> float:
    began = time.perf_counter()
    wanted = add(box, 1)
    while box._state.acked < wanted:  # noqa: ASYNC110
        await asyncio.sleep(0.001)
    return time.perf_counter() - began


def rows(_quick: bool) -> list[Row]:
    """Return how much slower the store is than raw writes of its rows; the whole way takes a broker and minutes."""
    events, ratios = chain(EVENTS), []
    for _ in range(3):
        with tempfile.TemporaryDirectory() as place:
            kept = store_speed(str(Path(place) / "shop.sqlite"), events)
            ratios.append(sqlite_floor(Path(place), events) / kept)
    return [Row("the shop's store, time an event", "executemany of the same rows", tuple(ratios))]


def main(words: list[str]) -> None:
    logging.disable(logging.CRITICAL)
    say, events = sys.stdout.write, chain(EVENTS)
    with tempfile.TemporaryDirectory() as place, postgres() as server:
        folder = Path(place)
        pairs = []
        for turn in range(3):
            (folder / str(turn)).mkdir()
            lite = (
                store_speed(str(folder / str(turn) / "shop.sqlite"), events),
                sqlite_floor(folder / str(turn), events),
            )
            post = store_speed(new_database(server), events), postgres_floor(new_database(server), events)
            pairs.append((*lite, *post))
        medians = [statistics.median(column) for column in zip(*pairs, strict=True)]
        for name, mine, floor in (("SQLite, executemany", *medians[:2]), ("PostgreSQL, COPY", *medians[2:])):
            say(f"{name:20} store {mine:6.0f} events/s, floor {floor:7.0f}: {floor / mine:.1f} times\n")
        for benches in [int(word) for word in words] or [1, 10, 50, 200]:
            for kind in ("sqlite", "postgresql"):
                here = Path(tempfile.mkdtemp(dir=folder))
                url = str(here / "shop.sqlite") if kind == "sqlite" else new_database(server)
                say(f"{kind:10} {asyncio.run(whole_way(here, url, benches, 3000))}\n")
                sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1:])
