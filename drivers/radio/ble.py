"""Tools over Bluetooth Low Energy, by bleak; it is known to this file and those named ble*.py, and to nothing else.

One scanner, one connection attempt at a time, one line (`line.py`) for each recognised tool. A tool is always
connected by the device object of its newest advertisement, never by an address: an address would start a scan of
its own.
"""

import asyncio
import random
import sys
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import suppress
from functools import partial
from importlib.metadata import version
from types import TracebackType
from typing import Self

from bleak import BleakAdapter
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData

from drivers import gatt
from drivers.profile.profile import ToolProfile, candidates, ranked
from drivers.reading import RADIO, Arrival, Clock, Link, ToolState

from .blebackends import SYSTEM, Backends
from .bleerrors import RADIO_ERRORS, RadioUnavailableError, advice, classify, require_bleak
from .blepeer import BlePeer, find
from .blescan import Antenna, BleScan, Seen, by_name, scan
from .ether import Ether
from .inbox import Inbox
from .line import Line, Shared
from .slots import Slots
from .supervise import TIMING, Timing, keep_linked

__all__ = ["Backends", "Radio", "RadioUnavailableError", "Seen", "advice", "classify", "find", "scan"]

ARRIVALS_HELD = 1024
"""Arrivals that wait for the caller; when there are more, the lines wait and their frames are held (`FRAMES_HELD`)."""
NO_PEDAL = "No tool that is linked is read by a pedal; its profile says so by its capture."
NOT_HEARD = -127
"""dBm: what bleak gives where there is no signal strength, and so no advertisement."""


class Radio:
    """All tools in reach, as one stream of arrivals.

    Use as an async context manager; inside it `arrivals()` gives everything that happens, in order for each tool.
    Tools come, go and come back without anybody doing anything; nothing a radio does raises here. Reports about the
    radio itself are a ToolState of the tool `RADIO`. `adapter` is the address of the Bluetooth adapter to use; empty:
    the first one found, which then stays the one. Of more than `max_tools` tools the one that rests longest gives way.
    `jitter` gives 0 to 1: how much of the second half of a wait is waited, so that tools are not tried in step.
    """

    def __init__(
        self,
        profiles: Iterable[ToolProfile],
        clock: Clock,
        *,
        backends: Backends = SYSTEM,
        adapter: str = "",
        max_tools: int = 4,
        timing: Timing = TIMING,
        jitter: Callable[[], float] = random.random,
    ) -> None:
        self._profiles = ranked(profiles)
        self._backends = backends
        self._adopts = backends.scanner is None or backends.adapter is not None
        self._jitter = jitter
        self._watches = backends.scanner is None and sys.platform == "linux"
        self._antenna = Antenna(adapter, backends.scanner)
        make_scan = partial(BleScan, self._heard, self._antenna, timing.close_s)
        self._ether = Ether(make_scan, self._adopt, self._any_linked, timing)
        self._arrivals: asyncio.Queue[Arrival] = asyncio.Queue(ARRIVALS_HELD)
        self._late: Inbox[Arrival] = Inbox(ARRIVALS_HELD)
        self._slots = Slots(max_tools, timing.idle_s, self._room)
        ether = self._ether
        self._shared = Shared(clock, timing, self._slots, ether.lock, ether.stop, self._arrivals.put, self._late.put)
        self._lines: dict[str, Line] = {}
        self._group = asyncio.TaskGroup()
        self._tasks: list[asyncio.Task[None]] = []
        self._closing = False

    async def __aenter__(self) -> Self:
        """Begin to listen; RadioUnavailableError only where the radio library is too old."""
        require_bleak(version("bleak"))
        await self._group.__aenter__()
        self._tasks.append(self._group.create_task(self._ether.keep_scanning(self._tell), name="scan"))
        self._tasks.append(self._group.create_task(self._report_late(), name="late frames"))
        if self._watches:
            self._tasks.append(self._group.create_task(self._watch_service(), name="Bluetooth service"))
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._closing = True
        for task in self._tasks:
            task.cancel()
        if isinstance(error, asyncio.CancelledError):
            await self._group.__aexit__(kind, error, trace)
        else:  # an error of the caller leaves as it is, not wrapped in a group
            await self._group.__aexit__(None, None, None)

    async def next(self) -> Arrival:
        """Return the next arrival, waiting for one."""
        return await self._arrivals.get()

    async def arrivals(self) -> AsyncIterator[Arrival]:
        """Give every arrival, until the caller stops asking."""
        while True:
            yield await self._arrivals.get()

    async def capture(self, tool: str = "") -> str:
        """Make the present value of a tool that is read by a pedal a reading, because the pedal is pressed.

        `tool` may be left out where one such tool is linked. Return empty text, or in one sentence why there is no
        reading.
        """
        lines = [each for each in self._lines.values() if each.by_pedal and tool in ("", each.tool)]
        if not lines:
            return NO_PEDAL
        if len(lines) > 1:
            return f"Several tools are read by the pedal: choose one of {', '.join(each.tool for each in lines)}."
        reading = lines[0].capture()
        if reading is None:
            return f"{lines[0].tool} shows no value now; wake it and press the pedal again."
        await self._arrivals.put(reading)
        return ""

    def _room(self) -> None:
        for line in self._lines.values():
            line.room()

    async def _report_late(self) -> None:
        while (arrival := await self._late.take()) is not None:
            await self._arrivals.put(arrival)
            if lost := self._late.take_lost():
                await self._tell(Link.READY, f"{lost} late frames were lost because they came too fast.")

    async def _watch_service(self) -> None:
        from .servicewatch import Change, watch_service  # noqa: PLC0415  (what it speaks is there on Linux only)

        def changed(change: Change) -> None:
            self._antenna.forget()
            if change is Change.GONE:
                self._ether.service_gone()
                for line in self._lines.values():
                    line.abandon()
            else:
                self._slots.restore()
                self._ether.look_again()

        await watch_service(changed, self._shared.timing.poll_s)

    def _any_linked(self) -> bool:
        return any(line.linked for line in self._lines.values())

    async def _tell(self, link: Link, message: str) -> None:
        await self._arrivals.put(ToolState(RADIO, RADIO, link, self._shared.clock.now(), message=message))

    async def _adopt(self) -> None:
        """Take over tools that an earlier process left connected: they do not advertise."""
        if not self._adopts:
            return
        services = {p.recognise.service for p in self._profiles if p.recognise.service}
        with suppress(NotImplementedError, *RADIO_ERRORS):  # without an adapter there is nothing to adopt
            adapter = await BleakAdapter.get(bluez=by_name(self._antenna.now), backend=self._backends.adapter)
            for service in (*sorted(services), gatt.GENERIC_ATTRIBUTE):
                for device in await adapter.get_connected_devices([service]):
                    self._found(device, device.name or "", [service])

    def _heard(self, device: BLEDevice, heard: AdvertisementData) -> None:
        if heard.rssi <= NOT_HEARD:  # BlueZ tells so of any change to a device, also of its falling silent
            return
        self._ether.heard()
        self._found(device, heard.local_name or device.name or "", heard.service_uuids)

    def _found(self, device: BLEDevice, name: str, services: list[str]) -> None:
        fits = candidates(self._profiles, name, services)
        line = self._lines.get(device.address)
        if self._closing or not (line or fits):
            return
        new = line is None
        line = line or Line(self._shared, device.address)
        line.heard(name, fits, partial(BlePeer, device, self._backends.client, self._shared.timing))
        if new:
            self._lines[device.address] = line
            work = keep_linked(line, self._shared.timing, self._jitter)
            self._tasks.append(self._group.create_task(work, name=f"tool {device.address}"))
