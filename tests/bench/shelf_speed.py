"""How `jobs`, `history` and `due` answer as a trail grows: `python -m tests.bench.shelf_speed [JOBS]`.

Each is asked over a tenth of the jobs, then over all of them, a hundred on each machine; the ratio, by processor time,
tells whether the time grows with the trail. `due` tells of every machine, and is told for one of them. Told too: how
long the index takes to be made anew, and to take in one more job. Seeded; the trail is made without a radio
(`manyjobs`).
"""

import statistics
import sys
import time
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from logger.settings.settings import Home
from logger.shelf.index import index_path, job_sums
from tui.commands.machines import due, history
from tui.commands.shelf import jobs
from tui.shell import Shell

from .manyjobs import WRENCHES, Depot, fill
from .rows import Row, seconds

ROUNDS = 5
_ANY = {
    "machine": None, "sheet": None, "tool": None, "by": None, "since": None, "until": None, "verdict": None,
    "overridden": False, "last": None, "json": False,
}  # fmt: skip


def _seconds(work: Callable[[], object]) -> float:
    return statistics.median(seconds(work, time.process_time) for _ in range(ROUNDS))


def _asked(home: Home, machine: str, machines: int) -> dict[str, float]:
    """The seconds of each question, the index being there."""
    out: list[str] = []
    shell = Shell(home, out.append, out.append, out.append, has_screen=False)
    return {
        "jobs": _seconds(lambda: jobs(shell, Namespace(**_ANY))),
        "jobs --machine --tool": _seconds(
            lambda: jobs(shell, Namespace(**{**_ANY, "machine": machine, "tool": WRENCHES[0]}))
        ),
        "jobs --tool": _seconds(lambda: jobs(shell, Namespace(**{**_ANY, "tool": WRENCHES[1]}))),
        "jobs --verdict high": _seconds(lambda: jobs(shell, Namespace(**{**_ANY, "verdict": "high"}))),
        "jobs --since": _seconds(lambda: jobs(shell, Namespace(**{**_ANY, "since": "2026-01-01", "last": 20}))),
        "jobs --overridden": _seconds(lambda: jobs(shell, Namespace(**{**_ANY, "overridden": True}))),
        "history": _seconds(lambda: history(shell, Namespace(machine=machine, json=False))),
        "due, for each machine": _seconds(lambda: due(shell, Namespace(json=False))) / machines,
    }


def rows(quick: bool) -> list[Row]:
    """Return how each answer's time grows with ten times the jobs."""
    count = 2000 if quick else 10_000
    found: dict[str, list[float]] = {}
    with TemporaryDirectory() as name:
        near, far = (Home(Path(name) / size) for size in ("near", "far"))
        few, many = max(1, count // 1000), max(1, count // 100)
        for home, jobs_there, machines in ((near, count // 10, few), (far, count, many)):
            home.folder.mkdir()
            fill(home.trail, Depot(machines), range(jobs_there), judged=False)
            job_sums(home.trail, most=1)
        for _ in range(3):
            before, after = _asked(near, "Depot 1", few), _asked(far, "Depot 1", many)
            for what, took in after.items():
                found.setdefault(what, []).append(took / before[what])
    return [
        Row(f"{what}, over {count} jobs", "over a tenth of them", tuple(each), "<= 1.5") for what, each in found.items()
    ]


def main() -> int:
    """Fill, ask, print."""
    count = int((*sys.argv[1:2], "10000")[0])
    with TemporaryDirectory() as folder:
        home = Home(Path(folder))
        few, machines = count // 10, max(1, count // 100)
        less = max(1, machines // 10)
        small, large = Depot(less), Depot(machines)
        near = Home(Path(folder) / "small")
        near.folder.mkdir()
        fill(near.trail, small, range(few), judged=False)
        events = fill(home.trail, large, range(count), judged=False)
        for each in (near, home):
            began = time.perf_counter()
            job_sums(each.trail, most=1)
            sys.stdout.write(f"index of {each.trail.stat().st_size >> 20} MiB of trail made in ")
            sys.stdout.write(
                f"{time.perf_counter() - began:.1f} s, {index_path(each.trail).stat().st_size >> 20} MiB\n"
            )
        before, after = _asked(near, "Depot 1", less), _asked(home, "Depot 1", machines)
        fill(home.trail, large, [count], judged=False)
        began = time.perf_counter()
        job_sums(home.trail, most=1)
        sys.stdout.write(f"one more job taken in, and asked, in {(time.perf_counter() - began) * 1000:.1f} ms\n")
        sys.stdout.write(f"| {'question':<24} | {few:>6} jobs | {count:>6} jobs | ratio |   ({events} events)\n")
        for what, seconds in after.items():
            old, new = before[what] * 1000, seconds * 1000
            sys.stdout.write(f"| {what:<24} | {old:8.2f} ms | {new:8.2f} ms | {new / old:5.2f} |\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
