"""What simulated tools send, by themselves, to whoever subscribed."""

from decimal import Decimal

import pytest

from drivers import gatt
from simulators.clock import START_UTC_NS, HumanPace, SimClock
from simulators.tools import NotOnAirError, SimCaliper, SimTool, SimWrench, stepped


class Ear:
    """A peer that writes down what it hears."""

    def __init__(self, tool: SimTool) -> None:
        self.heard: list[tuple[int, str]] = []
        self.losses = 0
        tool.accept(self)
        tool.subscribed.update(c.handle for c in tool.measured.characteristics)

    def notify(self, handle: int, payload: bytes) -> None:
        self.heard.append((handle, payload.hex()))

    def lost(self) -> None:
        self.losses += 1


def caliper(text: str, resolution: str = "0.01") -> SimCaliper:
    return SimCaliper("DC-1", "Caliper", lambda: Decimal(text), SimClock(), resolution=Decimal(resolution))


@pytest.mark.parametrize(
    ("text", "resolution", "sent"),
    [
        ("25.4", "0.01", "25.4000"),
        ("36.2049", "0.01", "36.2000"),
        ("36.206", "0.02", "36.2000"),
        ("36.215", "0.02", "36.2200"),
        ("36.4", "0.5", "36.5000"),
        ("0", "0.01", "0.0000"),
    ],
)
def test_a_caliper_sends_what_its_display_shows(text: str, resolution: str, sent: str) -> None:
    tool = caliper(text, resolution)
    ear = Ear(tool)
    tool.press()
    ((handle, hexes),) = ear.heard
    assert handle == tool.length.handle
    value = gatt.SIG_VALUES[gatt.LENGTH].decode(bytes.fromhex(hexes))
    assert isinstance(value, Decimal)
    assert gatt.plain(value) == sent


def test_below_zero_a_caliper_sends_a_position() -> None:
    tool = caliper("-0.05")
    ear = Ear(tool)
    tool.press()
    assert ear.heard == [(tool.position.handle, "0cfeffff")]


async def test_a_worn_button_sends_one_value_twice_a_chatter_apart() -> None:
    measured = iter([Decimal(1), Decimal(2)])
    clock = SimClock()
    tool = SimCaliper("DC-1", "Caliper", lambda: next(measured), clock)
    ear = Ear(tool)
    await tool.press_twice()
    assert [hexes for _, hexes in ear.heard] == ["10270000", "10270000"]
    assert clock.now().mono_ns == 30_000_000


async def test_a_wrench_streams_the_pull_and_then_sends_its_peak() -> None:
    clock = SimClock()
    tool = SimWrench("TW-1", "Wrench", clock)
    ear = Ear(tool)
    await tool.pull([Decimal("0"), Decimal("98.004"), Decimal("97.5"), Decimal("0")], dt_ms=20)
    stream, peak = tool.stream.handle, tool.peak.handle
    assert ear.heard == [
        (stream, "00000000"),
        (stream, "48260000"),
        (stream, "16260000"),
        (stream, "00000000"),
        (peak, "48260000"),
    ]
    assert clock.now().mono_ns == 80_000_000


async def test_a_pull_the_other_way_keeps_its_sign() -> None:
    tool = SimWrench("TW-1", "Wrench", SimClock())
    ear = Ear(tool)
    await tool.pull([Decimal(-98), Decimal(1)])
    assert ear.heard[-1] == (tool.peak.handle, "b8d9ffff")


async def test_touching_a_sleeping_tool_only_wakes_it() -> None:
    for tool in (caliper("1"), SimWrench("TW-1", "Wrench", SimClock())):
        heard: list[SimTool] = []
        tool.on_air.append(heard.append)
        tool.sleep()
        if isinstance(tool, SimWrench):
            await tool.pull([Decimal(5)])
        else:
            tool.press()
        assert heard == [tool]
        ear = Ear(tool)
        assert ear.heard == []


def test_sleep_and_drop_lose_the_link_and_only_a_drop_is_heard_again() -> None:
    tool = caliper("1")
    heard: list[SimTool] = []
    tool.on_air.append(heard.append)
    ear = Ear(tool)
    with pytest.raises(NotOnAirError):
        tool.accept(ear)
    tool.drop()
    assert (ear.losses, len(heard)) == (1, 1)
    again = Ear(tool)
    tool.sleep()
    assert (again.losses, len(heard)) == (1, 1)
    with pytest.raises(NotOnAirError):
        tool.accept(ear)


def test_what_nobody_listens_to_is_gone() -> None:
    tool = caliper("1")
    tool.press()
    ear = Ear(tool)
    tool.subscribed.clear()
    tool.press()
    assert ear.heard == []


def test_a_tool_without_serial_or_battery_offers_neither() -> None:
    tool = SimCaliper("", "Caliper", lambda: Decimal(1), SimClock(), model="", battery=None)
    tool.label.firmware = ""
    assert tool.label.services() == []
    assert gatt.SERIAL_NUMBER not in {c.uuid for s in tool.services for c in s.characteristics}


def test_handles_are_found_again_and_unknown_ones_are_not() -> None:
    tool = SimWrench("TW-1", "Wrench", SimClock())
    assert tool.characteristic(tool.peak.handle) is tool.peak
    with pytest.raises(KeyError):
        tool.characteristic(999)


def test_half_a_step_goes_to_the_even_one() -> None:
    assert [stepped(Decimal(t), Decimal("0.01")) for t in ("0.005", "0.015")] == [Decimal("0.00"), Decimal("0.02")]


async def test_simulated_time_passes_only_when_it_is_let() -> None:
    clock = SimClock()
    assert (clock.now().utc_ns, clock.now().mono_ns) == (START_UTC_NS, 0)
    await clock.pass_ms(1500)
    assert (clock.now().utc_ns, clock.now().mono_ns) == (START_UTC_NS + 1_500_000_000, 1_500_000_000)
    with pytest.raises(ValueError, match="backwards"):
        clock.advance_ms(-1)


async def test_a_human_pace_is_the_hosts_clock() -> None:
    clock = HumanPace(speed=1000)
    before = clock.now().mono_ns
    await clock.pass_ms(1)
    assert clock.now().mono_ns > before
