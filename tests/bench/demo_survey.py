"""How a simulated job goes, seed by seed: `python -m tests.bench.demo_survey [FIRST LAST] [--sheet NAME]`.

Each job runs whole: simulated tools, bleak's own scanner and client over the in-process backend, the drivers, the
bench, a trail on the disk. Prints one table of jobs and one of human errors with what caught them.
"""

import argparse
import asyncio
import statistics
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from drivers.clock import SystemClock
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.sheets.store import open_sheet
from logger.shelf.shelf import load_job
from logger.trail.trail import Trail
from simulators.clock import SimClock
from simulators.demo import Demo, DemoReport, Handover, machine_of
from tests.simulators.caught import what_caught


@dataclass(frozen=True, slots=True)
class Run:
    """One simulated job: how it went, what is on its trail, how long it took in seconds."""

    report: DemoReport
    records: tuple[ev.Record, ...]
    seconds: float

    @property
    def readings(self) -> int:
        """Readings and pulls that answered a prompt."""
        counted = (ev.ReadingTaken, ev.PullTaken)
        return sum(isinstance(each.event, counted) and each.event.answers is not None for each in self.records)


async def one(seed: int, folder: Path, sheet: str) -> Run:
    """Run one seed on a trail of its own."""
    opening = Opening(open_sheet(sheet), machine_of(sheet)[0], "Simulated mechanic", True, seed)
    with Trail.open(folder / f"{seed}.sqlite") as trail:
        began = time.perf_counter()
        bench = await Bench.open(trail, SystemClock(), opening)
        demo = Demo(seed, sheet=bench.moment.job.sheet.id, pace=SimClock())
        report = await demo.run(bench, Handover())
        seconds = time.perf_counter() - began
        return Run(report, load_job(trail.path, bench.moment.job.id)[1], seconds)


def spread(name: str, figures: Sequence[float]) -> str:
    """Median and worst of one figure."""
    return f"{name:<32} median {statistics.median(figures):8.2f}   worst {max(figures):8.2f}"


def lines(runs: Sequence[Run]) -> Iterator[str]:
    """The tables."""
    reports = [run.report for run in runs]
    yield f"jobs {len(runs)}, closed {sum(report.closed for report in reports)}"
    yield spread("adjustment rounds", [report.rounds for report in reports])
    yield spread("prompts", [report.prompts for report in reports])
    yield spread("readings and pulls that counted", [run.readings for run in runs])
    yield spread("events on the trail", [len(run.records) for run in runs])
    yield spread("seconds a job", [run.seconds for run in runs])
    yield spread("truth at the end: apart, mm", [abs(report.apart_mm) for report in reports])
    slack = [report.slack_mm for report in reports]
    yield f"truth at the end: tightest slack {min(slack):.1f} to {max(slack):.1f} mm"
    left = [run.report.seed for run in runs if not run.report.closed]
    yield f"left open: {', '.join(map(str, left)) or 'none'}"
    overrides = sum(isinstance(each.event, ev.Overridden) for run in runs for each in run.records)
    yield f"overrides {overrides}"
    caught = Counter((slip.what, what_caught(slip, run.records)) for run in runs for slip in run.report.slips)
    for (slip, what), count in sorted(caught.items()):
        yield f"{count:4}  {slip:<18} {what}"


def main() -> None:
    """Run the seeds and the sheet named on the command line."""
    parser = argparse.ArgumentParser(description="How simulated jobs go.")
    parser.add_argument("first", type=int, nargs="?", default=1)
    parser.add_argument("last", type=int, nargs="?", default=50)
    parser.add_argument("--sheet", default="courier-chain")
    args = parser.parse_args()
    with TemporaryDirectory() as folder:
        seeds = range(args.first, args.last + 1)
        runs = [asyncio.run(one(seed, Path(folder), args.sheet)) for seed in seeds]
    sys.stdout.write("\n".join(lines(runs)) + "\n")


if __name__ == "__main__":
    main()
