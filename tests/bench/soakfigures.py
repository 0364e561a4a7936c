"""What a process holds: memory, tasks, open files, threads; and how that grows with the jobs."""

import asyncio
import gc
import os
import statistics
import sys
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Held:
    """What the process holds after so many jobs, its garbage collected."""

    jobs: int
    rss_kib: int
    """Resident memory."""
    blocks: int
    """Blocks that Python has allocated; exact, where resident memory is in pages."""
    tasks: int
    files: int
    threads: int

    def __str__(self) -> str:
        return f"{self.jobs} jobs: {self.rss_kib} KiB resident, {self.blocks} blocks"

    @property
    def loose(self) -> tuple[int, int, int]:
        """What must be the same at the end as at the start."""
        return self.tasks, self.files, self.threads


def held(jobs: int) -> Held:
    """Look at this process; from a running event loop."""
    gc.collect()
    rss = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * os.sysconf("SC_PAGESIZE") // 1024
    files = len(list(Path("/proc/self/fd").iterdir()))
    return Held(jobs, rss, sys.getallocatedblocks(), len(asyncio.all_tasks()), files, threading.active_count())


def slope(points: Sequence[tuple[int, int]]) -> float:
    """Return the growth per 100 jobs by least squares; 0 for fewer than two points."""
    if len({x for x, _ in points}) < 2:
        return 0.0
    return statistics.linear_regression([x for x, _ in points], [y for _, y in points]).slope * 100
