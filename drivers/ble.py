"""Tools over Bluetooth Low Energy; the only importer of bleak in this package.

One scanner, one connection attempt at a time, one line (`line.py`) for each recognised tool. A tool is always
connected by the device object of its newest advertisement, never by an address: an address would start a scan of
its own.
"""

import asyncio
import random
import sys
from collections.abc import AsyncIterator, Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from functools import partial
from types import TracebackType
from typing import Literal, Self

from bleak import BleakAdapter, BleakClient, BleakScanner
from bleak.backends.adapter import BaseBleakAdapter
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner
from bleak.exc import BleakBluetoothNotAvailableError, BleakDBusError, BleakError, BleakGATTProtocolError

from . import gatt
from .decode import Offered
from .ether import Ether, ScanError
from .inbox import Inbox
from .line import Heard, Line, LinkError, MakePeer, Shared
from .profile import ToolProfile, candidates, ranked
from .reading import RADIO, Arrival, Clock, Link, ToolState
from .supervise import BUSY, RADIO_ADVICE, TIMING, End, Timing, keep_linked

RADIO_ERRORS = (BleakError, TimeoutError, OSError, EOFError)
"""What a radio, or a D-Bus that went away, may raise at any call; anything else is a bug and is let through."""

ARRIVALS_HELD = 1024
UNMADE_S = 0.5
NOT_HEARD = -127
"""dBm: what bleak gives where there is no signal strength, and so no advertisement."""
_NO_SERVICE = {"org.freedesktop.DBus.Error.ServiceUnknown", "org.freedesktop.DBus.Error.NameHasNoOwner"}
_NEEDS_PAIRING = {0x05, 0x08, 0x0F}
"""ATT error codes: insufficient authentication, authorization, encryption (Core Specification Vol 3 Part F 3.4.1.1)."""


class RadioUnavailableError(Exception):
    """There is no radio to use; the text is one sentence with what to do."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One device that a scan heard."""

    name: str
    address: str
    services: tuple[str, ...]
    rssi: int
    """Signal strength in dBm."""
    profile: str
    """The first profile that recognises it, or empty."""


def advice(error: BaseException) -> str:
    """Return one sentence with one action for an error that means there is no radio."""
    if isinstance(error, BleakDBusError) and error.dbus_error in _NO_SERVICE:
        return RADIO_ADVICE["NO_SERVICE"]
    if classify(error) is End.BUSY:
        return BUSY
    if isinstance(error, BleakBluetoothNotAvailableError):
        return RADIO_ADVICE.get(error.reason.name, RADIO_ADVICE["UNKNOWN"])
    # without a system bus there is no socket to open: the Bluetooth service cannot be running
    return RADIO_ADVICE["NO_BLUETOOTH" if isinstance(error, FileNotFoundError) else "UNKNOWN"]


def classify(error: BaseException) -> End:
    """Say what kind of end an error of bleak is."""
    name = error.dbus_error if isinstance(error, BleakDBusError) else ""
    if isinstance(error, BleakBluetoothNotAvailableError) or name == "org.bluez.Error.NotReady":
        return End.RADIO_OFF
    if name == "org.bluez.Error.InProgress":
        return End.BUSY
    if name.startswith("org.bluez.Error.Authentication"):
        return End.REFUSED
    if isinstance(error, BleakGATTProtocolError) and int(error.code) in _NEEDS_PAIRING:
        return End.REFUSED
    return End.TIMEOUT if isinstance(error, TimeoutError) else End.ABORTED


async def scan(
    seconds: float,
    profiles: Iterable[ToolProfile],
    *,
    scanner_backend: type[BaseBleakScanner] | None = None,
) -> tuple[Seen, ...]:
    """Listen for some seconds and return what was heard, strongest first; RadioUnavailableError without a radio."""
    try:
        async with BleakScanner(backend=scanner_backend) as scanner:
            await asyncio.sleep(seconds)
        heard = scanner.discovered_devices_and_advertisement_data.values()
    except RADIO_ERRORS as error:
        raise RadioUnavailableError(advice(error)) from error
    known = tuple(profiles)
    return tuple(sorted((_seen(d, a, known) for d, a in heard), key=lambda s: (-s.rssi, s.address)))


async def find(
    address: str,
    seconds: float,
    *,
    scanner_backend: type[BaseBleakScanner] | None = None,
    client_backend: type[BaseBleakClient] | None = None,
    timing: Timing = TIMING,
) -> MakePeer:
    """Listen until a device is heard at an address; return what makes a link to it.

    RadioUnavailableError without a radio, or when the device is not heard within so many seconds.
    """
    try:
        async with BleakScanner(backend=scanner_backend) as scanner:
            with suppress(TimeoutError):
                async with asyncio.timeout(seconds):
                    async for device, _ in scanner.advertisement_data():
                        if device.address == address:
                            return partial(_BlePeer, device, client_backend, timing)
    except RADIO_ERRORS as error:
        raise RadioUnavailableError(advice(error)) from error
    raise RadioUnavailableError("The tool is not heard any more; press its button and try again.")


def _seen(device: BLEDevice, heard: AdvertisementData, profiles: tuple[ToolProfile, ...]) -> Seen:
    name = heard.local_name or device.name or ""
    fits = candidates(profiles, name, heard.service_uuids)
    profile = fits[0].profile if fits else ""
    return Seen(name, device.address, tuple(heard.service_uuids), heard.rssi, profile)


class Radio:
    """All tools in reach, as one stream of arrivals.

    Use as an async context manager; inside it `arrivals()` gives everything that happens, in order for each tool.
    Tools come, go and come back without anybody doing anything; nothing a radio does raises here. Reports about the
    radio itself are a ToolState of the tool `RADIO`.
    """

    def __init__(
        self,
        profiles: Iterable[ToolProfile],
        clock: Clock,
        *,
        scanner_backend: type[BaseBleakScanner] | None = None,
        client_backend: type[BaseBleakClient] | None = None,
        adapter_backend: type[BaseBleakAdapter] | None = None,
        max_tools: int = 4,
        timing: Timing = TIMING,
        jitter: Callable[[], float] = random.random,
    ) -> None:
        self._profiles = ranked(profiles)
        self._client_backend = client_backend
        self._adapter_backend = adapter_backend
        self._adopts = scanner_backend is None or adapter_backend is not None
        self._jitter = jitter
        self._watches = scanner_backend is None and sys.platform == "linux"
        self._ether = Ether(partial(_BleScan, self._heard, scanner_backend), self._adopt, self._any_linked, timing)
        self._arrivals: asyncio.Queue[Arrival] = asyncio.Queue(ARRIVALS_HELD)
        self._late: Inbox[Arrival] = Inbox(ARRIVALS_HELD)
        slots = asyncio.Semaphore(max_tools)
        ether = self._ether
        self._shared = Shared(clock, timing, slots, ether.lock, ether.stop, self._arrivals.put, self._late.put)
        self._lines: dict[str, Line] = {}
        self._group = asyncio.TaskGroup()
        self._tasks: list[asyncio.Task[None]] = []
        self._closing = False

    async def __aenter__(self) -> Self:
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

    async def _report_late(self) -> None:
        while (arrival := await self._late.take()) is not None:
            await self._arrivals.put(arrival)
            if lost := self._late.take_lost():
                await self._tell(Link.READY, f"{lost} late frames were lost because they came too fast.")

    async def _watch_service(self) -> None:
        from .service_watch import Change, watch_service  # noqa: PLC0415  (what it speaks is there on Linux only)

        def changed(change: Change) -> None:
            if change is Change.GONE:
                self._ether.service_gone()
                for line in self._lines.values():
                    line.abandon()
            else:
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
            adapter = await BleakAdapter.get(backend=self._adapter_backend)
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
        line.heard(name, fits, partial(_BlePeer, device, self._client_backend, self._shared.timing))
        if new:
            self._lines[device.address] = line
            work = keep_linked(line, self._shared.timing, self._jitter)
            self._tasks.append(self._group.create_task(work, name=f"tool {device.address}"))


class _BleScan:
    """A `Scan` by bleak."""

    def __init__(
        self, heard: Callable[[BLEDevice, AdvertisementData], None], backend: type[BaseBleakScanner] | None
    ) -> None:
        self._scanner = BleakScanner(heard, backend=backend)

    async def start(self) -> None:
        try:
            await self._scanner.start()
        except RADIO_ERRORS as error:
            raise ScanError(classify(error), advice(error)) from error

    async def stop(self) -> None:
        with suppress(*RADIO_ERRORS):  # a scan that cannot be stopped has ended already
            await self._scanner.stop()


class _BlePeer:
    """A `Peer` by bleak: one client for one link.

    The system may drop a link, and what was discovered over it, between any two calls: so every look at the client
    is inside `_broken_links`.
    """

    def __init__(
        self,
        device: BLEDevice,
        backend: type[BaseBleakClient] | None,
        timing: Timing,
        gone: Callable[[], None],
    ) -> None:
        self._timing = timing
        self._client = BleakClient(device, lambda _: gone(), timeout=timing.connect_s, backend=backend)
        self._made = False

    async def connect(self) -> None:
        """Connect; when cancelled, wait for bleak to take back what it began, but not for ever."""
        with _broken_links():
            work = asyncio.ensure_future(self._client.connect())
            try:
                await asyncio.shield(work)
            finally:
                while not work.done():  # a service that answers nothing would hold up the taking back too
                    work.cancel()
                    await asyncio.wait({work}, timeout=self._timing.close_s)
                self._made = not work.cancelled() and work.exception() is None

    def offers(self) -> tuple[Offered, ...]:
        with _broken_links():
            return tuple(
                Offered(c.handle, c.uuid.lower(), c.service_uuid.lower())
                for c in self._client.services.characteristics.values()
                if "notify" in c.properties or "indicate" in c.properties
            )

    async def subscribe(self, handle: int, mode: Literal["start", "acquire"], heard: Heard) -> None:
        def notified(characteristic: BleakGATTCharacteristic, data: bytearray) -> None:
            heard(handle, characteristic.uuid.lower(), bytes(data))

        with _broken_links():
            await self._client.start_notify(handle, notified, bluez={"use_start_notify": mode == "start"})

    async def unsubscribe(self, handle: int) -> None:
        with _broken_links():
            await self._client.stop_notify(handle)

    async def describe(self, offered: Offered) -> Offered:
        text = await self._descriptor(offered.handle, gatt.USER_DESCRIPTION)
        presentation = await self._descriptor(offered.handle, gatt.PRESENTATION_FORMAT)
        return replace(offered, description=gatt.text_of(text) if text else None, presentation=presentation)

    async def _descriptor(self, handle: int, uuid: str) -> bytes | None:
        with _broken_links():
            characteristic = self._client.services.get_characteristic(handle)
            descriptor = characteristic.get_descriptor(uuid) if characteristic else None
            return None if descriptor is None else bytes(await self._client.read_gatt_descriptor(descriptor))

    async def read(self, service: str, uuid: str) -> bytes:
        with _broken_links(), suppress(BleakGATTProtocolError):  # the tool answered, and its answer was no
            found = self._client.services.get_service(service)
            characteristic = found.get_characteristic(uuid) if found else None
            if characteristic is not None and "read" in characteristic.properties:
                return bytes(await self._client.read_gatt_char(characteristic))
        return b""

    async def close(self) -> None:
        """Disconnect whatever happened before: a client left behind leaks, and BlueZ would keep the tool."""
        # of a link that was never made bleak may wait for the end of a bus that it never reached
        limit = self._timing.close_s if self._made else min(UNMADE_S, self._timing.close_s)
        with suppress(*RADIO_ERRORS):  # the link has ended already, which is what is wanted
            async with asyncio.timeout(limit):
                await self._client.disconnect()


@contextmanager
def _broken_links() -> Iterator[None]:
    try:
        yield
    except RADIO_ERRORS as error:
        raise LinkError(classify(error), str(error)) from error
