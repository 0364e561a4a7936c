"""Where tools and the radio meet in the contract tests: one port, and one adapter for each transport.

A stage holds tools by their serial number and does to them what a workshop does; the radio beside it is the real
one. The radio lives in simulated time on every stage, so that "400 ms later" waits for nothing.
"""

import asyncio
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, ClassVar, Protocol, TypeVar

import bleak.backends.bluezdbus.manager as bleak_manager
import pytest
from bleak.exc import BleakBluetoothNotAvailableReason, BleakDBusError

from drivers.profile.file import shipped_profiles
from drivers.radio.ble import Radio, Seen, scan
from drivers.radio.supervise import Timing
from drivers.reading import RADIO, Arrival, Link, ToolReading, ToolState
from simulators.air import Air, AirClient
from simulators.bluez.private_bus import PrivateBus
from simulators.bluez.remote import RemoteStandIn
from simulators.clock import SimClock
from simulators.tools import SimCaliper, SimTool, SimWrench

T = TypeVar("T", bound=Arrival)
PROFILES = shipped_profiles()
LIMIT_S = 60.0
"""No test waits this long unless it has failed."""
TIMING = Timing(connect_s=20.0, close_s=5.0, poll_s=0.05, quiet_s=20.0, asleep_s=0.2)
HOUR = 3600.0
TOLD = replace(TIMING, connect_s=HOUR, poll_s=HOUR, quiet_s=HOUR)
"""Nothing recovers by waiting: what does was told."""
IN_PROGRESS = "org.bluez.Error.InProgress"


class Stage(Protocol):
    """Tools in a workshop, by their serial numbers, and one radio to hear them."""

    clock: SimClock

    def radio(self, *, timing: Timing = TIMING, max_tools: int = 4) -> Radio:
        """Return the real radio on this transport."""
        ...

    async def scan(self) -> tuple[Seen, ...]:
        """List what is heard."""
        ...

    async def press(self, tool: str, mm: str) -> None:
        """Press the button of a caliper."""
        ...

    async def keep(self, tool: str, *millimetres: str) -> None:
        """Measure out of reach: it is sent when the caliper is linked next."""
        ...

    async def echo(self, tool: str, mm: str) -> None:
        """Press once; the radio path gives the notification twice."""
        ...

    async def pull(self, tool: str, curve: Sequence[str]) -> None:
        """Pull a wrench by a curve of torques in N·m."""
        ...

    async def send(self, tool: str, payload: str) -> None:
        """Send octets as a length or a torque."""
        ...

    async def drop(self, tool: str) -> None:
        """Lose the link; the tool advertises at once."""
        ...

    async def sleep(self, tool: str) -> None:
        """Let a tool fall silent."""
        ...

    async def power(self, on: bool) -> None:
        """Switch the adapter."""
        ...

    async def busy(self, times: int) -> None:
        """Let the next connections fail because the adapter is in use."""
        ...

    async def hang(self) -> None:
        """Let the next connection never come."""
        ...

    async def connected(self) -> list[str]:
        """Return the tools that are connected."""
        ...

    async def scanning(self) -> bool:
        """Say whether anybody scans."""
        ...


def make(spec: str, clock: SimClock) -> SimTool:
    kind, _, serial = spec.partition(":")
    if kind == "caliper":
        return SimCaliper(serial, "Bench caliper", Decimal, clock)
    return SimWrench(serial, "Bench wrench", clock)


@dataclass
class AirStage:
    """The in-process air."""

    tools: dict[str, SimTool]
    air: Air
    clock: SimClock
    faults: list[str] = field(default_factory=list)

    def radio(self, *, timing: Timing = TIMING, max_tools: int = 4) -> Radio:
        return Radio(
            PROFILES,
            self.clock,
            backends=self.air.backends,
            max_tools=max_tools,
            timing=timing,
            jitter=lambda: 0.0,
        )

    async def scan(self) -> tuple[Seen, ...]:
        return await scan(0.05, PROFILES, backends=self.air.backends)

    def _caliper(self, tool: str) -> SimCaliper:
        found = self.tools[tool]
        assert isinstance(found, SimCaliper)
        return found

    async def press(self, tool: str, mm: str) -> None:
        self._caliper(tool).measure = lambda: Decimal(mm)
        self._caliper(tool).press()

    async def keep(self, tool: str, *millimetres: str) -> None:
        self._caliper(tool).keep(*map(Decimal, millimetres))

    async def echo(self, tool: str, mm: str) -> None:
        await self.press(tool, mm)
        await self.press(tool, mm)

    async def pull(self, tool: str, curve: Sequence[str]) -> None:
        wrench = self.tools[tool]
        assert isinstance(wrench, SimWrench)
        await wrench.pull([Decimal(each) for each in curve], dt_ms=1)

    async def send(self, tool: str, payload: str) -> None:
        found = self.tools[tool]
        found.send(found.measured.characteristics[0], bytes.fromhex(payload))

    async def drop(self, tool: str) -> None:
        self.tools[tool].drop()

    async def sleep(self, tool: str) -> None:
        self.tools[tool].sleep()

    async def power(self, on: bool) -> None:
        if on:
            self.air.switch_on()
        else:
            self.air.switch_off(BleakBluetoothNotAvailableReason.POWERED_OFF)

    async def busy(self, times: int) -> None:
        self.faults += ["busy"] * times

    async def hang(self) -> None:
        self.faults.append("hang")

    async def connected(self) -> list[str]:
        return [serial for serial, tool in self.tools.items() if tool.peer is not None]

    async def scanning(self) -> bool:
        return bool(self.air.scanners)


class FaultyClient(AirClient):
    """A client whose connections fail as the stage was told."""

    faults: ClassVar[list[str]]

    async def connect(self, pair: bool, **kwargs: object) -> None:
        fault = self.faults.pop(0) if self.faults else ""
        if fault == "busy":
            raise BleakDBusError(IN_PROGRESS, ["Operation already in progress"])
        if fault == "hang":
            await asyncio.Event().wait()
        await super().connect(pair, **kwargs)


@dataclass
class DBusStage:
    """The stand-in for BlueZ: bleak's real Linux backend, over a private D-Bus."""

    remote: RemoteStandIn
    clock: SimClock

    def radio(self, *, timing: Timing = TIMING, max_tools: int = 4, adapter: str = "") -> Radio:
        return Radio(PROFILES, self.clock, adapter=adapter, max_tools=max_tools, timing=timing, jitter=lambda: 0.0)

    async def scan(self) -> tuple[Seen, ...]:
        return await scan(0.5, PROFILES)

    async def press(self, tool: str, mm: str) -> None:
        await self.remote.tell("press", tool, mm)

    async def keep(self, tool: str, *millimetres: str) -> None:
        await self.remote.tell("keep", tool, *millimetres)

    async def echo(self, tool: str, mm: str) -> None:
        await self.remote.tell("repeat", 1)
        await self.press(tool, mm)
        await self.remote.tell("repeat", 0)

    async def pull(self, tool: str, curve: Sequence[str]) -> None:
        await self.remote.pull(tool, 0, curve)

    async def send(self, tool: str, payload: str) -> None:
        await self.remote.tell("send", tool, payload)

    async def drop(self, tool: str) -> None:
        await self.remote.tell("drop", tool)

    async def sleep(self, tool: str) -> None:
        await self.remote.tell("sleep", tool)

    async def power(self, on: bool) -> None:
        await self.remote.tell("power", "on" if on else "off")

    async def busy(self, times: int) -> None:
        await self.remote.tell("fail", "Connect", times, IN_PROGRESS, "Operation already in progress")

    async def hang(self) -> None:
        await self.remote.tell("hang", "Connect", 1)

    async def connected(self) -> list[str]:
        return list((await self.remote.tell("state"))["connected"])

    async def scanning(self) -> bool:
        return bool((await self.remote.tell("state"))["scanning"])


class SetDBus(Protocol):
    """Sets the stage on D-Bus with some tools."""

    def __call__(self, *tools: str) -> AbstractAsyncContextManager[DBusStage]:
        """Give the stage."""
        ...


@asynccontextmanager
async def on_air(tools: Sequence[str]) -> AsyncIterator[AirStage]:
    clock = SimClock()
    made = {tool.label.serial: tool for tool in (make(spec, clock) for spec in tools)}
    air = Air(made.values())
    stage = AirStage(made, air, clock)
    air.client_backend = type("FaultyHere", (FaultyClient,), {"air": air, "faults": stage.faults})
    yield stage


@asynccontextmanager
async def on_dbus(tools: Sequence[str], patch: pytest.MonkeyPatch) -> AsyncIterator[DBusStage]:
    """Start a bus and a stand-in for one test, and end both; leave with nothing of bleak's open."""
    async with PrivateBus() as bus:
        for name, value in bus.environ().items():
            patch.setenv(name, value)
        async with RemoteStandIn(bus, tools) as remote:
            try:
                yield DBusStage(remote, SimClock())
            finally:
                await _close_bleak()


async def _close_bleak() -> None:
    """Close the connection that bleak keeps for as long as its event loop lives."""
    manager = bleak_manager._global_instances.pop(asyncio.get_running_loop(), None)
    if manager is not None and manager._bus is not None:
        manager._bus.disconnect()
        await asyncio.wait({manager._bus_watcher_task} if manager._bus_watcher_task else set[Any]())


async def until(radio: Radio, fits: Callable[[Arrival], bool]) -> list[Arrival]:
    """Return the arrivals up to and including the first that fits."""
    found: list[Arrival] = []
    while not found or not fits(found[-1]):
        found.append(await radio.next())
    return found


def is_link(link: Link, tool: str = "") -> Callable[[Arrival], bool]:
    return lambda a: isinstance(a, ToolState) and a.link is link and tool in ("", a.tool)


def only(arrivals: Sequence[Arrival], kind: type[T]) -> list[T]:
    return [a for a in arrivals if isinstance(a, kind)]


async def all_ready(radio: Radio, tools: set[str]) -> list[Arrival]:
    """Wait until each of these tools has become ready."""
    found: list[Arrival] = []
    waiting = set(tools)
    while waiting:
        found += await until(radio, is_link(Link.READY))
        state = found[-1]
        assert isinstance(state, ToolState)
        waiting.discard(state.tool)
    return found


async def reads_once(set_: DBusStage, radio: Radio, mm: str = "36.2") -> None:
    """Show that one press gives one reading."""
    await set_.press("DC-0417", mm)
    await set_.press("DC-0417", "149.99")
    found = only(await until(radio, lambda a: isinstance(a, ToolReading) and a.text == "149.9900"), ToolReading)
    assert [(r.text, r.duplicate) for r in found] == [(f"{mm}000", False), ("149.9900", False)]


def messages(states: list[ToolState]) -> list[str]:
    return [s.message for s in states if s.tool == RADIO]
