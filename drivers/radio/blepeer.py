"""One link by bleak: one client for one link, made from the device that a scan heard and never from an address."""

import asyncio
import logging
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import Literal

from bleak import BleakClient
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.exc import BleakGATTProtocolError

from drivers import gatt
from drivers.decode.bind import Offered

from .blebackends import SYSTEM, Backends
from .bleerrors import RADIO_ERRORS, RadioUnavailableError, broken_links
from .blescan import scanning
from .peer import Heard, MakePeer
from .supervise import TIMING, Timing

UNMADE_S = 0.5
"""For the end of a link that was never made: bleak may wait there for ever, for a bus that it never reached."""
TAKINGS_BACK = 3
"""How often an attempt is cancelled: on its way out of one wait for the service bleak may begin another."""
UNTAKEN = "The Bluetooth service did not let go of an attempt to connect within %g s; it is left to the service."
UNCLOSED = "The Bluetooth service did not say within %g s that a link has ended; it is left to the service."
_log = logging.getLogger(__name__)


class BlePeer:
    """A `Peer` by bleak: one client for one link.

    The system may drop a link, and what was discovered over it, between any two calls: so every look at the client
    is inside `broken_links`.
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
        with broken_links():
            work = asyncio.ensure_future(self._client.connect())
            try:
                await asyncio.shield(work)
            finally:
                await self._taken_back(work)
                self._made = work.done() and not work.cancelled() and work.exception() is None

    async def _taken_back(self, work: "asyncio.Future[None]") -> None:
        """Cancel what is not done, more than once: a service that answers nothing holds up the taking back too."""
        for _ in range(TAKINGS_BACK):
            if work.done():
                return
            work.cancel()
            await asyncio.wait({work}, timeout=self._timing.close_s)
        if not work.done():
            _log.warning(UNTAKEN, TAKINGS_BACK * self._timing.close_s)

    def offers(self) -> tuple[Offered, ...]:
        with broken_links():
            return tuple(
                Offered(c.handle, c.uuid.lower(), c.service_uuid.lower())
                for c in self._client.services.characteristics.values()
                if "notify" in c.properties or "indicate" in c.properties
            )

    async def subscribe(self, handle: int, mode: Literal["start", "acquire"], heard: Heard) -> None:
        def notified(characteristic: BleakGATTCharacteristic, data: bytearray) -> None:
            heard(handle, characteristic.uuid.lower(), bytes(data))

        with broken_links():
            await self._client.start_notify(handle, notified, bluez={"use_start_notify": mode == "start"})

    async def unsubscribe(self, handle: int) -> None:
        with broken_links():
            await self._client.stop_notify(handle)

    async def describe(self, offered: Offered) -> Offered:
        text = await self._descriptor(offered.handle, gatt.USER_DESCRIPTION)
        presentation = await self._descriptor(offered.handle, gatt.PRESENTATION_FORMAT)
        return replace(offered, description=gatt.text_of(text) if text else None, presentation=presentation)

    async def _descriptor(self, handle: int, uuid: str) -> bytes | None:
        with broken_links():
            characteristic = self._client.services.get_characteristic(handle)
            descriptor = characteristic.get_descriptor(uuid) if characteristic else None
            return None if descriptor is None else bytes(await self._client.read_gatt_descriptor(descriptor))

    async def read(self, service: str, uuid: str) -> bytes:
        with broken_links(), suppress(BleakGATTProtocolError):  # the tool answered, and its answer was no
            found = self._client.services.get_service(service)
            characteristic = found.get_characteristic(uuid) if found else None
            if characteristic is not None and "read" in characteristic.properties:
                return bytes(await self._client.read_gatt_char(characteristic))
        return b""

    async def close(self) -> None:
        """Disconnect whatever happened before: a client left behind leaks, and BlueZ would keep the tool."""
        limit = self._timing.close_s if self._made else min(UNMADE_S, self._timing.close_s)
        try:
            async with asyncio.timeout(limit):
                await self._client.disconnect()
        except TimeoutError:
            if self._made:
                _log.warning(UNCLOSED, limit)
        except RADIO_ERRORS:
            pass  # the link has ended already, which is what is wanted


async def find(
    address: str,
    seconds: float,
    *,
    adapter: str = "",
    backends: Backends = SYSTEM,
    timing: Timing = TIMING,
) -> MakePeer:
    """Listen until a device is heard at an address; return what makes a link to it. `adapter` is as for a scan.

    RadioUnavailableError without a radio, or when the device is not heard within so many seconds.
    """
    found: asyncio.Future[BLEDevice] = asyncio.get_running_loop().create_future()

    def heard(device: BLEDevice, _: AdvertisementData) -> None:
        if device.address == address and not found.done():
            found.set_result(device)

    # the callback is there from the start: a device may be told of while the scan begins, and not again for long
    async with scanning(heard, adapter, backends, timing):
        with suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                return partial(BlePeer, await found, backends.client, timing)
    raise RadioUnavailableError("The tool is not heard any more; press its button and try again.")
