"""What the drivers promise, whatever carries the tools: the same tests in process and over bleak's Linux backend.

Nothing here waits for silence: that nothing more came is shown by the next thing that does come, since each tool's
frames keep their order.
"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import replace
from typing import Protocol

import pytest

from drivers import gatt
from drivers.radio.ble import Radio
from drivers.reading import RADIO, Arrival, Link, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from simulators.bluez.private_bus import missing
from tests.drivers.stage import LIMIT_S, TIMING, Stage, all_ready, is_link, on_air, on_dbus, only, until

CALIPER, WRENCH = "caliper:DC-0417", "wrench:TW-2203"
MARK = "149.99"
"""A value that no test measures: it shows that everything before it has arrived."""


class Set(Protocol):
    def __call__(self, *tools: str) -> AbstractAsyncContextManager[Stage]: ...


@pytest.fixture(params=["in process", "D-Bus"])
def stage(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Set:
    """Set the stage with some tools."""
    if request.param == "D-Bus" and (why := missing()):
        pytest.skip(why)

    @asynccontextmanager
    async def set_(*tools: str) -> AsyncIterator[Stage]:
        async with asyncio.timeout(LIMIT_S):
            async with on_dbus(tools, monkeypatch) if request.param == "D-Bus" else on_air(tools) as made:
                yield made

    return set_


async def up_to_mark(stage: Stage, radio: Radio, tool: str = "DC-0417") -> list[Arrival]:
    """Return all that arrives before a last press."""
    await stage.press(tool, MARK)
    found = await until(radio, lambda a: isinstance(a, ToolReading) and a.text == f"{MARK}00" and a.tool == tool)
    return found[:-1]


async def test_a_scan_lists_a_tool_with_all_that_it_may_be(stage: Set) -> None:
    async with stage(CALIPER) as set_:
        (seen,) = await set_.scan()
    assert (seen.name, seen.rssi) == ("Bench caliper", -58)
    assert seen.profiles == ("sig-caliper", "sig-torque-wrench"), "both fit what it advertises"
    assert seen.profile == "caliper or torque wrench (decided on connecting)"
    assert seen.services == (gatt.INDUSTRIAL_MEASUREMENT,)


async def test_a_press_gives_exactly_one_reading_with_its_exact_text(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        set_.clock.advance_ms(1500)
        at = set_.clock.now()
        await set_.press("DC-0417", "36.2")
        (reading,) = await until(radio, lambda a: isinstance(a, ToolReading))
        assert await up_to_mark(set_, radio) == []
    assert reading == ToolReading(
        tool="DC-0417",
        quantity="length",
        text="36.2000",
        unit="mm",
        source="sig",
        raw="10860500",
        at=at,
        kind="caliper",
        characteristic=gatt.LENGTH,
    )


async def test_a_ready_tool_tells_who_it_is(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        states = only(await until(radio, is_link(Link.READY)), ToolState)
    assert [s.link for s in states] == [Link.CONNECTING, Link.READY]
    ready = states[-1]
    assert (ready.tool, ready.serial, ready.kind, ready.battery) == ("DC-0417", "DC-0417", "caliper", 90)
    assert (ready.model, ready.firmware, ready.address) == ("Sliding gauge 150", "1.0", "00:00:5E:00:53:00")


async def test_a_value_below_zero_comes_as_linear_position(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        await set_.press("DC-0417", "-0.05")
        (reading,) = only(await up_to_mark(set_, radio), ToolReading)
    assert (reading.text, reading.characteristic) == ("-0.0500", gatt.LINEAR_POSITION)


async def test_an_echoed_notification_is_flagged_and_the_same_value_later_is_not(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        await set_.echo("DC-0417", "36.2")
        readings = [await radio.next(), await radio.next()]
        set_.clock.advance_ms(400)
        await set_.press("DC-0417", "36.2")
        readings += await up_to_mark(set_, radio)
    heard = [(r.text, r.duplicate) for r in only(readings, ToolReading)]
    assert heard == [("36.2000", False), ("36.2000", True), ("36.2000", False)]


async def test_a_pull_gives_its_samples_in_order_and_then_the_tools_own_peak(stage: Set) -> None:
    curve = [f"{n / 100:.2f}" for n in range(2000)]
    async with stage(WRENCH) as set_, set_.radio() as radio:
        ready = only(await until(radio, is_link(Link.READY)), ToolState)[-1]
        async with asyncio.TaskGroup() as group:
            group.create_task(set_.pull("TW-2203", curve))
            arrived = await until(radio, lambda a: isinstance(a, ToolPeak))
    assert ready.kind == "torque wrench"
    assert [s.text for s in only(arrived, TorqueSample)] == curve
    (peak,) = only(arrived, ToolPeak)
    assert (peak.tool, peak.text, peak.unit) == ("TW-2203", "19.99", "N·m")


async def test_a_dropped_tool_is_ready_again_by_itself_and_reads_once(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        for _ in range(3):
            await set_.drop("DC-0417")
            states = only(await until(radio, is_link(Link.READY)), ToolState)
            assert [s.link for s in states] == [Link.LOST, Link.CONNECTING, Link.READY]
            assert {s.tool for s in states} == {"DC-0417"}
        await set_.press("DC-0417", "36.2")
        assert [type(a) for a in await up_to_mark(set_, radio)] == [ToolReading]


async def test_a_reading_just_before_the_link_is_lost_counts_and_the_same_after_it_is_no_duplicate(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        await set_.press("DC-0417", "36.2")
        await set_.drop("DC-0417")
        arrived = await until(radio, is_link(Link.READY))
        await set_.press("DC-0417", "36.2")
        arrived += await up_to_mark(set_, radio)
    assert isinstance(arrived[0], ToolReading)
    assert [(r.text, r.duplicate) for r in only(arrived, ToolReading)] == [("36.2000", False)] * 2


async def test_what_a_tool_measured_out_of_reach_is_old_whenever_it_comes_back(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        await set_.keep("DC-0417", "1", "2", "3")
        await until(radio, is_link(Link.READY))
        for _ in range(2):
            readings = only(
                [*await until(radio, lambda a: isinstance(a, ToolReading) and a.text == "3.0000")], ToolReading
            )
            assert [(r.text, r.old) for r in readings] == [("1.0000", True), ("2.0000", True), ("3.0000", True)]
            set_.clock.advance_ms(200)
            await set_.press("DC-0417", "36.2")
            (fresh,) = only(await up_to_mark(set_, radio), ToolReading)
            assert (fresh.text, fresh.old) == ("36.2000", False)
            await set_.keep("DC-0417", "1", "2", "3")
            await set_.drop("DC-0417")
            await until(radio, is_link(Link.READY))


async def test_sleeping_is_a_state_and_a_press_wakes_without_reading(stage: Set) -> None:
    async with stage(CALIPER, "caliper:DC-2") as set_, set_.radio() as radio:
        await all_ready(radio, {"DC-0417", "DC-2"})
        await set_.sleep("DC-0417")
        states = only(await until(radio, is_link(Link.ASLEEP)), ToolState)
        assert [s.link for s in states] == [Link.LOST, Link.ASLEEP]
        assert "press its button" in states[-1].message
        assert await up_to_mark(set_, radio, "DC-2") == [], "nothing is tried, and the others are served"
        await set_.press("DC-0417", "36.2")
        woken = await until(radio, is_link(Link.READY))
        assert only(woken, ToolReading) == []
        await set_.press("DC-0417", "36.2")
        assert len(only(await up_to_mark(set_, radio), ToolReading)) == 1


async def test_garbage_is_kept_as_hex_and_later_frames_still_arrive(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        for payload in ("dead", "ffffffff"):
            await set_.send("DC-0417", payload)
        await set_.press("DC-0417", "36.2")
        arrived = await up_to_mark(set_, radio)
    short, unknown = only(arrived, Undecoded)
    assert (short.raw, short.tool, short.reason) == ("dead", "DC-0417", "It has 2 octets where 4 are needed.")
    assert "not known" in unknown.reason
    assert [r.text for r in only(arrived, ToolReading)] == ["36.2000"]


async def test_four_tools_at_once_keep_their_identities(stage: Set) -> None:
    serials = {f"DC-{n}" for n in range(3)}
    async with stage(*(f"caliper:{s}" for s in sorted(serials)), WRENCH) as set_, set_.radio() as radio:
        await all_ready(radio, {*serials, "TW-2203"})
        for serial in serials:
            await set_.press(serial, f"{serial[-1]}.5")
        await set_.pull("TW-2203", ["5"])
        arrived = [await radio.next() for _ in range(5)]
    assert {(r.tool, r.text) for r in only(arrived, ToolReading)} == {
        ("DC-0", "0.5000"),
        ("DC-1", "1.5000"),
        ("DC-2", "2.5000"),
    }
    assert [p.tool for p in only(arrived, ToolPeak)] == ["TW-2203"]


async def test_one_tool_too_many_is_told_and_served_when_another_goes(stage: Set) -> None:
    async with stage("caliper:DC-1", "caliper:DC-2") as set_, set_.radio(max_tools=1) as radio:
        arrived = await until(radio, lambda a: isinstance(a, ToolState) and "switch one off" in a.message)
        if not any(is_link(Link.READY)(a) for a in arrived):
            arrived += await until(radio, is_link(Link.READY))
        first = next(a for a in arrived if is_link(Link.READY)(a))
        assert isinstance(first, ToolState)
        await set_.sleep(first.tool)
        second = (await until(radio, is_link(Link.READY)))[-1]
    assert isinstance(second, ToolState)
    assert {first.tool, second.tool} == {"DC-1", "DC-2"}


async def test_an_adapter_that_others_use_is_tried_again_until_it_is_free(stage: Set) -> None:
    async with stage(CALIPER) as set_:
        await set_.busy(3)
        async with set_.radio() as radio:
            states = only(await until(radio, is_link(Link.READY)), ToolState)
    assert [s.link for s in states] == [*[Link.CONNECTING, Link.SEARCHING] * 3, Link.CONNECTING, Link.READY]
    assert [s.message for s in states if "Another program" in s.message] == [states[5].message]


async def test_a_connection_that_never_comes_is_given_up_and_made_afresh(stage: Set) -> None:
    async with stage(CALIPER) as set_:
        await set_.hang()
        async with set_.radio(timing=replace(TIMING, connect_s=0.5)) as radio:
            states = only(await until(radio, is_link(Link.READY)), ToolState)
            await set_.press("DC-0417", "36.2")
            assert len(only(await up_to_mark(set_, radio), ToolReading)) == 1
    assert [s.link for s in states][-3:] == [Link.SEARCHING, Link.CONNECTING, Link.READY]


async def test_leaving_disconnects_every_tool_and_stops_the_scan(stage: Set) -> None:
    async with stage(CALIPER, WRENCH) as set_:
        async with set_.radio() as radio:
            await all_ready(radio, {"DC-0417", "TW-2203"})
            assert set(await set_.connected()) == {"DC-0417", "TW-2203"}
        assert await set_.connected() == []
        assert not await set_.scanning()


@pytest.mark.parametrize("arrivals", range(5))
async def test_being_cancelled_between_any_two_arrivals_leaves_no_tool_connected(stage: Set, arrivals: int) -> None:
    async with stage(CALIPER, WRENCH) as set_:
        reached = asyncio.Event()

        async def listen() -> None:
            async with set_.radio() as radio:
                for _ in range(min(arrivals, 4)):
                    await radio.next()
                reached.set()
                await asyncio.Event().wait()

        work = asyncio.ensure_future(listen())
        await reached.wait()
        work.cancel()
        with pytest.raises(asyncio.CancelledError):
            await work
        assert await set_.connected() == []
        assert not await set_.scanning()


async def test_a_radio_that_is_off_is_told_once_and_comes_back_by_itself(stage: Set) -> None:
    async with stage(CALIPER) as set_:
        await set_.power(False)
        async with set_.radio() as radio:
            state = await radio.next()
            assert isinstance(state, ToolState)
            assert (state.tool, state.link) == (RADIO, Link.LOST)
            assert "switch it on" in state.message
            await set_.power(True)
            back = await until(radio, is_link(Link.READY, "DC-0417"))
    assert sum(is_link(Link.READY, RADIO)(a) for a in back) == 1


async def test_an_adapter_switched_off_under_a_linked_tool_recovers(stage: Set) -> None:
    async with stage(CALIPER) as set_, set_.radio(timing=replace(TIMING, quiet_s=0.1)) as radio:
        await until(radio, is_link(Link.READY))
        await set_.power(False)
        told = only(await until(radio, is_link(Link.LOST, RADIO)), ToolState)
        assert (told[0].tool, told[0].link) == ("DC-0417", Link.LOST)
        await set_.power(True)
        await until(radio, is_link(Link.READY, "DC-0417"))
        await set_.press("DC-0417", "36.2")
        readings = only(await up_to_mark(set_, radio), ToolReading)
    assert [r.text for r in readings] == ["36.2000"]
