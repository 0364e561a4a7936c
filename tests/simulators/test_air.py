"""The in-process radio, driven by bleak's own scanner and client."""

import asyncio
from decimal import Decimal

import pytest
from bleak import BleakClient, BleakScanner
from bleak.backends.device import BLEDevice
from bleak.exc import BleakBluetoothNotAvailableError, BleakBluetoothNotAvailableReason, BleakError

from drivers import gatt
from simulators.air import Air
from simulators.clock import SimClock
from simulators.tools import SimCaliper, SimWrench


def caliper(serial: str = "DC-0417") -> SimCaliper:
    return SimCaliper(serial, "Bench caliper", lambda: Decimal("36.2"), SimClock())


async def find(air: Air) -> BLEDevice:
    device = await BleakScanner.find_device_by_name("Bench caliper", timeout=1, backend=air.scanner_backend)
    assert device is not None
    return device


async def test_a_scan_hears_every_tool_that_is_awake() -> None:
    asleep = caliper("DC-2")
    asleep.sleep()
    air = Air([caliper(), asleep, SimWrench("TW-1", "Bench wrench", SimClock())])
    async with BleakScanner(backend=air.scanner_backend) as scanner:
        await asyncio.sleep(0)
        heard = scanner.discovered_devices_and_advertisement_data
        assert {a.local_name for _, a in heard.values()} == {"Bench caliper", "Bench wrench"}
        asleep.wake()
        assert len(scanner.discovered_devices) == 3
    assert air.scanners == []


@pytest.mark.parametrize(("service", "number"), [(gatt.INDUSTRIAL_MEASUREMENT, 1), (gatt.BATTERY, 0)])
async def test_a_scan_for_a_service_hears_only_who_advertises_it(service: str, number: int) -> None:
    air = Air([caliper()])
    heard: list[BLEDevice] = []
    async with BleakScanner(lambda d, _: heard.append(d), [service], backend=air.scanner_backend):
        await asyncio.sleep(0)
    assert len(heard) == number


async def test_the_table_values_and_descriptors_are_the_tools() -> None:
    air = Air([SimWrench("TW-1", "Bench caliper", SimClock(), battery=55)])
    async with BleakClient(await find(air), backend=air.client_backend) as client:
        assert [s.uuid for s in client.services] == [
            gatt.DEVICE_INFORMATION,
            gatt.BATTERY,
            gatt.INDUSTRIAL_MEASUREMENT,
        ]
        assert bytes(await client.read_gatt_char(gatt.SERIAL_NUMBER)) == b"TW-1"
        assert bytes(await client.read_gatt_char(gatt.BATTERY_LEVEL)) == bytes([55])
        measured = client.services.get_service(gatt.INDUSTRIAL_MEASUREMENT)
        assert measured is not None
        texts = [await client.read_gatt_descriptor(c.descriptors[0]) for c in measured.characteristics]
        assert [bytes(t) for t in texts] == [b"Torque stream", b"Torque peak"]
        handles = [
            h
            for s in client.services
            for c in s.characteristics
            for h in (c.handle, *(d.handle for d in c.descriptors))
        ]
        assert len(set(handles)) == len(handles)


async def test_notifications_reach_a_subscriber_and_nobody_else() -> None:
    tool = caliper()
    air = Air([tool])
    got: list[str] = []
    async with BleakClient(await find(air), backend=air.client_backend) as client:
        tool.press()
        await client.start_notify(gatt.LENGTH, lambda _, data: got.append(data.hex()))
        tool.press()
        await client.stop_notify(gatt.LENGTH)
        tool.press()
    assert got == ["10860500"]


async def test_the_callback_fires_for_a_drop_and_for_an_own_disconnect() -> None:
    tool = caliper()
    air = Air([tool])
    ended: list[str] = []
    device = await find(air)
    client = BleakClient(device, lambda _: ended.append("dropped"), backend=air.client_backend)
    await client.connect()
    tool.drop()
    assert not client.is_connected
    with pytest.raises(BleakError, match="Not connected"):
        await client.start_notify(gatt.LENGTH, lambda *_: None)
    async with BleakClient(device, lambda _: ended.append("left"), backend=air.client_backend):
        pass
    await client.disconnect()
    assert ended == ["dropped", "left"]


async def test_a_tool_takes_one_link_and_a_sleeping_one_takes_none() -> None:
    tool = caliper()
    air = Air([tool])
    device = await find(air)
    async with BleakClient(device, backend=air.client_backend):
        with pytest.raises(BleakError, match="does not answer"):
            await BleakClient(device, backend=air.client_backend).connect()
    tool.sleep()
    with pytest.raises(BleakError, match="does not answer"):
        await BleakClient(device, backend=air.client_backend).connect()


async def test_reading_what_is_subscribed_to_is_punished_as_bluez_does() -> None:
    tool = caliper()
    tool.label.services()
    air = Air([tool])
    got: list[bytes] = []
    async with BleakClient(await find(air), backend=air.client_backend) as client:
        await client.start_notify(gatt.BATTERY_LEVEL, lambda _, data: got.append(bytes(data)))
        await client.read_gatt_char(gatt.BATTERY_LEVEL)
    assert got == [bytes([90])]


async def test_without_a_radio_nothing_starts() -> None:
    air = Air([caliper()])
    device = await find(air)
    air.switch_off(BleakBluetoothNotAvailableReason.POWERED_OFF)
    with pytest.raises(BleakBluetoothNotAvailableError):
        await BleakScanner(backend=air.scanner_backend).start()
    with pytest.raises(BleakBluetoothNotAvailableError):
        await BleakClient(device, backend=air.client_backend).connect()
    air.switch_on()
    async with BleakClient(device, backend=air.client_backend) as client:
        assert client.is_connected


def test_an_address_is_not_enough_to_connect() -> None:
    air = Air([caliper()])
    with pytest.raises(BleakError, match="not by an address"):
        BleakClient("00:00:5E:00:53:00", backend=air.client_backend)
