"""An in-process bleak backend: bleak's own scanner and client talk to simulated tools, and drivers cannot tell.

Give the radio `air.backends`, or bleak itself one of them as `backend=`. Nothing here waits for wall-clock time.
"""

import asyncio
from collections.abc import Callable, Iterable
from typing import ClassVar, NoReturn

from bleak.args import SizedBuffer
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient, NotifyCallback
from bleak.backends.descriptor import BleakGATTDescriptor
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, AdvertisementDataCallback, BaseBleakScanner
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDeviceNotFoundError,
    BleakError,
)

from drivers.radio.blebackends import Backends

from .tools import NotOnAirError, SimTool

MTU = 23


class Air:
    """What is on the air at one place: tools, and the one adapter that hears them."""

    def __init__(self, tools: Iterable[SimTool] = ()) -> None:
        self.tools: dict[str, SimTool] = {}
        self.unavailable: BleakBluetoothNotAvailableReason | None = None
        """Why there is no radio; None while there is one."""
        self.scanners: list[AirScanner] = []
        self.scanner_backend = type("SimScanner", (AirScanner,), {"air": self})
        self.client_backend = type("SimClient", (AirClient,), {"air": self})
        for tool in tools:
            self.add(tool)

    @property
    def backends(self) -> Backends:
        """What the radio of the drivers is given to hear this air."""
        return Backends(self.scanner_backend, self.client_backend)

    def add(self, tool: SimTool) -> str:
        """Bring a tool into reach and return the address it is given.

        Addresses are of the block kept for documentation (RFC 7042 section 2.1.2).
        """
        address = f"00:00:5E:00:53:{len(self.tools):02X}"
        self.tools[address] = tool
        tool.on_air.append(lambda _: self._announce(address))
        self._announce(address)
        return address

    def switch_off(self, why: BleakBluetoothNotAvailableReason) -> None:
        """Take the radio away: scans fall silent and links are lost."""
        self.unavailable = why
        for scanner in list(self.scanners):
            self.scanners.remove(scanner)
        for tool in self.tools.values():
            tool.drop()

    def switch_on(self) -> None:
        """Give the radio back."""
        self.unavailable = None

    def require(self) -> None:
        """BleakBluetoothNotAvailableError when there is no radio, as bleak has it."""
        if self.unavailable is not None:
            raise BleakBluetoothNotAvailableError("no radio", self.unavailable)

    def announce_all(self, scanner: "AirScanner") -> None:
        """Let a scanner hear everything that advertises."""
        for address, tool in self.tools.items():
            if tool.advertising and scanner in self.scanners:
                scanner.hear(address, tool)

    def _announce(self, address: str) -> None:
        tool = self.tools[address]
        for scanner in self.scanners:
            if tool.advertising:
                scanner.hear(address, tool)


class AirScanner(BaseBleakScanner):
    """A scanner of one `Air`."""

    air: ClassVar[Air]

    def __init__(
        self,
        detection_callback: AdvertisementDataCallback | None,
        service_uuids: list[str] | None,
        scanning_mode: str,
        **_: object,
    ) -> None:
        super().__init__(detection_callback, service_uuids)

    async def start(self) -> None:
        """Start hearing; what advertises already is heard in the next turn of the loop."""
        self.air.require()
        self.seen_devices = {}
        self.air.scanners.append(self)
        asyncio.get_running_loop().call_soon(self.air.announce_all, self)

    async def stop(self) -> None:
        """Stop hearing."""
        if self in self.air.scanners:
            self.air.scanners.remove(self)

    def hear(self, address: str, tool: SimTool) -> None:
        """Take one advertisement."""
        services = tool.advertised_services()
        heard = AdvertisementData(tool.name, {}, {}, services, None, tool.rssi, ())
        device = self.create_or_update_device(address, address, tool.name, tool, heard)
        if self.is_allowed_uuid(services):
            self.call_detection_callbacks(device, heard)


class AirClient(BaseBleakClient):
    """A client of one `Air`; it is also the tool's end of the link."""

    air: ClassVar[Air]

    def __init__(
        self,
        address_or_ble_device: BLEDevice | str,
        *,
        disconnected_callback: Callable[[], None] | None,
        timeout: float,
        **_: object,
    ) -> None:
        if isinstance(address_or_ble_device, str):
            raise BleakError("connect by the device that a scan found, not by an address")
        super().__init__(address_or_ble_device, disconnected_callback=disconnected_callback, timeout=timeout)
        self._device = address_or_ble_device
        self._heard: dict[int, NotifyCallback] = {}
        self._connected = False

    @property
    def _tool(self) -> SimTool:
        tool = self._device.details
        if not isinstance(tool, SimTool):
            raise BleakDeviceNotFoundError(self.address, "it was not found on this air")
        return tool

    @property
    def name(self) -> str:
        """The advertised name."""
        return self._tool.name

    @property
    def mtu_size(self) -> int:
        """The smallest MTU, as BlueZ reports."""
        return MTU

    @property
    def is_connected(self) -> bool:
        """Whether the link is up."""
        return self._connected

    async def connect(self, pair: bool, **_: object) -> None:
        """Link to the tool; BleakError when it does not answer."""
        await asyncio.sleep(0)
        self.air.require()
        try:
            self._tool.accept(self)
        except NotOnAirError as error:
            raise BleakError(str(error)) from error
        self.services = gatt_table(self._tool)
        self._connected = True

    async def disconnect(self) -> None:
        """End the link; the callback is called for this too, as bleak does."""
        await asyncio.sleep(0)
        if self._connected:
            self._ended()
            self._tool.release()

    def lost(self) -> None:
        """The tool's end has gone."""
        self._ended()

    def _ended(self) -> None:
        self._connected = False
        self.services = None
        if self._disconnected_callback is not None:
            self._disconnected_callback()

    def notify(self, handle: int, payload: bytes) -> None:
        """Take one notification from the tool."""
        self._heard[handle](bytearray(payload))

    def _require_link(self) -> None:
        if not self._connected:
            raise BleakError("Not connected")

    async def start_notify(
        self, characteristic: BleakGATTCharacteristic, callback: NotifyCallback, **_: object
    ) -> None:
        """Subscribe."""
        await asyncio.sleep(0)
        self._require_link()
        self._heard[characteristic.handle] = callback
        self._tool.subscribe(characteristic.handle)

    async def stop_notify(self, characteristic: BleakGATTCharacteristic) -> None:
        """Unsubscribe."""
        await asyncio.sleep(0)
        self._require_link()
        self._tool.subscribed.discard(characteristic.handle)

    async def read_gatt_char(
        self, characteristic: BleakGATTCharacteristic, *, use_cached: bool = False, **_: object
    ) -> bytearray:
        """Read a value; one that is subscribed to comes back as a notification as well, as with BlueZ."""
        await asyncio.sleep(0)
        self._require_link()
        value = self._tool.characteristic(characteristic.handle).value
        if characteristic.handle in self._tool.subscribed:
            self.notify(characteristic.handle, value)
        return bytearray(value)

    async def read_gatt_descriptor(
        self, descriptor: BleakGATTDescriptor, *, use_cached: bool = False, **_: object
    ) -> bytearray:
        """Read a descriptor."""
        await asyncio.sleep(0)
        self._require_link()
        found = self._tool.characteristic(descriptor.characteristic_handle)
        return bytearray(found.descriptors()[descriptor.uuid])

    async def write_gatt_char(self, characteristic: BleakGATTCharacteristic, data: SizedBuffer, response: bool) -> None:
        """Nothing of a simulated tool can be written."""
        self._not_writable()

    async def write_gatt_descriptor(self, descriptor: BleakGATTDescriptor, data: SizedBuffer) -> None:
        """Nothing of a simulated tool can be written."""
        self._not_writable()

    async def pair(self, *_: object) -> None:
        """A simulated tool needs no pairing."""

    async def unpair(self) -> None:
        """A simulated tool needs no pairing."""

    def _not_writable(self) -> NoReturn:
        raise BleakError("this tool takes no writes")


def gatt_table(tool: SimTool) -> BleakGATTServiceCollection:
    """Return the GATT table of a tool in bleak's own classes."""
    table = BleakGATTServiceCollection()
    for part in tool.services:
        service = BleakGATTService(part, part.handle, part.uuid)
        table.add_service(service)
        for entry in part.characteristics:
            characteristic = BleakGATTCharacteristic(
                entry, entry.handle, entry.uuid, list(entry.properties), lambda: MTU - 3, service
            )
            table.add_characteristic(characteristic)
            for place, uuid in enumerate(entry.descriptors(), start=entry.handle + 2):
                table.add_descriptor(BleakGATTDescriptor(uuid, place, uuid, characteristic))
    return table
