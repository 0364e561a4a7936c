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
from collections.abc import Callable
from pathlib import Path

from logger.canonical import encode
from logger.trail import Trail, read, verify
from logger.trail_file import reader

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


def seconds(work: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    """How long something takes."""
    began = clock()
    work()
    return clock() - began


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


def append_ratios(folder: Path, count: int) -> tuple[float, float, float]:
    """Return raw appends per second, and how many times that one and sixteen in flight make."""
    ones, sixteens, raws = [], [], []
    with Trail.open(folder / "append.sqlite") as trail:
        for _ in range(ROUNDS):
            raw = count / seconds(lambda: raw_appends(folder / "raw", count))
            raws.append(raw)
            ones.append(count / seconds(lambda: asyncio.run(_in_flight(trail, count, 1))) / raw)
            sixteens.append(16 * count / seconds(lambda: asyncio.run(_in_flight(trail, 16 * count, 16))) / raw)
    return statistics.median(raws), statistics.median(ones), statistics.median(sixteens)


def fill(path: Path, count: int) -> None:
    """Put `count` events on a trail."""
    with Trail.open(path) as trail:
        asyncio.run(_in_flight(trail, count, 500))


def scan(path: Path) -> int:
    """Look at every row and do nothing with it."""
    with reader(path) as connection:
        return sum(1 for _ in connection.execute("SELECT seq, prev, hash, bytes FROM events ORDER BY seq"))


def check_ratios(path: Path) -> tuple[float, float, float]:
    """Return the seconds of a bare scan, and how many times that a check and a read with hashes take."""
    scans, checks, reads = [], [], []
    for _ in range(ROUNDS):
        bare = seconds(lambda: scan(path), time.process_time)
        scans.append(bare)
        checks.append(seconds(lambda: verify(path), time.process_time) / bare)
        reads.append(seconds(lambda: sum(1 for _ in read(path)), time.process_time) / bare)
    return statistics.median(scans), statistics.median(checks), statistics.median(reads)


def grown_mib(path: Path) -> float:
    """How much the process grows while it checks a trail, in MiB, over what it held before."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    verify(path)
    return (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024


def main() -> int:
    """Measure, and print a table."""
    appends, events = (int(given) for given in (*sys.argv[1:3], *("400", "1000000")[len(sys.argv[1:3]) :]))
    with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_FOLDER")) as name:
        folder = Path(name)
        raw, one, sixteen = append_ratios(folder, appends)
        fill(folder / "full.sqlite", events)
        grown = grown_mib(folder / "full.sqlite")
        bare, checked, walked = check_ratios(folder / "full.sqlite")
    rows = (
        (f"append, one in flight, against {raw:.0f} raw writes a second", f"{one:.2f}", ">= 0.85"),
        ("append, sixteen in flight, against the same", f"{sixteen:.2f}", ">= 6"),
        (f"check of {events} events, against a bare scan of {bare:.2f} s", f"{checked:.2f}", "<= 2.5"),
        ("memory that the check takes, MiB", f"{grown:.1f}", "<= 32"),
        ("read with each event's hash, against the same scan", f"{walked:.2f}", ""),
    )
    for what, found, aim in (("", "found", "aim"), *rows):
        sys.stdout.write(f"| {what:<64} | {found:>7} | {aim:>7} |\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
