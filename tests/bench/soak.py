"""One process, eight simulated tools, every fault, thousands of jobs: `python -m tests.bench.soak [MINUTES] [JOBS]`.

The real path throughout: simulated tools as GATT tables, bleak's own scanner and client over the in-process backend,
the drivers, the bench, one trail on the disk. What left the tools is held against the trail after each job. Ends after
MINUTES (20) or JOBS (2000), whichever comes first; exit code 1 when a line of the table does not hold.
"""

import argparse
import asyncio
import re
import sys
import time
from array import array
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from logger import events as ev
from logger.bench.bench import Opening
from logger.job.job import apply
from logger.sheets.file import Loaded, load_sheet
from logger.sheets.store import open_sheet
from logger.shelf.shelf import begin, records
from logger.trail.read import verify
from simulators.conveyor import Conveyor, conveyor_spec
from simulators.demo import Handover
from simulators.machine import Machine, courier_spec
from tests.bench.soakfaults import Faults
from tests.bench.soakfigures import fill_caches, held
from tests.bench.soakledger import Account, compare
from tests.bench.soakperson import Person
from tests.bench.soakreport import Report, table
from tests.bench.soaksite import Site, SoakError

RUN_JOBS = 100
"""Jobs between two planned ends of the program."""
LOOK_JOBS = 10
"""Jobs between two looks at the memory."""


@dataclass(frozen=True, slots=True)
class Played:
    """A sheet and what it is played on."""

    sheet: Loaded
    machine: Callable[[Random], Machine]
    name: str


def sheets() -> tuple[Played, ...]:
    """Return motorcycle and conveyor sheets: the shipped ones, and the same with more zero checks."""

    def motorcycle(rng: Random) -> Machine:
        return Machine(courier_spec(rng), rng)

    def conveyor(rng: Random) -> Machine:
        return Conveyor(conveyor_spec(rng), rng)

    chain, takeup = open_sheet("courier-chain"), open_sheet("parcel-conveyor")
    return (
        Played(chain, motorcycle, "Depot motorcycle"),
        Played(takeup, conveyor, "Parcel conveyor"),
        Played(_closer(chain), motorcycle, "Night depot motorcycle"),
        Played(_closer(takeup), conveyor, "Sorting conveyor"),
    )


def _closer(sheet: Loaded) -> Loaded:
    """Return a sheet that asks for a zero check after every dozen readings."""
    name = sheet.sheet.id
    text = re.sub(r"(?m)^every = \d+$", "every = 12", sheet.text)
    return load_sheet(text.replace(f'id = "{name}"', f'id = "closer-{name}"'), f"closer-{name}")


@dataclass
class Soak:
    """One run of the soak."""

    path: Path
    jobs: int
    minutes: float
    seed: int = 1
    rate: float = 0.08
    say: Callable[[str], None] = lambda _: None
    report: Report = field(default_factory=Report)
    settled: "array[int]" = field(default_factory=lambda: array("Q"))
    """The number of each job's opening and how many events it had when it was held against the trail, in turn; an
    array, since it must not look like memory that is lost."""

    async def run(self) -> Report:
        """Do the jobs, and look at what is left."""
        report, began = self.report, time.monotonic()
        fill_caches()
        report.start = held(0)
        async with asyncio.TaskGroup() as group:
            site = Site(self.path, group)
            faults = Faults(site, Random(self.seed), self.rate)
            played = sheets()
            try:
                while report.jobs < self.jobs and time.monotonic() - began < self.minutes * 60:
                    await self._job(site, faults, played[report.jobs % len(played)])
                    await self._between(site)
            except SoakError as error:
                report.wrong.append(f"job {report.jobs + 1}: {error}")
            await site.stop()
        report.runs, report.sent = site.runs, site.books.sent
        report.injected, report.missing = +faults.injected, faults.missing()
        del site, faults
        report.end = held(report.jobs)
        report.seconds = time.monotonic() - began
        found = await asyncio.to_thread(verify, self.path)
        report.sound, report.trail = found.sound, found.damaged() or found.shown()
        self._late()
        if found.count != report.events:
            report.wrong.append(f"the trail holds {found.count} events, its jobs {report.events}")
        return report

    def _late(self) -> None:
        """Count what came once a job had been held against the trail; a link may change then, and nothing else."""
        for opening, count in zip(self.settled[::2], self.settled[1::2], strict=True):
            late = [record.event for record in records(self.path, f"j{opening}")][count:]
            self.report.events += len(late)
            self.report.late += len(late)
            others = [event.kind for event in late if not isinstance(event, ev.ToolSeen)]
            self.report.wrong += [f"j{opening}: {kind} came after its end" for kind in others]

    async def _job(self, site: Site, faults: Faults, of: Played) -> None:
        """Do one job and hold its account against the trail."""
        rng = Random(f"{self.seed} {self.report.jobs}")
        machine = f"{of.name} {rng.randrange(1, 13)}"
        bench = await site.begin(Opening(of.sheet, machine, "Simulated mechanic", True, self.seed))
        person = Person(site, faults, of.machine(rng), rng)
        await person.work(Handover())
        if not site.bench.moment.job.closed:
            await person.finish()
        site.tools.gauges[self.report.jobs % len(site.tools.gauges)].press()  # nobody asked for this one
        account = await site.quiet()
        bench = site.bench
        if not bench.moment.job.closed:
            await bench.interrupted("the mechanic left it open")
        self._settle(site, account, bench.moment.job.id)

    def _settle(self, site: Site, account: Account, job: str) -> None:
        report, live = self.report, site.bench.moment
        stored = tuple(records(self.path, job))
        found = compare(account, (each.event for each in stored), site.tools.cuts, site.names)
        told = begin(stored[0])
        for record in stored[1:]:
            told = apply(told, record)
        if told != live.job:
            report.wrong.append(f"{job}: told again it is another job than it was live")
        report.wrong += [f"{job}: {each}" for each in found.wrong]
        report.jobs += 1
        report.closed += live.job.closed
        report.events += len(stored)
        self.settled.extend((stored[0].seq, len(stored)))
        report.owed += account.owed
        report.kept += found.kept
        report.counted += found.counted

    async def _between(self, site: Site) -> None:
        """Look at the memory now and then, and end the program now and then."""
        report = self.report
        if report.jobs % LOOK_JOBS == 0:
            report.held.append(held(report.jobs))
            self.say(f"{report.held[-1]}, {len(report.wrong)} wrong")
        if report.jobs % RUN_JOBS == 0:
            await site.stop()
            now = held(report.jobs)
            if report.start is not None and now.loose != report.start.loose:
                report.wrong.append(f"after job {report.jobs} the program left something behind: {now}")


def main() -> int:
    """Run it on a trail in a temporary folder, and print the table."""
    parser = argparse.ArgumentParser(description="Many jobs in one process, with every fault.")
    parser.add_argument("minutes", type=float, nargs="?", default=20.0)
    parser.add_argument("jobs", type=int, nargs="?", default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=0.08, help="share of prompts and presses at which a fault comes")
    parser.add_argument("--folder", type=Path, help="keep the trail in this folder")
    args = parser.parse_args()
    with TemporaryDirectory() as folder:
        soak = Soak(
            (args.folder or Path(folder)) / "trail.sqlite", args.jobs, args.minutes, args.seed, args.rate, say=_say
        )
        report = asyncio.run(soak.run())
    lines, holds = table(report)
    _say("\n".join(lines))
    return 0 if holds else 1


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
