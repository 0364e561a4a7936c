"""What a process holds: memory, tasks, open files, threads; and how that grows with the jobs."""

import asyncio
import ctypes
import gc
import json
import statistics
import sys
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import TypeAdapter


@dataclass(frozen=True, slots=True)
class Held:
    """What the process holds after so many jobs, its garbage collected."""

    jobs: int
    rss_kib: int
    """Resident memory that is its own: no mapped files."""
    blocks: int
    """Blocks that Python has allocated; exact, where resident memory is in pages."""
    tasks: int
    files: int
    threads: int

    def __str__(self) -> str:
        return f"{self.jobs} jobs: {self.rss_kib} KiB, {self.blocks} blocks"

    @property
    def loose(self) -> tuple[int, int, int]:
        """What must be the same at the end as at the start."""
        return self.tasks, self.files, self.threads


def held(jobs: int) -> Held:
    """Look at this process; from a running event loop."""
    gc.collect()
    ctypes.CDLL(None).malloc_trim(0)  # glibc: what was freed is not held
    status = Path("/proc/self/status").read_text(encoding="ascii")
    rss = int(status.partition("RssAnon:")[2].split()[0])
    files = len(list(Path("/proc/self/fd").iterdir()))
    return Held(jobs, rss, sys.getallocatedblocks(), len(asyncio.all_tasks()), files, threading.active_count())


def fill_caches() -> None:
    """Fill the one cache that grows for a hundred jobs: pydantic keeps up to 16,384 short texts that it read."""
    TypeAdapter(list[str]).validate_json(json.dumps([f"soak {n}" for n in range(80_000)]))


def slope(points: Sequence[tuple[int, int]]) -> float:
    """Return the growth per 100 jobs by least squares; 0 for fewer than two points."""
    if len({x for x, _ in points}) < 2:
        return 0.0
    return statistics.linear_regression([x for x, _ in points], [y for _, y in points]).slope * 100


def rise(values: Sequence[int]) -> int:
    """Return how far the last third of some values lies above the first, by their medians; 0 for fewer than three."""
    third = len(values) // 3
    return round(statistics.median(values[-third:]) - statistics.median(values[:third])) if third else 0
