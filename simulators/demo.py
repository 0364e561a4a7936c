"""A job on simulated tools: machine, tools, air and mechanic put together, heard through the real drivers."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from drivers.profile.file import shipped_profiles
from drivers.radio.ble import Radio
from drivers.reading import Link
from logger.bench.bench import Bench

from .air import Air
from .clock import Pace, SimClock
from .conveyor import Conveyor, conveyor_spec
from .machine import Machine, courier_spec
from .mechanic import Mechanic
from .stated import Stated
from .tools import SimCaliper, SimWrench
from .workshop import GaugeJaws, Habits, Slip, Workshop

MACHINES: dict[str, tuple[str, Callable[[Random], Machine]]] = {
    "courier-chain": ("Depot motorcycle 7", lambda rng: Machine(courier_spec(rng), rng)),
    "parcel-conveyor": ("Parcel conveyor 3", lambda rng: Conveyor(conveyor_spec(rng), rng)),
}
"""What each shipped sheet is played on: its name, and how it comes in."""


def machine_of(sheet: str) -> tuple[str, Callable[[Random], Machine]]:
    """Return the simulated machine that a sheet, by its id, is played on; the motorcycle for one of one's own."""
    return MACHINES.get(sheet, MACHINES["courier-chain"])


@dataclass(slots=True)
class Handover:
    """Pauses the simulated mechanic, or sends it home so that a person goes on by hand."""

    paused: bool = False
    taken_over: bool = False
    _go: asyncio.Event = field(default_factory=asyncio.Event)

    def toggle(self) -> None:
        """Pause, or go on."""
        self.paused = not self.paused
        self._go.set()

    def take_over(self) -> None:
        """Send the mechanic home; the simulated tools stay, silent until used."""
        self.taken_over = True
        self._go.set()

    async def may_go_on(self) -> bool:
        """Wait while paused; False once a person has taken over."""
        while self.paused and not self.taken_over:
            self._go.clear()
            await self._go.wait()
        return not self.taken_over


@dataclass(frozen=True, slots=True)
class DemoReport:
    """How one simulated job went."""

    seed: int
    closed: bool
    rounds: int
    prompts: int
    slips: tuple[Slip, ...]
    apart_mm: float
    """The truth of the machine at the end: left minus right axle position."""
    slack_mm: float
    """The truth at its tightest place."""


class Demo:
    """One simulated job, the same for the same seed."""

    def __init__(
        self, seed: int, *, sheet: str = "courier-chain", pace: Pace | None = None, habits: Habits | None = None
    ) -> None:
        rng = Random(seed)
        self.seed = seed
        self.clock: Pace = pace or SimClock()
        self.habits = habits or Habits()
        self.machine = machine_of(sheet)[1](rng)
        jaws = GaugeJaws()
        caliper = SimCaliper(f"DEPOT-C{seed:03d}", "Depot caliper", jaws, self.clock)
        wrench = SimWrench(f"DEPOT-W{seed:03d}", "Depot wrench", self.clock)
        self.shop = Workshop(self.machine, jaws, caliper, wrench, self.clock)
        self.air = Air([caliper, wrench])
        self._rng = rng

    async def run(self, bench: Bench, control: Handover) -> DemoReport:
        """Carry what the simulated tools send to the bench, and let the mechanic work; returns when he stops."""
        radio = Radio(
            shipped_profiles(),
            self.clock,
            backends=self.air.backends,
        )
        bench.describe = Stated(bench.moment.job.opened_utc)
        async with radio, asyncio.TaskGroup() as group:
            ready = asyncio.Event()
            carrying = group.create_task(self._carry(radio, bench, ready), name="carry readings")
            await ready.wait()
            mechanic = Mechanic(bench, self.shop, self._rng, self.habits)
            await mechanic.work(control)
            if not control.taken_over:
                carrying.cancel()
        return self._report(bench, mechanic)

    async def _carry(self, radio: Radio, bench: Bench, ready: asyncio.Event) -> None:
        async for arrival in radio.arrivals():
            await bench.arrive(arrival)
            if sum(state.link is Link.READY for state in bench.tools.values() if state.serial) == len(self.air.tools):
                ready.set()

    def _report(self, bench: Bench, mechanic: Mechanic) -> DemoReport:
        job = bench.moment.job
        slack = self.machine.true_slack(self.machine.tightest_angle())
        return DemoReport(
            self.seed, job.closed, len(job.turns), mechanic.prompts, tuple(mechanic.slips), self.machine.apart_mm, slack
        )
