"""A trail of many jobs, made fast: one simulated job of each kind is played, and told again with other figures.

Every job passes through the real trail (numbers, chain, canonical bytes); what differs from job to job is the machine,
the person, the day, the mileage, the length of the chain and the torques. Verdicts are worked out anew by the rules, so
that each job is one that the program could have written.
"""

import asyncio
import random
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

from logger import events as ev
from logger.bench.envelope import bytes_of
from logger.job.facts import Job
from logger.job.job import apply, opened
from logger.job.judged import Judged
from logger.job.prompt import next_prompt
from logger.job.rules import judge
from logger.sheets.store import open_sheet
from logger.shelf.shelf import records
from logger.trail.trail import Trail
from tests.played import WHOLE, play

PEOPLE = ("Robin", "Sam", "Alex", "Kim")
CALIPER, WRENCHES = "CAL-1", ("TW-1", "TW-2", "TW-3")
BEGAN = datetime(2025, 1, 6, 8, tzinfo=UTC)


def template() -> tuple[ev.Record, ...]:
    """Play one whole job by typed lines."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "trail.sqlite"
        asyncio.run(play(path, WHOLE))
        return tuple(records(path))


class Depot:
    """Machines whose chains wear as they are ridden, and the jobs on them, seeded."""

    def __init__(self, machines: int, seed: int = 1) -> None:
        self._rng = random.Random(seed)
        self._template = template()
        self._sheet = open_sheet("courier-chain").sheet
        self._mileage = [self._rng.randrange(2000, 9000) for _ in range(machines)]
        self._worn = [0.1 for _ in range(machines)]
        self._rate = [self._rng.uniform(0.5, 0.9) / 10_000 for _ in range(machines)]
        self.seq = 0

    def job(self, number: int, *, judged: bool = True) -> Iterator[ev.Record]:
        """Give the records of one job; `judged` works out each verdict anew, else those of the template stand."""
        machine = number % len(self._mileage)
        ridden = self._rng.randrange(500, 2500)
        self._mileage[machine] += ridden
        self._worn[machine] += self._rate[machine] * ridden
        if self._worn[machine] > 0.95:  # a new chain
            self._worn[machine] = 0.05
        figures = _Figures(
            machine=f"Depot {machine + 1}",
            by=self._rng.choice(PEOPLE),
            mileage=self._mileage[machine],
            length=f"{101.6 * (1 + self._worn[machine] / 100) + self._rng.gauss(0, 0.03):.2f}",
            torque=f"{self._rng.uniform(91.5, 104.5):.1f}",
            wrench=self._rng.choice(WRENCHES),
            begins=BEGAN + timedelta(hours=9 * number),
        )
        yield from self._told(figures, judged=judged)

    def _told(self, figures: "_Figures", *, judged: bool) -> Iterator[ev.Record]:
        first, job, before = self.seq + 1, None, dict[str, Judged]()
        for place, record in enumerate(self._template):
            self.seq += 1
            changed = figures.of(record, f"j{first}", self.seq, place, first - self._template[0].seq)
            if judged:
                job = opened(changed, self._sheet) if job is None else apply(job, changed)
                shown, before = _shown(job, before)
                changed = changed.model_copy(update={"shown": shown})
            yield changed


def _shown(job: Job, before: Mapping[str, Judged]) -> tuple[ev.Shown, dict[str, Judged]]:
    now = dict(judge(job))
    verdicts = {check: found.verdict for check, found in now.items() if check not in before or _other(before, found)}
    return ev.Shown(verdicts=verdicts, prompt=next_prompt(job, now).key), now


def _other(before: Mapping[str, Judged], found: Judged) -> bool:
    return before[found.check].verdict != found.verdict


class _Figures:
    """What differs from job to job."""

    def __init__(
        self, *, machine: str, by: str, mileage: int, length: str, torque: str, wrench: str, begins: datetime
    ) -> None:
        self._machine, self._by, self._mileage = machine, by, mileage
        self._length, self._torque, self._wrench, self._begins = length, torque, wrench, begins

    def of(self, record: ev.Record, job: str, seq: int, place: int, later: int) -> ev.Record:
        """Return a record of the template as one of this job."""
        utc = (self._begins + timedelta(seconds=20 * place)).isoformat(timespec="microseconds").replace("+00:00", "Z")
        event = self._event(record.event, utc, later)
        return record.model_copy(update={"seq": seq, "job": job, "utc": utc, "event": event})

    def _event(self, event: ev.Event, utc: str, later: int) -> ev.Event:
        if isinstance(event, ev.ReadingTaken | ev.PullTaken):
            event = event.model_copy(update={"received": event.received.model_copy(update={"utc": utc})})
        match event:
            case ev.JobOpened():
                return event.model_copy(update={"machine": self._machine, "by": self._by, "simulated": True})
            case ev.JobClosed():
                return event.model_copy(update={"by": self._by})
            case ev.Noted(step="mileage"):
                return event.model_copy(update={"text": str(self._mileage)})
            case ev.ReadingTaken(answers=answers) if answers is not None:
                value = self._length if answers.step == "wear" else event.value
                return event.model_copy(update={"tool": CALIPER, "value": value, "raw": f"{value} mm"})
            case ev.PullTaken(answers=answers) if answers is not None and answers.step == "axle_nut":
                peak = self._torque
                return event.model_copy(update={"tool": self._wrench, "own_peak": peak, "raw": f"{peak} N.m"})
            case ev.PullTaken():
                peak = str(Decimal(self._torque) / 5 + Decimal("1.5"))
                return event.model_copy(update={"tool": self._wrench, "own_peak": peak, "raw": f"{peak} N.m"})
            case ev.TakenBack(of=of):
                return event.model_copy(update={"of": of + later})
            case _:
                return event


def fill(path: Path, depot: Depot, jobs: Sequence[int], *, judged: bool = True) -> int:
    """Put jobs on the trail at `path`; return how many events it holds then."""

    async def put(trail: Trail) -> None:
        waiting = []
        for number in jobs:
            waiting += [trail.append(bytes_of(record)) for record in depot.job(number, judged=judged)]
            if len(waiting) > 2000:
                await asyncio.gather(*waiting)
                waiting.clear()
        await asyncio.gather(*waiting)

    with Trail.open(path) as trail:
        depot.seq = trail.head.seq
        asyncio.run(put(trail))
        return trail.head.seq
