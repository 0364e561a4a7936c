"""Scans by bleak: what is heard, over which adapter."""

import asyncio
import sys
from collections.abc import Awaitable, Callable, Coroutine, Iterable
from contextlib import suppress
from dataclasses import dataclass

from bleak import BleakScanner
from bleak.args.bluez import BlueZScannerArgs
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner

from drivers.profile.profile import ToolProfile, candidates, foremost

from .bleerrors import RADIO_ERRORS, RadioUnavailableError, advice, classify
from .ether import NoAdapterError, ScanError
from .supervise import End

WHOLE_S = 2.0
"""How long the beginning or the end of a scan is waited for once nobody wants it any more."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One device that a scan heard."""

    name: str
    address: str
    services: tuple[str, ...]
    rssi: int
    """Signal strength in dBm."""
    profiles: tuple[str, ...] = ()
    """The profiles that may be the one, by what it advertises; which it is shows on connecting."""
    kinds: tuple[str, ...] = ()
    """What it may be, by these profiles."""

    @property
    def profile(self) -> str:
        """What it is by what it advertises, in words: a profile, or what shows on connecting; empty when unknown."""
        if len(self.profiles) < 2:
            return "".join(self.profiles)
        return f"{' or '.join(self.kinds)} (decided on connecting)"


async def scan(
    seconds: float,
    profiles: Iterable[ToolProfile],
    *,
    adapter: str = "",
    scanner_backend: type[BaseBleakScanner] | None = None,
) -> tuple[Seen, ...]:
    """Listen for some seconds and return what was heard, strongest first; RadioUnavailableError without a radio.

    `adapter` is the address of the one to listen with; empty: any.
    """
    try:
        name = await Antenna(adapter, scanner_backend).name()
        async with BleakScanner(bluez=by_name(name), backend=scanner_backend) as scanner:
            await asyncio.sleep(seconds)
        heard = scanner.discovered_devices_and_advertisement_data.values()
    except (NoAdapterError, *RADIO_ERRORS) as error:
        raise RadioUnavailableError(advice(error)) from error
    known = tuple(profiles)
    return tuple(sorted((_seen(d, a, known) for d, a in heard), key=lambda s: (-s.rssi, s.address)))


def _seen(device: BLEDevice, heard: AdvertisementData, profiles: tuple[ToolProfile, ...]) -> Seen:
    name = heard.local_name or device.name or ""
    fits = foremost(candidates(profiles, name, heard.service_uuids))
    kinds = tuple(dict.fromkeys(p.kind for p in fits))
    services = tuple(heard.service_uuids)
    return Seen(name, device.address, services, heard.rssi, tuple(p.profile for p in fits), kinds)


class Antenna:
    """The adapter that is used, where the radio is the system's own and the system has several to choose from."""

    def __init__(self, asked: str, backend: type[BaseBleakScanner] | None) -> None:
        self.backend = backend
        self.now = ""
        """What the system called it at the last look; empty: whichever there is."""
        self._known = False
        self._look: Callable[[], Awaitable[str]] | None = None
        if backend is None and sys.platform == "linux":
            from .adapters import Chosen  # noqa: PLC0415  (what it speaks is there on Linux only)

            self._look = Chosen(asked).name

    def forget(self) -> None:
        """Look again before the next scan: something has changed about the adapters, or went wrong."""
        self._known = False

    async def name(self) -> str:
        """Return which it is now; NoAdapterError when the one asked for is not there."""
        if self._look is not None and not self._known:
            self._known = True  # and no longer, where something changes during the look
            self.now = await self._look()
        return self.now


def by_name(name: str) -> BlueZScannerArgs:
    """Return what bleak is told of the adapter with this name; nothing where the name is empty."""
    return {"adapter": name} if name else {}


async def _whole(work: Coroutine[None, None, None]) -> None:
    """Begin or end a scan to the last step even when cancelled.

    One that is half begun cannot be ended, and one whose end was given up while it waited for another call to the
    service was never asked to end: both would go on for ever.
    """
    task = asyncio.ensure_future(work)
    try:
        await asyncio.shield(task)
    finally:
        if not task.done():
            await asyncio.wait({task}, timeout=WHOLE_S)
            task.cancel()  # a service that answers nothing


class BleScan:
    """A `Scan` by bleak."""

    def __init__(self, heard: Callable[[BLEDevice, AdvertisementData], None], antenna: Antenna) -> None:
        self._heard = heard
        self._antenna = antenna
        self._scanner: BleakScanner | None = None

    async def start(self) -> None:
        try:
            name = await self._antenna.name()
            self._scanner = BleakScanner(self._heard, bluez=by_name(name), backend=self._antenna.backend)
            await _whole(self._scanner.start())
        except NoAdapterError as error:
            self._antenna.forget()
            raise ScanError(End.RADIO_OFF, str(error)) from error
        except RADIO_ERRORS as error:
            self._antenna.forget()
            raise ScanError(classify(error), advice(error)) from error

    async def stop(self) -> None:
        if self._scanner is not None:
            with suppress(*RADIO_ERRORS):  # a scan that cannot be stopped has ended already
                await _whole(self._scanner.stop())
