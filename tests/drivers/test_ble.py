"""The whole way from a simulated tool's radio to arrivals, through bleak's own BleakScanner and BleakClient."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from decimal import Decimal
from typing import ClassVar, TypeVar

import pytest
from bleak.backends.adapter import BaseBleakAdapter
from bleak.backends.device import BLEDevice
from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakDeviceNotFoundError,
    BleakError,
    BleakGATTProtocolError,
)

from drivers import gatt
from drivers.ble import Radio, RadioUnavailableError, advice, classify, scan
from drivers.profile import shipped_profiles
from drivers.reading import RADIO, Arrival, Link, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from drivers.supervise import End, Timing
from simulators.air import Air, AirClient
from simulators.clock import SimClock
from simulators.tools import Label, SimCaliper, SimCharacteristic, SimService, SimTool, SimWrench

T = TypeVar("T", bound=Arrival)
PROFILES = shipped_profiles()
SOON = Timing(connect_s=0.2, close_s=0.2, poll_s=0.01, quiet_s=30.0, asleep_s=0.05)


def caliper(clock: SimClock, serial: str = "DC-0417", millimetres: str = "36.2") -> SimCaliper:
    return SimCaliper(serial, "Bench caliper", lambda: Decimal(millimetres), clock)


@asynccontextmanager
async def listening(
    air: Air,
    clock: SimClock,
    max_tools: int = 4,
    adapter: type[BaseBleakAdapter] | None = None,
    timing: Timing = SOON,
) -> AsyncIterator[Radio]:
    radio = Radio(
        PROFILES,
        clock,
        scanner_backend=air.scanner_backend,
        client_backend=air.client_backend,
        adapter_backend=adapter,
        max_tools=max_tools,
        timing=timing,
        jitter=lambda: 0.0,
    )
    async with asyncio.timeout(10), radio:
        yield radio


async def until(radio: Radio, fits: Callable[[Arrival], bool]) -> list[Arrival]:
    """Return the arrivals up to and including the first that fits."""
    found: list[Arrival] = []
    while not found or not fits(found[-1]):
        found.append(await radio.next())
    return found


def is_link(link: Link, tool: str = "") -> Callable[[Arrival], bool]:
    return lambda a: isinstance(a, ToolState) and a.link is link and tool in ("", a.tool)


def only(arrivals: list[Arrival], kind: type[T]) -> list[T]:
    return [a for a in arrivals if isinstance(a, kind)]


async def settle(radio: Radio) -> list[Arrival]:
    """Return what arrives while the loop has anything to do."""
    found: list[Arrival] = []
    try:
        async with asyncio.timeout(0.03):
            while True:
                found.append(await radio.next())
    except TimeoutError:
        return found


async def test_a_press_gives_exactly_one_reading_with_its_exact_text() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        clock.advance_ms(1500)
        tool.press()
        readings = only(await settle(radio), ToolReading)
    assert readings == [
        ToolReading(
            tool="DC-0417",
            quantity="length",
            text="36.2000",
            unit="mm",
            source="sig",
            raw="10860500",
            at=clock.now(),
            kind="caliper",
            characteristic=gatt.LENGTH,
        )
    ]


async def test_a_ready_tool_tells_its_serial_battery_model_and_firmware() -> None:
    clock = SimClock()
    air = Air([caliper(clock)])
    async with listening(air, clock) as radio:
        states = only(await until(radio, is_link(Link.READY)), ToolState)
    assert [s.link for s in states] == [Link.CONNECTING, Link.READY]
    ready = states[-1]
    assert (ready.tool, ready.serial, ready.kind) == ("DC-0417", "DC-0417", "caliper")
    assert (ready.battery, ready.model, ready.firmware) == (90, "Sliding gauge 150", "1.0")
    assert {s.address for s in states} == {"00:00:5E:00:53:00"}
    assert ready.message == ""


async def test_a_tool_without_serial_is_known_by_its_name_and_says_so() -> None:
    clock = SimClock()
    air = Air([caliper(clock, serial="")])
    async with listening(air, clock) as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
    assert (ready.tool, ready.serial) == ("Bench caliper", "")
    assert "no serial number" in ready.message


async def test_a_chattering_button_gives_a_second_reading_flagged_duplicate() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        await tool.press_twice()
        clock.advance_ms(400)
        tool.press()
        readings = only(await settle(radio), ToolReading)
    assert [(r.text, r.duplicate) for r in readings] == [
        ("36.2000", False),
        ("36.2000", True),
        ("36.2000", False),
    ]


async def test_a_value_below_zero_comes_as_linear_position() -> None:
    clock = SimClock()
    tool = caliper(clock, millimetres="-0.05")
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        tool.press()
        (reading,) = only(await settle(radio), ToolReading)
    assert (reading.text, reading.characteristic) == ("-0.0500", gatt.LINEAR_POSITION)


async def test_a_pull_gives_its_samples_in_order_and_then_the_tools_own_peak() -> None:
    clock = SimClock()
    wrench = SimWrench("TW-2203", "Bench wrench", clock)
    air = Air([wrench])
    curve = [Decimal(t) for t in ("0", "12.5", "61.04", "61.04", "98.21", "40", "0")]
    async with listening(air, clock) as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
        await wrench.pull(curve, dt_ms=10)
        arrived = await settle(radio)
    assert ready.kind == "torque wrench"
    samples = only(arrived, TorqueSample)
    assert [s.text for s in samples] == ["0.00", "12.50", "61.04", "61.04", "98.21", "40.00", "0.00"]
    assert [s.at.mono_ns // 1_000_000 for s in samples] == [0, 10, 20, 30, 40, 50, 60]
    (peak,) = only(arrived, ToolPeak)
    assert (peak.tool, peak.text, peak.unit, peak.raw) == ("TW-2203", "98.21", "N·m", "5d260000")
    assert arrived.index(peak) == len(curve)


async def test_a_fast_pull_of_two_thousand_samples_loses_none() -> None:
    clock = SimClock()
    wrench = SimWrench("TW-2203", "Bench wrench", clock)
    air = Air([wrench])
    curve = [Decimal(n) / 100 for n in range(2000)]
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        async with asyncio.TaskGroup() as group:
            group.create_task(wrench.pull(curve, dt_ms=1))
            arrived = await until(radio, lambda a: isinstance(a, ToolPeak))
    assert [s.text for s in only(arrived, TorqueSample)] == [f"{n / 100:.2f}" for n in range(2000)]


async def test_a_dropped_tool_is_ready_again_by_itself_and_reads() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        for _ in range(3):
            tool.drop()
            states = only(await until(radio, is_link(Link.READY)), ToolState)
            assert [s.link for s in states] == [Link.LOST, Link.CONNECTING, Link.READY]
            assert {s.tool for s in states} == {"DC-0417"}
        tool.press()
        assert len(only(await settle(radio), ToolReading)) == 1


async def test_a_reading_sent_just_before_the_link_is_lost_still_counts() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        tool.press()
        tool.drop()
        arrived = await until(radio, is_link(Link.READY))
    assert isinstance(arrived[0], ToolReading)
    assert not arrived[0].duplicate


async def test_sleeping_is_a_state_and_a_press_wakes() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        tool.sleep()
        states = only(await until(radio, is_link(Link.ASLEEP)), ToolState)
        assert [s.link for s in states] == [Link.LOST, Link.ASLEEP]
        assert "press its button" in states[-1].message
        assert await settle(radio) == []
        tool.press()
        woken = await until(radio, is_link(Link.READY))
        assert only(woken, ToolReading) == []
        tool.press()
        assert len(only(await settle(radio), ToolReading)) == 1


async def test_the_same_value_after_a_reconnect_is_no_duplicate() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        tool.press()
        tool.drop()
        await until(radio, is_link(Link.READY))
        tool.press()
        assert [r.duplicate for r in only(await settle(radio), ToolReading)] == [False]


async def test_garbage_is_kept_as_hex_and_later_frames_still_arrive() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        tool.send(tool.length, b"\xde\xad")
        tool.send(tool.length, bytes.fromhex("ffffffff"))
        tool.press()
        arrived = await settle(radio)
    short, unknown = only(arrived, Undecoded)
    assert (short.raw, short.tool, short.characteristic) == ("dead", "DC-0417", gatt.LENGTH)
    assert short.reason == "It has 2 octets where 4 are needed."
    assert "not known" in unknown.reason
    assert [r.text for r in only(arrived, ToolReading)] == ["36.2000"]


async def test_a_frame_of_a_dead_link_is_recorded_but_is_no_reading() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock) as radio:
        await until(radio, is_link(Link.READY))
        old = tool.peer
        assert isinstance(old, AirClient)
        tool.drop()
        await until(radio, is_link(Link.READY))
        old.notify(tool.length.handle, bytes.fromhex("10860500"))
        (late,) = await settle(radio)
    assert isinstance(late, Undecoded)
    assert (late.raw, late.tool) == ("10860500", "DC-0417")
    assert "ended already" in late.reason


async def test_several_tools_at_once_keep_their_identities() -> None:
    clock = SimClock()
    tools = [caliper(clock, serial=f"DC-{n}", millimetres=f"{n}.5") for n in range(3)]
    wrench = SimWrench("TW-1", "Bench wrench", clock)
    async with listening(Air([*tools, wrench]), clock) as radio:
        for _ in range(4):
            await until(radio, is_link(Link.READY))
        for tool in tools:
            tool.press()
        await wrench.pull([Decimal(5)])
        arrived = await settle(radio)
    assert {(r.tool, r.text) for r in only(arrived, ToolReading)} == {
        ("DC-0", "0.5000"),
        ("DC-1", "1.5000"),
        ("DC-2", "2.5000"),
    }
    assert [p.tool for p in only(arrived, ToolPeak)] == ["TW-1"]


async def test_one_tool_too_many_is_told_and_served_when_another_goes() -> None:
    clock = SimClock()
    first, second = caliper(clock, "DC-1"), caliper(clock, "DC-2")
    async with listening(Air([first, second]), clock, max_tools=1) as radio:
        waiting = only([*await until(radio, is_link(Link.READY, "DC-1")), *await settle(radio)], ToolState)
        assert any("switch one off" in s.message for s in waiting)
        first.sleep()
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
    assert ready.tool == "DC-2"


class StrictClient(AirClient):
    """Notes every call, and how many connections are being made at once."""

    calls: ClassVar[list[str]]
    making: ClassVar[int] = 0
    most_making: ClassVar[int] = 0

    async def connect(self, pair: bool, **kwargs: object) -> None:
        cls = type(self)
        cls.making += 1
        cls.most_making = max(cls.most_making, cls.making)
        for _ in range(5):
            await asyncio.sleep(0)
        assert not self.air.scanners, "scanning goes on while a connection is made"
        await super().connect(pair, **kwargs)
        cls.making -= 1

    async def start_notify(self, characteristic: object, callback: object, **kwargs: object) -> None:
        type(self).calls.append(f"subscribe {kwargs['bluez']}")
        await super().start_notify(characteristic, callback, **kwargs)  # type: ignore[arg-type]

    async def read_gatt_descriptor(self, descriptor: object, **kwargs: object) -> bytearray:
        type(self).calls.append("descriptor")
        return await super().read_gatt_descriptor(descriptor)  # type: ignore[arg-type]

    async def read_gatt_char(self, characteristic: object, **kwargs: object) -> bytearray:
        type(self).calls.append("read")
        handle = characteristic.handle  # type: ignore[attr-defined]
        assert handle not in self._tool.subscribed, "a subscribed characteristic was read"
        return await super().read_gatt_char(characteristic)  # type: ignore[arg-type]


async def test_connections_never_overlap_and_subscribing_comes_before_any_reading() -> None:
    clock = SimClock()
    air = Air([SimWrench(f"TW-{n}", "Bench wrench", clock) for n in range(3)])

    class Strict(StrictClient):
        calls: ClassVar[list[str]] = []

    Strict.air = air
    air.client_backend = Strict
    async with listening(air, clock) as radio:
        for _ in range(3):
            await until(radio, is_link(Link.READY))
    assert Strict.most_making == 1
    each = ["subscribe {'use_start_notify': True}"] * 2
    assert Strict.calls[:4] == [*each, "descriptor", "descriptor"]
    assert Strict.calls.count("read") == 12


async def test_a_tool_that_sends_while_it_is_introduced_loses_nothing() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])

    class Eager(AirClient):
        async def start_notify(self, characteristic: object, callback: object, **kwargs: object) -> None:
            await super().start_notify(characteristic, callback, **kwargs)  # type: ignore[arg-type]
            if tool.length.handle in tool.subscribed and len(tool.subscribed) == 1:
                tool.press()

    air.client_backend = type("EagerHere", (Eager,), {"air": air})
    async with listening(air, clock) as radio:
        arrived = [*await until(radio, is_link(Link.READY)), *await settle(radio)]
    assert [type(a) for a in arrived] == [ToolState, ToolState, ToolReading]


async def test_a_connection_that_never_comes_is_given_up_closed_and_tried_again() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    devices: list[int] = []
    closed: list[int] = []

    class Stuck(AirClient):
        async def connect(self, pair: bool, **kwargs: object) -> None:
            devices.append(id(self._device))
            kept.append(self._device)
            if len(devices) == 1:
                await asyncio.Event().wait()
            await super().connect(pair, **kwargs)

        async def disconnect(self) -> None:
            closed.append(id(self._device))
            await super().disconnect()

    kept: list[BLEDevice] = []
    air.client_backend = type("StuckHere", (Stuck,), {"air": air})
    async with listening(air, clock) as radio:
        states = only(await until(radio, is_link(Link.READY)), ToolState)
    assert [s.link for s in states] == [Link.CONNECTING, Link.SEARCHING, Link.CONNECTING, Link.READY]
    assert len(set(devices)) == 2, "the second attempt uses a fresh device"
    assert closed[0] == devices[0]


async def test_leaving_disconnects_every_tool_and_stops_the_scan() -> None:
    clock = SimClock()
    tools = [caliper(clock, f"DC-{n}") for n in range(2)]
    air = Air(tools)
    async with listening(air, clock) as radio:
        for _ in tools:
            await until(radio, is_link(Link.READY))
        assert all(t.peer is not None for t in tools)
    assert all(t.peer is None for t in tools)
    assert air.scanners == []


@pytest.mark.parametrize("steps", range(0, 60, 3))
async def test_being_cancelled_at_any_moment_leaves_no_tool_connected(steps: int) -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])

    async def listen() -> None:
        async with listening(air, clock) as radio:
            await until(radio, lambda _: False)

    work = asyncio.ensure_future(listen())
    for _ in range(steps):
        await asyncio.sleep(0)
    work.cancel()
    with pytest.raises(asyncio.CancelledError):
        await work
    assert tool.peer is None
    assert air.scanners == []


@pytest.mark.parametrize("reason", BleakBluetoothNotAvailableReason)
async def test_a_missing_radio_is_told_with_an_action_and_comes_back_by_itself(
    reason: BleakBluetoothNotAvailableReason,
) -> None:
    clock = SimClock()
    air = Air([caliper(clock)])
    air.switch_off(reason)
    async with listening(air, clock) as radio:
        state = await radio.next()
        assert isinstance(state, ToolState)
        assert (state.tool, state.link) == (RADIO, Link.LOST)
        assert state.message.count(";") == 1
        assert state.message.endswith(".")
        assert await settle(radio) == [], "told once, not at every poll"
        air.switch_on()
        back = await until(radio, is_link(Link.READY, "DC-0417"))
    assert is_link(Link.READY, RADIO)(back[0])


async def test_an_adapter_switched_off_under_a_linked_tool_recovers() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air([tool])
    async with listening(air, clock, timing=replace(SOON, quiet_s=0.02)) as radio:
        await until(radio, is_link(Link.READY))
        air.switch_off(BleakBluetoothNotAvailableReason.POWERED_OFF)
        told = only(await until(radio, is_link(Link.LOST, RADIO)), ToolState)
        assert (told[0].tool, told[0].link) == ("DC-0417", Link.LOST)
        air.switch_on()
        await until(radio, is_link(Link.READY, "DC-0417"))
        tool.press()
        assert len(only(await settle(radio), ToolReading)) == 1


async def test_an_error_of_the_caller_leaves_as_it_is() -> None:
    clock = SimClock()

    async def fail() -> None:
        async with listening(Air([caliper(clock)]), clock) as radio:
            await until(radio, is_link(Link.READY))
            raise KeyError("mine")

    with pytest.raises(KeyError, match="mine"):
        await fail()


async def test_a_tool_left_connected_by_an_earlier_process_is_adopted() -> None:
    clock = SimClock()
    tool = caliper(clock)
    air = Air()
    left = BLEDevice("00:00:5E:00:53:07", "Bench caliper", tool)

    class Adapter(BaseBleakAdapter):
        @classmethod
        async def get(cls, **kwargs: object) -> "Adapter":
            return cls()

        async def get_connected_devices(self, service_uuids: frozenset[str]) -> list[BLEDevice]:
            return [left] if gatt.INDUSTRIAL_MEASUREMENT in service_uuids else []

    async with listening(air, clock, adapter=Adapter) as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
    assert (ready.tool, ready.address) == ("DC-0417", "00:00:5E:00:53:07")


def described(clock: SimClock, name: str, presentation: str, description: str = "") -> SimTool:
    value = SimCharacteristic(
        "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01",
        ("notify",),
        description=description,
        presentation=gatt.PresentationFormat.decode(bytes.fromhex(presentation)),
    )
    service = SimService("7a5b0000-0d5e-4c1c-9c3a-3f1a6f0c9e01", [value])
    return SimTool(name, Label("N-1"), service, clock)


async def test_a_tool_nobody_knows_is_read_by_its_own_description() -> None:
    clock = SimClock()
    tool = described(clock, "Caliper 6 in", "0efca227010000")
    async with listening(Air([tool]), clock) as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
        tool.send(tool.measured.characteristics[0], (12500).to_bytes(2, "little"))
        (reading,) = only(await settle(radio), ToolReading)
    assert ready.kind == "caliper"
    assert (reading.text, reading.unit, reading.source) == ("1.2500", "in", "described")


async def test_what_turns_out_to_be_no_reading_is_unsubscribed() -> None:
    clock = SimClock()
    percent = gatt.PresentationFormat.decode(bytes.fromhex("0400ad27010000"))
    inches = gatt.PresentationFormat.decode(bytes.fromhex("0efca227010000"))
    other = SimCharacteristic("7a5b0002-0d5e-4c1c-9c3a-3f1a6f0c9e01", ("notify",), presentation=percent)
    value = SimCharacteristic("7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01", ("notify",), presentation=inches)
    service = SimService("7a5b0000-0d5e-4c1c-9c3a-3f1a6f0c9e01", [other, value])
    tool = SimTool("Caliper 6 in", Label("N-1"), service, clock)
    async with listening(Air([tool]), clock) as radio:
        await until(radio, is_link(Link.READY))
        assert tool.subscribed == {value.handle}


async def test_a_tool_that_will_not_tell_its_serial_is_served_by_its_name() -> None:
    clock = SimClock()
    air = Air([caliper(clock)])

    class Shy(AirClient):
        async def read_gatt_char(self, characteristic: object, **kwargs: object) -> bytearray:
            raise BleakGATTProtocolError(0x02)

    air.client_backend = type("ShyHere", (Shy,), {"air": air})
    async with listening(air, clock) as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
    assert (ready.tool, ready.battery, ready.model) == ("Bench caliper", None, "")


async def test_a_tool_that_offers_nothing_known_is_said_so_and_let_go() -> None:
    clock = SimClock()
    tool = described(clock, "Caliper 6 in", "0400ad27010000")
    async with listening(Air([tool]), clock) as radio:
        state = only(await until(radio, is_link(Link.SEARCHING)), ToolState)[-1]
        assert "no value that a profile names" in state.message
        assert tool.peer is None


async def test_unrecognised_devices_are_left_alone() -> None:
    clock = SimClock()
    tool = described(clock, "Heart strap", "0efca227010000")
    async with listening(Air([tool]), clock) as radio:
        assert await settle(radio) == []
        assert tool.peer is None


async def test_a_change_without_signal_strength_is_no_advertisement() -> None:
    clock = SimClock()
    tool = caliper(clock)
    tool.rssi = -127
    async with listening(Air([tool]), clock) as radio:
        assert await settle(radio) == []
        assert tool.peer is None


async def test_scan_lists_what_is_heard_with_the_profile_that_knows_it() -> None:
    clock = SimClock()
    strap = described(clock, "Heart strap", "0efca227010000")
    strap.rssi = -80
    air = Air([strap, caliper(clock)])
    seen = await scan(0.01, PROFILES, scanner_backend=air.scanner_backend)
    assert [(s.name, s.rssi, s.profile) for s in seen] == [
        ("Bench caliper", -58, "caliper or torque wrench (decided on connecting)"),
        ("Heart strap", -80, ""),
    ]
    assert seen[0].services == (gatt.INDUSTRIAL_MEASUREMENT,)


async def test_scan_without_a_radio_says_what_to_do() -> None:
    air = Air()
    air.switch_off(BleakBluetoothNotAvailableReason.POWERED_OFF)
    with pytest.raises(RadioUnavailableError, match="switch it on"):
        await scan(0.01, PROFILES, scanner_backend=air.scanner_backend)


@pytest.mark.parametrize(
    ("error", "end"),
    [
        (BleakDBusError("org.bluez.Error.InProgress", []), End.BUSY),
        (BleakDBusError("org.bluez.Error.NotReady", ["Resource Not Ready"]), End.RADIO_OFF),
        (BleakDBusError("org.bluez.Error.AuthenticationFailed", []), End.REFUSED),
        (BleakDBusError("org.bluez.Error.Failed", ["le-connection-abort-by-local"]), End.ABORTED),
        (BleakGATTProtocolError(0x05), End.REFUSED),
        (BleakGATTProtocolError(0x0F), End.REFUSED),
        (BleakGATTProtocolError(0x0E), End.ABORTED),
        (BleakDeviceNotFoundError("x"), End.ABORTED),
        (BleakError("Software caused connection abort"), End.ABORTED),
        (TimeoutError(), End.TIMEOUT),
        (EOFError(), End.ABORTED),
        (
            BleakBluetoothNotAvailableError("off", BleakBluetoothNotAvailableReason.POWERED_OFF),
            End.RADIO_OFF,
        ),
    ],
)
def test_errors_of_the_radio_are_sorted_by_what_helps(error: BaseException, end: End) -> None:
    assert classify(error) is end


def test_an_error_that_names_no_reason_still_gets_an_action() -> None:
    assert "restart" in advice(BleakDBusError("org.freedesktop.DBus.Error.NoReply", []))
    assert "start the Bluetooth service" in advice(FileNotFoundError("no such socket"))
    assert "service does not run" in advice(BleakDBusError("org.freedesktop.DBus.Error.ServiceUnknown", []))
    assert "Another program" in advice(BleakDBusError("org.bluez.Error.InProgress", []))
