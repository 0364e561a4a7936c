"""The way from a simulated tool's radio to arrivals, through bleak's own BleakScanner and BleakClient, in process.

What holds on every transport is in `test_transport_contract.py`; here is what needs a look inside the transport.
"""

import asyncio
from decimal import Decimal
from typing import ClassVar

import pytest
from bleak.backends.adapter import BaseBleakAdapter
from bleak.backends.device import BLEDevice
from bleak.exc import BleakGATTProtocolError

from drivers import gatt
from drivers.reading import Link, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from simulators.air import AirClient
from simulators.tools import SimCaliper
from tests.drivers.scene import INCHES, PERCENT, Scene, settle, value
from tests.drivers.stage import is_link, only, until

OTHER = "7a5b0002-0d5e-4c1c-9c3a-3f1a6f0c9e01"


@pytest.fixture
def scene() -> Scene:
    return Scene()


async def states(scene: Scene, link: Link = Link.READY) -> list[ToolState]:
    """Return what is told until the one tool is so."""
    async with scene.radio() as radio:
        return only(await until(radio, is_link(link)), ToolState)


async def test_a_tool_is_told_with_the_profile_that_reads_it(scene: Scene) -> None:
    scene.wrench()
    ready = (await states(scene))[-1]
    assert (ready.profile, ready.kind) == ("sig-torque-wrench", "torque wrench")


async def test_a_tool_without_serial_is_known_by_its_name_and_says_so(scene: Scene) -> None:
    scene.caliper(serial="")
    ready = (await states(scene))[-1]
    assert (ready.tool, ready.serial) == ("Bench caliper", "")
    assert "no serial number" in ready.message


async def test_a_chattering_button_gives_a_second_reading_flagged_duplicate(scene: Scene) -> None:
    tool = scene.caliper()
    async with scene.ready() as radio:
        await tool.press_twice()
        scene.clock.advance_ms(400)
        tool.press()
        readings = only(await settle(radio), ToolReading)
    assert [r.duplicate for r in readings] == [False, True, False]
    assert {r.text for r in readings} == {"36.2000"}


async def test_each_sample_of_a_pull_bears_its_own_moment(scene: Scene) -> None:
    wrench = scene.wrench()
    curve = [Decimal(t) for t in ("0", "12.5", "61.04", "61.04", "98.21", "40", "0")]
    async with scene.ready() as radio:
        await wrench.pull(curve, dt_ms=10)
        arrived = await until(radio, lambda a: isinstance(a, ToolPeak))
    assert [s.at.mono_ns // 1_000_000 for s in only(arrived, TorqueSample)] == [0, 10, 20, 30, 40, 50, 60]
    (peak,) = only(arrived, ToolPeak)
    assert (peak.text, peak.raw) == ("98.21", "5d260000")


async def test_a_frame_of_a_dead_link_is_recorded_but_is_no_reading(scene: Scene) -> None:
    tool = scene.caliper()
    async with scene.ready() as radio:
        dead = tool.peer
        assert isinstance(dead, AirClient)
        tool.drop()
        await until(radio, is_link(Link.READY))
        dead.notify(tool.length.handle, bytes.fromhex("10860500"))
        (late,) = await settle(radio)
    assert isinstance(late, Undecoded)
    assert (late.raw, late.tool) == ("10860500", "DC-0417")
    assert "ended already" in late.reason


# --- connecting -----------------------------------------------------------------------------------------------------


class Strict(AirClient):
    """Notes every call, and how many connections are being made at once."""

    calls: ClassVar[list[str]] = []
    making: ClassVar[int] = 0
    most_making: ClassVar[int] = 0

    async def connect(self, pair: bool, **kwargs: object) -> None:
        Strict.making += 1
        Strict.most_making = max(Strict.most_making, Strict.making)
        for _ in range(5):
            await asyncio.sleep(0)
        assert not self.air.scanners, "scanning goes on while a connection is made"
        await super().connect(pair, **kwargs)
        Strict.making -= 1

    async def start_notify(self, characteristic: object, callback: object, **kwargs: object) -> None:
        self.calls.append(f"subscribe {kwargs['bluez']}")
        await super().start_notify(characteristic, callback, **kwargs)  # type: ignore[arg-type]

    async def read_gatt_descriptor(self, descriptor: object, **kwargs: object) -> bytearray:
        self.calls.append("descriptor")
        return await super().read_gatt_descriptor(descriptor)  # type: ignore[arg-type]

    async def read_gatt_char(self, characteristic: object, **kwargs: object) -> bytearray:
        self.calls.append("read")
        handle = characteristic.handle  # type: ignore[attr-defined]
        assert handle not in self._tool.subscribed, "a subscribed characteristic was read"
        return await super().read_gatt_char(characteristic)  # type: ignore[arg-type]


async def test_connections_never_overlap_and_subscribing_comes_before_any_reading(scene: Scene) -> None:
    for n in range(3):
        scene.wrench(f"TW-{n}")
    scene.client(Strict)
    Strict.calls.clear()
    async with scene.ready():
        pass
    assert Strict.most_making == 1
    each = ["subscribe {'use_start_notify': True}"] * 2
    assert Strict.calls[:4] == [*each, "descriptor", "descriptor"]
    assert Strict.calls.count("read") == 12


class Eager(AirClient):
    """Has the tool pressed as soon as it is subscribed to, before it is introduced."""

    async def start_notify(self, characteristic: object, callback: object, **kwargs: object) -> None:
        await super().start_notify(characteristic, callback, **kwargs)  # type: ignore[arg-type]
        tool = self._tool
        if isinstance(tool, SimCaliper) and tool.subscribed == {tool.length.handle}:
            tool.press()


async def test_what_a_tool_sends_while_it_is_introduced_is_kept_and_answers_nothing(scene: Scene) -> None:
    tool = scene.caliper()
    scene.client(Eager)
    async with scene.radio() as radio:
        arrived = await until(radio, lambda a: isinstance(a, ToolReading))
        scene.clock.advance_ms(400)
        tool.press()
        arrived += await until(radio, lambda a: isinstance(a, ToolReading))
    assert [type(a) for a in arrived] == [ToolState, ToolState, ToolReading, ToolReading]
    assert [r.old for r in only(arrived, ToolReading)] == [True, False]


class Stuck(AirClient):
    """Its first connection never comes."""

    devices: ClassVar[list[BLEDevice]] = []
    closed: ClassVar[list[BLEDevice]] = []

    async def connect(self, pair: bool, **kwargs: object) -> None:
        self.devices.append(self._device)
        if len(self.devices) == 1:
            await asyncio.Event().wait()
        await super().connect(pair, **kwargs)

    async def disconnect(self) -> None:
        self.closed.append(self._device)
        await super().disconnect()


async def test_a_connection_that_never_comes_is_given_up_closed_and_tried_with_a_fresh_device(scene: Scene) -> None:
    scene.caliper()
    scene.client(Stuck)
    Stuck.devices.clear()
    Stuck.closed.clear()
    told = await states(scene)
    assert [s.link for s in told] == [Link.CONNECTING, Link.SEARCHING, Link.CONNECTING, Link.READY]
    first, second = Stuck.devices
    assert first is not second
    assert Stuck.closed[0] is first


@pytest.mark.parametrize("steps", range(0, 60, 3))
async def test_being_cancelled_at_any_moment_leaves_no_tool_connected(scene: Scene, steps: int) -> None:
    tool = scene.caliper()

    async def listen() -> None:
        async with scene.radio() as radio:
            await until(radio, lambda _: False)

    work = asyncio.ensure_future(listen())
    for _ in range(steps):
        await asyncio.sleep(0)
    work.cancel()
    with pytest.raises(asyncio.CancelledError):
        await work
    assert tool.peer is None
    assert scene.air.scanners == []


async def test_an_error_of_the_caller_leaves_as_it_is(scene: Scene) -> None:
    scene.caliper()
    with pytest.raises(KeyError, match="mine"):
        async with scene.ready():
            raise KeyError("mine")


async def test_a_tool_left_connected_by_an_earlier_process_is_adopted(scene: Scene) -> None:
    tool = SimCaliper("DC-0417", "Bench caliper", Decimal, scene.clock)
    left = BLEDevice("00:00:5E:00:53:07", "Bench caliper", tool)

    class Adapter(BaseBleakAdapter):
        @classmethod
        async def get(cls, **kwargs: object) -> "Adapter":
            return cls()

        async def get_connected_devices(self, service_uuids: frozenset[str]) -> list[BLEDevice]:
            return [left] if gatt.INDUSTRIAL_MEASUREMENT in service_uuids else []

    async with scene.radio(adapter=Adapter) as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
    assert (ready.tool, ready.address) == ("DC-0417", "00:00:5E:00:53:07")


# --- what a tool offers ---------------------------------------------------------------------------------------------


async def test_a_tool_nobody_knows_is_read_by_its_own_description(scene: Scene) -> None:
    inches = value(INCHES)
    tool = scene.own("Caliper 6 in", inches)
    async with scene.radio() as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
        tool.send(inches, (12500).to_bytes(2, "little"))
        (reading,) = only(await until(radio, lambda a: isinstance(a, ToolReading)), ToolReading)
    assert (ready.kind, ready.profile) == ("caliper", "described-caliper")
    assert (reading.text, reading.unit, reading.source) == ("1.2500", "in", "described")


async def test_what_turns_out_to_be_no_reading_is_unsubscribed(scene: Scene) -> None:
    inches = value(INCHES)
    tool = scene.own("Caliper 6 in", value(PERCENT, OTHER), inches)
    async with scene.ready():
        assert tool.subscribed == {inches.handle}


class Shy(AirClient):
    """A tool that refuses every read."""

    async def read_gatt_char(self, characteristic: object, **kwargs: object) -> bytearray:
        raise BleakGATTProtocolError(0x02)


async def test_a_tool_that_will_not_tell_its_serial_is_served_by_its_name(scene: Scene) -> None:
    scene.caliper()
    scene.client(Shy)
    ready = (await states(scene))[-1]
    assert (ready.tool, ready.battery, ready.model) == ("Bench caliper", None, "")


async def test_a_tool_that_offers_nothing_known_is_said_so_and_let_go(scene: Scene) -> None:
    tool = scene.own("Caliper 6 in", value(PERCENT))
    told = await states(scene, Link.SEARCHING)
    assert "no value that a profile names" in told[-1].message
    assert tool.peer is None


async def test_unrecognised_devices_are_left_alone(scene: Scene) -> None:
    strap = scene.own("Heart strap", value(INCHES))
    async with scene.radio() as radio:
        assert await settle(radio) == []
        assert strap.peer is None


async def test_a_change_without_signal_strength_is_no_advertisement(scene: Scene) -> None:
    tool = scene.caliper()
    tool.rssi = -127
    async with scene.radio() as radio:
        assert await settle(radio) == []
        assert tool.peer is None
