"""How fast the trail is, as ratios within one run: `python -m tests.bench.trail_speed [APPENDS] [EVENTS]`.

The floor of an append is the raw write of the same bytes followed by fdatasync; that of a check is a bare scan of the
rows. Each ratio is the median of several rounds in which both sides take turns, since disks and hosts have moods; the
check is compared by processor time.
"""

import asyncio
import os
import resource
import statistics
import sys
import tempfile
import time
from pathlib import Path

from logger.trail.canonical import encode
from logger.trail.file import reader
from logger.trail.read import read, verify
from logger.trail.trail import Trail

from .rows import Row, quantile, seconds, table

ROUNDS = 7
STAMP = {"utc": "2026-03-01T12:00:00.000000Z", "mono_us": 1_234_567}
EVENT: dict[str, object] = {
    "v": 1,
    "job": "j1",
    "boot": "0b1c2d3e-0000-4000-8000-0123456789ab",
    **STAMP,
    "shown": {"prompt": "measure:slack.tightest/taut up", "verdicts": {"slack.tightest": "high"}},
    "event": {
        "kind": "reading_taken",
        "answers": {"step": "slack", "place": "tightest", "part": "taut up"},
        "set_aside": "",
        "tool": "DEPOT-C1",
        "tool_kind": "caliper",
        "quantity": "length",
        "value": "145.0",
        "unit": "mm",
        "source": "sig",
        "raw": "a80200",
        "characteristic": "2c0a",
        "mode": "",
        "received": STAMP,
    },
}


def raw_appends(path: Path, count: int) -> None:
    """Write the bytes of `count` events, each flushed before the next."""
    data = encode({**EVENT, "seq": 100_000})
    file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    try:
        for _ in range(count):
            os.write(file, data)
            os.fdatasync(file)
    finally:
        os.close(file)


async def _in_flight(trail: Trail, count: int, width: int) -> None:
    async def press(presses: int) -> None:
        for _ in range(presses):
            await trail.append(EVENT)

    async with asyncio.TaskGroup() as group:
        for _ in range(width):
            group.create_task(press(count // width))


async def _acknowledged(trail: Trail, count: int) -> list[float]:
    """The seconds of each append until it is acknowledged, one in flight."""
    took = []
    for _ in range(count):
        began = time.perf_counter()
        await trail.append(EVENT)
        took.append(time.perf_counter() - began)
    return took


def _flushes(path: Path, count: int) -> list[float]:
    """The seconds of each flush of the same bytes."""
    data, took = encode({**EVENT, "seq": 100_000}), []
    with path.open("ab", buffering=0) as file:
        for _ in range(count):
            file.write(data)
            took.append(seconds(lambda: os.fdatasync(file.fileno())))
    return took


def append_rows(folder: Path, count: int) -> list[Row]:
    """How many times as many appends as raw writes, and how long the slowest acknowledgements take."""
    ones, sixteens, slowest = [], [], []
    with Trail.open(folder / "append.sqlite") as trail:
        for _ in range(ROUNDS):
            raw = count / seconds(lambda: raw_appends(folder / "raw", count))
            ones.append(count / seconds(lambda: asyncio.run(_in_flight(trail, count, 1))) / raw)
            sixteens.append(16 * count / seconds(lambda: asyncio.run(_in_flight(trail, 16 * count, 16))) / raw)
            flush = statistics.median(_flushes(folder / "flushed", count))
            slowest.append(quantile(asyncio.run(_acknowledged(trail, count)), 0.99) / flush)
    return [
        Row("durable append, one in flight, rate", "raw write + fdatasync", tuple(ones), ">= 0.85"),
        Row("durable append, sixteen in flight, rate", "raw write + fdatasync", tuple(sixteens), ">= 6"),
        Row("durable acknowledgement, p99", "median of fdatasync", tuple(slowest), "<= 10"),
    ]


def fill(path: Path, count: int) -> None:
    """Put `count` events on a trail."""
    with Trail.open(path) as trail:
        asyncio.run(_in_flight(trail, count, 500))


def scan(path: Path) -> int:
    """Look at every row and do nothing with it."""
    with reader(path) as connection:
        return sum(1 for _ in connection.execute("SELECT seq, prev, hash, bytes FROM events ORDER BY seq"))


def check_rows(path: Path, events: int) -> list[Row]:
    """How many times a bare scan a check and a read with hashes take, by processor time, and what the check holds."""
    checks, reads, grown = [], [], grown_mib(path)
    for _ in range(ROUNDS):
        bare = seconds(lambda: scan(path), time.process_time)
        checks.append(seconds(lambda: verify(path), time.process_time) / bare)
        reads.append(seconds(lambda: sum(1 for _ in read(path)), time.process_time) / bare)
    return [
        Row(f"verify of {events} events", "a bare scan of the rows", tuple(checks), "<= 2.5"),
        Row("read of them with each event's hash", "a bare scan of the rows", tuple(reads)),
        Row("memory that verify takes, MiB", "", (grown,), "<= 32"),
    ]


def grown_mib(path: Path) -> float:
    """How much the process grows while it checks a trail, in MiB, over what it held before."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    verify(path)
    return (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024


def measured(appends: int, events: int) -> list[Row]:
    """Return the rows, with so many appends a round and so many events to check."""
    with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_FOLDER")) as name:
        folder = Path(name)
        found = append_rows(folder, appends)
        fill(folder / "full.sqlite", events)
        return [*found, *check_rows(folder / "full.sqlite", events)]


def rows(quick: bool) -> list[Row]:
    """Return every figure of this file."""
    return measured(100, 50_000) if quick else measured(400, 1_000_000)


def main() -> int:
    """Measure, and print a table."""
    appends, events = (int(given) for given in (*sys.argv[1:3], *("400", "1000000")[len(sys.argv[1:3]) :]))
    sys.stdout.write(f"{table(measured(appends, events))}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
