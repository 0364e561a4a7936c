"""One link by bleak: one client for one link, made from the device that a scan heard and never from an address."""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import Literal

from bleak import BleakClient, BleakScanner
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner
from bleak.exc import BleakGATTProtocolError

from drivers import gatt
from drivers.decode.bind import Offered

from .bleerrors import RADIO_ERRORS, RadioUnavailableError, advice, broken_links
from .blescan import Antenna, by_name
from .ether import NoAdapterError
from .line import Heard, MakePeer
from .supervise import TIMING, Timing

UNMADE_S = 0.5


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
                while not work.done():  # a service that answers nothing would hold up the taking back too
                    work.cancel()
                    await asyncio.wait({work}, timeout=self._timing.close_s)
                self._made = not work.cancelled() and work.exception() is None

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
        # of a link that was never made bleak may wait for the end of a bus that it never reached
        limit = self._timing.close_s if self._made else min(UNMADE_S, self._timing.close_s)
        with suppress(*RADIO_ERRORS):  # the link has ended already, which is what is wanted
            async with asyncio.timeout(limit):
                await self._client.disconnect()


async def find(
    address: str,
    seconds: float,
    *,
    adapter: str = "",
    scanner_backend: type[BaseBleakScanner] | None = None,
    client_backend: type[BaseBleakClient] | None = None,
    timing: Timing = TIMING,
) -> MakePeer:
    """Listen until a device is heard at an address; return what makes a link to it. `adapter` is as for a scan.

    RadioUnavailableError without a radio, or when the device is not heard within so many seconds.
    """
    found: asyncio.Future[BLEDevice] = asyncio.get_running_loop().create_future()

    def heard(device: BLEDevice, _: AdvertisementData) -> None:
        if device.address == address and not found.done():
            found.set_result(device)

    try:
        name = await Antenna(adapter, scanner_backend).name()
        # the callback is there from the start: a device may be told of while the scan begins, and not again for long
        async with BleakScanner(heard, bluez=by_name(name), backend=scanner_backend):
            with suppress(TimeoutError):
                async with asyncio.timeout(seconds):
                    return partial(BlePeer, await found, client_backend, timing)
    except (NoAdapterError, *RADIO_ERRORS) as error:
        raise RadioUnavailableError(advice(error)) from error
    raise RadioUnavailableError("The tool is not heard any more; press its button and try again.")
