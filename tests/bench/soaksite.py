"""Where the soak takes place: eight tools, the air, and the program as it runs; it may be ended and started again."""

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from drivers.hearing.gather import DOUBLED
from drivers.radio.ble import Radio
from drivers.radio.supervise import Timing
from drivers.reading import RADIO, Arrival, Link, ToolState, Undecoded
from logger.bench.bench import Bench, Opening
from logger.trail.trail import Trail
from simulators.clock import SimClock
from simulators.stated import Stated
from simulators.tools import SimTool
from simulators.workshop import GaugeJaws
from tests.bench.soakair import Books, air_of, link_of
from tests.bench.soakledger import Account
from tests.bench.soaktools import Tools, profiles

LIMIT_S = 60.0
"""Nothing takes this long unless something has gone for ever."""
TIMING = Timing(connect_s=0.5, close_s=0.5, poll_s=0.02, quiet_s=0.1, asleep_s=0.05, rest_s=0.02)
"""What a person would not wait for, short: the soak has no person."""
SETTLED_MS = 2500
"""By then a pull without its own peak, or without an end, is over."""


class SoakError(Exception):
    """Something that has to come never came."""


class JumpingClock(SimClock):
    """Simulated time whose wall clock is put back and forward."""

    def jump_s(self, seconds: int) -> None:
        """Put the wall clock forward, or back."""
        self._utc_ns += seconds * 1_000_000_000


@dataclass
class Site:
    """The workshop and the program in it."""

    path: Path
    group: asyncio.TaskGroup
    clock: JumpingClock = field(default_factory=JumpingClock)
    jaws: GaugeJaws = field(default_factory=GaugeJaws)
    links: dict[str, Link] = field(default_factory=dict)
    twice: set[str] = field(default_factory=set)
    """Tools of which it was told, and nothing was done about it yet, that parts of their messages came twice."""
    runs: int = 0

    def __post_init__(self) -> None:
        self.tools = Tools(self.clock, self.jaws)
        self.books = Books(self.tools)
        self.air, self.connecting = air_of(self.tools, self.books)
        self.names = self.tools.names
        self._stirred = asyncio.Event()
        self._trail: Trail | None = None
        self._radio: Radio | None = None
        self._carrying: asyncio.Task[None] | None = None
        self._bench: Bench | None = None
        self._profiles = profiles()

    @property
    def bench(self) -> Bench:
        """The job that is on, or the last one."""
        assert self._bench is not None
        return self._bench

    # --- the program ------------------------------------------------------------------------------------------------

    async def begin(self, opening: Opening) -> Bench:
        """Begin a job, in the program that runs or in a new one."""
        known: Mapping[str, ToolState] = self._bench.tools if self._bench and self._trail else {}
        bench = await Bench.open(self._opened(), self.clock, opening)
        await self._take_up(bench, known)
        return bench

    async def resume(self) -> Bench:
        """Take up the job in a new program."""
        job = self.bench.moment.job.id
        bench = await Bench.resume(self._opened(), self.clock, job)
        await self._take_up(bench, {})
        return bench

    def _opened(self) -> Trail:
        if self._trail is None:
            self._trail = Trail.open(self.path, clock=self.clock)
            self.runs += 1
        return self._trail

    async def _take_up(self, bench: Bench, known: Mapping[str, ToolState]) -> None:
        bench.describe = Stated(bench.moment.job.opened_utc)
        for state in known.values():
            await bench.arrive(state)
        self._bench = bench
        if self._radio is None:
            self._radio = Radio(
                self._profiles,
                self.clock,
                backends=self.air.backends,
                max_tools=8,
                timing=TIMING,
                jitter=lambda: -0.98,  # hundredths of the waits between attempts: the tools are simulated
            )
            await self._radio.__aenter__()
            self._carrying = self.group.create_task(self._carry(self._radio), name="carry readings")

    async def stop(self) -> None:
        """End the program; nothing of it stays."""
        if self._carrying is not None and self._radio is not None:
            self._carrying.cancel()
            await asyncio.wait({self._carrying})
            await self._radio.__aexit__(None, None, None)
        if self._trail is not None:
            self._trail.close()
        self._trail = self._radio = self._carrying = None
        self.links.clear()

    async def _carry(self, radio: Radio) -> None:
        async for arrival in radio.arrivals():
            await self.bench.arrive(arrival)
            self._note(arrival)

    def _note(self, arrival: Arrival) -> None:
        tool = self.names.get(arrival.tool, arrival.tool)
        if isinstance(arrival, ToolState):
            self.links[tool] = arrival.link
        elif isinstance(arrival, Undecoded) and arrival.reason == DOUBLED:
            self.twice.add(tool)
        if tool != RADIO or isinstance(arrival, ToolState):
            self.books.flight.heard(tool, arrival)
        self._stirred.set()

    # --- waiting ----------------------------------------------------------------------------------------------------

    async def until(self, what: str, holds: Callable[[], bool]) -> None:
        """Wait until something holds; SoakError when it never does."""
        try:
            async with asyncio.timeout(LIMIT_S):
                while not holds():
                    self._stirred.clear()
                    await self._stirred.wait()
        except TimeoutError as error:
            raise SoakError(f"{what} for {LIMIT_S:.0f} s; on its way: {self.books.flight}") from error

    async def ready(self, tool: SimTool) -> None:
        """Wait until a tool is ready, pressing its button where it sleeps."""
        if not tool.awake:
            tool.wake()
        await self.until(f"{tool.name} did not become ready", lambda: self._is_ready(tool))

    def _is_ready(self, tool: SimTool) -> bool:
        link = link_of(tool)
        return link is not None and bool(tool.subscribed) and self.links.get(tool.label.serial) is Link.READY

    async def settled(self) -> None:
        """Wait until all that was sent has arrived, then let as much time pass as ends every pull."""
        await self.until("something sent did not arrive", lambda: self.books.flight.landed)
        self.clock.advance_ms(SETTLED_MS)
        await self.bench.settle_pulls()

    async def quiet(self) -> Account:
        """Wait until every tool is linked and nothing is on its way; return the account of the job."""
        while not (all(map(self._is_ready, self.tools)) and self.books.flight.landed):
            for tool in self.tools:
                await self.ready(tool)
            await self.settled()
        return self.books.close()
