"""Scans by bleak: what is heard, over which adapter."""

import asyncio
import logging
import sys
from collections.abc import AsyncIterator, Awaitable, Callable, Coroutine, Iterable
from contextlib import asynccontextmanager
from dataclasses import dataclass

from bleak import BleakScanner
from bleak.args.bluez import BlueZScannerArgs
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner

from drivers.profile.profile import ToolProfile, candidates, foremost

from .blebackends import SYSTEM, Backends
from .bleerrors import RADIO_ERRORS, RadioUnavailableError, advice, classify
from .ether import NoAdapterError, ScanError
from .supervise import TIMING, End, Timing

UNENDED = "The Bluetooth service did not say within %g s that the scan has ended; it is left to the service."
_log = logging.getLogger(__name__)


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


async def _whole(work: Coroutine[None, None, None], limit_s: float | None, leave_s: float) -> None:
    """Begin or end a scan to the last step; TimeoutError when that takes longer than the limit, if there is one.

    One that is half begun cannot be ended, and one whose end was given up while it waited for another call to the
    service was never asked to end: both would go on for ever. So who is cancelled waits for it too, up to `leave_s`.
    """
    task = asyncio.ensure_future(work)
    try:
        async with asyncio.timeout(limit_s):
            await asyncio.shield(task)
    except asyncio.CancelledError:
        await asyncio.wait({task}, timeout=leave_s)
        raise
    finally:
        task.cancel()


async def _ended(scanner: BleakScanner, limit_s: float) -> None:
    try:
        await _whole(scanner.stop(), limit_s, limit_s)
    except TimeoutError:
        _log.warning(UNENDED, limit_s)
    except RADIO_ERRORS:
        pass  # a scan that cannot be stopped has ended already


class BleScan:
    """A `Scan` by bleak."""

    def __init__(
        self,
        heard: Callable[[BLEDevice, AdvertisementData], None] | None,
        antenna: Antenna,
        leave_s: float = TIMING.close_s,
    ) -> None:
        self._heard = heard
        self._antenna = antenna
        self._leave_s = leave_s
        self._scanner: BleakScanner | None = None

    async def start(self) -> None:
        """Begin; ScanError when it cannot.

        There is no limit to it: a service that answers late begins the scan after all, and refuses another one.
        """
        try:
            name = await self._antenna.name()
            self._scanner = BleakScanner(self._heard, bluez=by_name(name), backend=self._antenna.backend)
            await _whole(self._scanner.start(), None, self._leave_s)
        except NoAdapterError as error:
            self._unbegun()
            raise ScanError(End.RADIO_OFF, str(error)) from error
        except RADIO_ERRORS as error:
            self._unbegun()
            raise ScanError(classify(error), advice(error)) from error

    def _unbegun(self) -> None:
        self._antenna.forget()
        self._scanner = None

    @property
    def devices(self) -> tuple[tuple[BLEDevice, AdvertisementData], ...]:
        """What was heard, each with its newest advertisement."""
        return tuple(self._scanner.discovered_devices_and_advertisement_data.values()) if self._scanner else ()

    async def stop(self) -> None:
        """End; never raises, and is given up after a while when the service does not answer."""
        if self._scanner is not None:
            await _ended(self._scanner, self._leave_s)


@asynccontextmanager
async def scanning(
    heard: Callable[[BLEDevice, AdvertisementData], None] | None, adapter: str, backends: Backends, timing: Timing
) -> AsyncIterator[BleScan]:
    """Scan for as long as the context lasts; RadioUnavailableError when that cannot be begun."""
    scan = BleScan(heard, Antenna(adapter, backends.scanner), timing.close_s)
    try:
        await scan.start()
        yield scan
    except ScanError as error:
        raise RadioUnavailableError(str(error)) from error
    finally:
        await scan.stop()


async def scan(
    seconds: float,
    profiles: Iterable[ToolProfile],
    *,
    adapter: str = "",
    backends: Backends = SYSTEM,
    timing: Timing = TIMING,
) -> tuple[Seen, ...]:
    """Listen for some seconds and return what was heard, strongest first; RadioUnavailableError without a radio.

    `adapter` is the address of the one to listen with; empty: any.
    """
    async with scanning(None, adapter, backends, timing) as heard:
        await asyncio.sleep(seconds)
    known = tuple(profiles)
    return tuple(sorted((_seen(d, a, known) for d, a in heard.devices), key=lambda s: (-s.rssi, s.address)))


def _seen(device: BLEDevice, heard: AdvertisementData, profiles: tuple[ToolProfile, ...]) -> Seen:
    name = heard.local_name or device.name or ""
    fits = foremost(candidates(profiles, name, heard.service_uuids))
    kinds = tuple(dict.fromkeys(p.kind for p in fits))
    services = tuple(heard.service_uuids)
    return Seen(name, device.address, services, heard.rssi, tuple(p.profile for p in fits), kinds)
