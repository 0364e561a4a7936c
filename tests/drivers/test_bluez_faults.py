"""What goes wrong below bleak, on its real Linux backend: the service, the adapter, the scan, the connections.

Times that would hide a recovery by waiting are set to an hour: what recovers did so because it was told.
"""

import asyncio
import os
import sys
from collections.abc import AsyncIterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Protocol

import pytest

from drivers.ble import Radio, RadioUnavailableError, scan
from drivers.reading import RADIO, Link, ToolPeak, ToolReading, ToolState, TorqueSample
from drivers.supervise import QUIET, SERVICE_GONE
from simulators.bluez_adapter import ADDRESS, SPARE
from simulators.private_bus import missing
from tests.drivers.stage import (
    IN_PROGRESS,
    LIMIT_S,
    PROFILES,
    TIMING,
    DBusStage,
    all_ready,
    is_link,
    on_dbus,
    only,
    until,
)

pytestmark = pytest.mark.skipif(bool(missing()), reason=missing() or "there is a bus")
TOOL = "caliper:DC-0417"
HOUR = 3600.0
ELSE = "plug it in, or choose another one."
TOLD = replace(TIMING, connect_s=HOUR, poll_s=HOUR, quiet_s=HOUR)


class Set(Protocol):
    def __call__(self, *tools: str) -> AbstractAsyncContextManager[DBusStage]: ...


@pytest.fixture
def stage(monkeypatch: pytest.MonkeyPatch) -> Set:
    @asynccontextmanager
    async def set_(*tools: str) -> AsyncIterator[DBusStage]:
        async with asyncio.timeout(LIMIT_S), on_dbus(tools, monkeypatch) as made:
            yield made

    return set_


async def reads_once(set_: DBusStage, radio: Radio, mm: str = "36.2") -> None:
    """Show that one press gives one reading."""
    await set_.press("DC-0417", mm)
    await set_.press("DC-0417", "149.99")
    found = only(await until(radio, lambda a: isinstance(a, ToolReading) and a.text == "149.9900"), ToolReading)
    assert [(r.text, r.duplicate) for r in found] == [(f"{mm}000", False), ("149.9900", False)]


def messages(states: list[ToolState]) -> list[str]:
    return [s.message for s in states if s.tool == RADIO]


async def test_a_service_that_dies_and_comes_back_needs_nobody(stage: Set) -> None:
    async with stage(TOOL, "wrench:TW-1") as set_, set_.radio(timing=TOLD) as radio:
        await all_ready(radio, {"DC-0417", "TW-1"})
        await reads_once(set_, radio)
        for _ in range(2):
            await set_.remote.kill()
            told = only(await until(radio, is_link(Link.LOST, RADIO)), ToolState)
            assert messages(told) == [SERVICE_GONE]
            await set_.remote.start()
            states = only(await all_ready(radio, {"DC-0417", "TW-1"}), ToolState)
            assert states[0].tool in (RADIO, "DC-0417", "TW-1")
            assert {s.tool for s in [*told, *states] if s.link is Link.LOST} == {RADIO, "DC-0417", "TW-1"}
            await reads_once(set_, radio)


async def test_a_service_that_dies_while_a_connection_is_made_holds_up_nothing(stage: Set) -> None:
    async with stage(TOOL) as set_, set_.radio(timing=TOLD) as radio:
        await until(radio, is_link(Link.READY))
        await set_.hang()
        await set_.drop("DC-0417")
        await until(radio, is_link(Link.CONNECTING))
        await set_.remote.kill()
        await until(radio, is_link(Link.LOST, RADIO))
        await set_.remote.start()
        await until(radio, is_link(Link.READY, "DC-0417"))
        await reads_once(set_, radio)


async def test_a_service_that_is_not_there_yet_is_told_and_waited_for(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.kill()
        async with set_.radio(timing=TOLD) as radio:
            first = await radio.next()
            assert isinstance(first, ToolState)
            assert (first.tool, first.link) == (RADIO, Link.LOST)
            assert (
                first.message == "The Bluetooth service does not run; start it, the tools are then found by themselves."
            )
            await set_.remote.start()
            await until(radio, is_link(Link.READY, "DC-0417"))


async def test_an_adapter_switched_off_is_told_at_once_and_taken_up_at_once(stage: Set) -> None:
    async with stage(TOOL) as set_, set_.radio(timing=TOLD) as radio:
        await until(radio, is_link(Link.READY))
        await set_.power(False)
        told = only(await until(radio, is_link(Link.LOST, RADIO)), ToolState)
        assert messages(told) == ["Bluetooth is switched off; switch it on."]
        await set_.power(True)
        await until(radio, is_link(Link.READY, "DC-0417"))
        await reads_once(set_, radio)


@pytest.mark.parametrize(
    ("state", "words"), [("off", "plug one in"), ("deaf", "cannot talk to low-energy tools; plug in another one")]
)
async def test_an_adapter_pulled_out_or_of_no_use_is_told_at_once(stage: Set, state: str, words: str) -> None:
    async with stage(TOOL) as set_, set_.radio(timing=TOLD) as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("plug", state)
        told = only(
            await until(radio, lambda a: isinstance(a, ToolState) and a.tool == RADIO and words in a.message), ToolState
        )
        assert any(s.tool == "DC-0417" and s.link is Link.LOST for s in told)
        await set_.remote.tell("plug", "on")
        await until(radio, is_link(Link.READY, "DC-0417"))
        await reads_once(set_, radio)


async def test_a_scan_that_is_dead_although_it_was_begun_is_begun_again_and_told(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("wedge", 3)
        async with set_.radio(timing=replace(TIMING, quiet_s=0.2)) as radio:
            states = only(await until(radio, is_link(Link.READY, "DC-0417")), ToolState)
    assert messages(states)[0] == QUIET
    assert set(messages(states)) <= {QUIET, ""}


async def test_a_scan_that_others_are_beginning_is_tried_again_and_told_from_the_third_time(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("fail", "StartDiscovery", 3, IN_PROGRESS)
        async with set_.radio(timing=TOLD) as radio:
            states = only(await until(radio, is_link(Link.READY, "DC-0417")), ToolState)
    told = messages(states)
    assert len(told) == 2
    assert "Another program" in told[0]
    assert told[1] == ""


async def test_a_rejected_stop_of_the_scan_does_not_keep_a_tool_from_being_served(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("fail", "StopDiscovery", 2, IN_PROGRESS)
        async with set_.radio() as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_connection_aborted_by_interference_is_made_afresh(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("fail", "Connect", 1, "org.bluez.Error.Failed", "le-connection-abort-by-local")
        await set_.remote.tell("fail", "Connect", 1, "org.bluez.Error.Failed", "le-connection-refused")
        async with set_.radio(timing=replace(TIMING, connect_s=0.5)) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_service_that_answers_neither_a_connection_nor_its_end_is_given_up(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("hang", "Connect", 1)
        await set_.remote.tell("hang", "Disconnect", 1)
        async with set_.radio(timing=replace(TIMING, connect_s=0.3, close_s=0.3)) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_tool_that_asks_for_pairing_is_told_and_not_stormed(stage: Set) -> None:
    async with stage(TOOL) as set_:
        refusal = "Operation failed with ATT error: 0x05"
        await set_.remote.tell("fail", "StartNotify", 1, "org.bluez.Error.Failed", *refusal.split())
        async with set_.radio() as radio:
            states = only(await until(radio, is_link(Link.SEARCHING)), ToolState)
            assert "pair it" in states[-1].message
            assert await set_.connected() == []


async def test_a_device_that_the_service_forgets_is_found_again(stage: Set) -> None:
    async with stage(TOOL) as set_, set_.radio(timing=TOLD) as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("forget", "DC-0417")
        await set_.remote.tell("wake", "DC-0417")
        await until(radio, is_link(Link.READY, "DC-0417"))
        await reads_once(set_, radio)


async def test_delayed_notifications_keep_their_order_and_come_before_the_drop(stage: Set) -> None:
    curve = [f"{n}.00" for n in range(40)]
    async with stage("wrench:TW-1") as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("delay", 40)
        await set_.pull("TW-1", curve[:20])
        await set_.remote.tell("delay", 1)
        await set_.pull("TW-1", curve[20:])
        await set_.drop("TW-1")
        arrived = await until(radio, is_link(Link.LOST))
    assert [s.text for s in only(arrived, TorqueSample)] == curve
    assert [p.text for p in only(arrived, ToolPeak)] == ["19.00", "39.00"]


async def test_drops_leave_no_connection_to_the_bus_behind(stage: Set) -> None:
    def sockets() -> int:
        return sum(1 for link in Path("/proc/self/fd").iterdir() if "socket:" in _target(link))

    async with stage(TOOL) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        before = sockets()
        for _ in range(30):
            await set_.drop("DC-0417")
            await until(radio, is_link(Link.READY))
        assert sockets() == before


def _target(link: Path) -> str:
    try:
        return str(link.readlink())
    except FileNotFoundError:
        return ""


async def test_a_profile_can_ask_for_notifications_through_a_socket(
    stage: Set, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_socket = tuple(p.model_copy(update={"notify_mode": "acquire"}) for p in PROFILES)
    monkeypatch.setattr("tests.drivers.stage.PROFILES", by_socket)
    async with stage(TOOL) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        state = await set_.remote.tell("state")
        assert state["acquired"] == {"DC-0417": 2}
        await reads_once(set_, radio)
        await set_.drop("DC-0417")
        await until(radio, is_link(Link.READY))
        await reads_once(set_, radio)


HOLDER = """
import asyncio
from drivers.ble import Radio
from drivers.clock import SystemClock
from drivers.profile import shipped_profiles
from drivers.reading import Link

async def hold():
    async with Radio(shipped_profiles(), SystemClock()) as radio:
        async for arrival in radio.arrivals():
            if arrival.link is Link.READY:
                print(arrival.tool, flush=True)

asyncio.run(hold())
"""


async def test_a_tool_that_a_killed_process_left_connected_is_adopted(stage: Set) -> None:
    async with stage(TOOL) as set_:
        holder = await asyncio.create_subprocess_exec(sys.executable, "-c", HOLDER, stdout=asyncio.subprocess.PIPE)
        assert holder.stdout is not None
        assert await holder.stdout.readline() == b"DC-0417\n"
        holder.kill()
        await holder.wait()
        assert await set_.connected() == ["DC-0417"], "as BlueZ does, the stand-in keeps the link"
        async with set_.radio(timing=TOLD) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)
        assert await set_.connected() == []


async def test_what_another_owner_of_the_bus_does_is_seen_by_a_scan_too(stage: Set) -> None:
    async with stage(TOOL, "wrench:TW-1:Wrench:asleep") as set_:
        seen = await scan(0.3, PROFILES)
        assert [s.name for s in seen] == ["Bench caliper"]
        await set_.remote.tell("wake", "TW-1")
        seen = await scan(0.3, PROFILES)
        assert [s.name for s in seen if "sig-caliper" in s.profiles] == [s.name for s in seen]
        assert len(seen) == 2
    assert os.environ["DBUS_SYSTEM_BUS_ADDRESS"].startswith("unix:path=")


# --- several adapters -----------------------------------------------------------------------------------------------


async def test_the_adapter_is_the_one_asked_for_whatever_the_system_calls_it(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("spare", "hci1")
        async with set_.radio(timing=TOLD, adapter=ADDRESS.lower()) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await set_.remote.tell("plug", "off")
            await set_.remote.tell("spare", "hci0")
            told = only(await until(radio, is_link(Link.LOST, RADIO)), ToolState)
            while messages(told)[-1:] != [f"The Bluetooth adapter {ADDRESS.lower()} is not there; {ELSE}"]:
                told = only([await radio.next()], ToolState)
            await set_.remote.tell("plug", "on", "hci1")
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_the_adapter_first_used_stays_the_one_when_another_takes_its_name(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("plug", "on", "hci1")
        async with set_.radio(timing=TOLD) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await set_.remote.tell("spare", "hci0")  # the library by itself would take this one from now on
            await set_.drop("DC-0417")
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_scan_with_an_adapter_that_is_not_there_says_so(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("spare", "hci1")
        with pytest.raises(RadioUnavailableError, match=f"53:01 is not there; {ELSE}"):
            await scan(0.1, PROFILES, adapter="00:00:5E:00:53:01")
        assert [s.name for s in await scan(0.3, PROFILES, adapter=ADDRESS)] == ["Bench caliper"]
        assert await scan(0.3, PROFILES, adapter=SPARE) == ()


async def test_the_chosen_one_of_two_adapters_switched_off_is_told_and_not_replaced(stage: Set) -> None:
    async with stage(TOOL) as set_:
        await set_.remote.tell("spare", "hci1")
        async with set_.radio(timing=TOLD, adapter=ADDRESS) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await set_.power(False)
            told = only(await until(radio, is_link(Link.LOST, RADIO)), ToolState)
            assert messages(told) == ["Bluetooth is switched off; switch it on."]
            await set_.power(True)
            await until(radio, is_link(Link.READY, "DC-0417"))


async def test_a_service_that_does_not_say_which_adapters_there_are_holds_up_nothing(
    stage: Set, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drivers.adapters.LIMIT_S", 0.1)
    async with stage(TOOL) as set_:
        await set_.remote.tell("hang", "GetManagedObjects", 1)
        async with set_.radio(timing=TOLD) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))


# --- doubled streams ------------------------------------------------------------------------------------------------


async def test_a_subscription_that_outlived_its_link_is_noticed_by_its_stream_and_the_link_is_made_afresh(
    stage: Set,
) -> None:
    curve = [f"{n}.00" for n in range(40)]
    async with stage("wrench:TW-1") as set_, set_.radio(timing=replace(TIMING, rest_s=0.05)) as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("leak", "TW-1", 1)
        await set_.pull("TW-1", curve)
        arrived = await until(radio, is_link(Link.CONNECTING))
        assert [s.text for s in only(arrived, TorqueSample)] == [t for t in curve for _ in range(2)]
        assert [(p.text, p.duplicate) for p in only(arrived, ToolPeak)] == [("39.00", False), ("39.00", True)]
        told = [s.message for s in only(arrived, ToolState) if s.message]
        assert [words in message for words, message in zip(("comes twice", "came twice"), told, strict=True)]
        await until(radio, is_link(Link.READY))
        await set_.pull("TW-1", curve)
        again = await until(radio, lambda a: isinstance(a, ToolPeak))
        assert [s.text for s in only(again, TorqueSample)] == curve


async def test_a_stream_that_still_comes_twice_over_the_next_link_is_told_and_left_alone(stage: Set) -> None:
    curve = [f"{n}.00" for n in range(40)]
    async with stage("wrench:TW-1") as set_, set_.radio(timing=replace(TIMING, rest_s=0.05)) as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("repeat", 1)
        await set_.pull("TW-1", curve)
        await until(radio, is_link(Link.CONNECTING))
        await until(radio, is_link(Link.READY))
        await set_.pull("TW-1", curve)
        await until(radio, lambda a: isinstance(a, ToolState) and "still comes twice" in a.message)
        await set_.pull("TW-1", ["0", "77"])
        arrived = await until(radio, lambda a: isinstance(a, ToolPeak) and a.text == "77.00")
    assert only(arrived, ToolState) == [], "it is served as it is"


# --- more tools than an adapter holds -------------------------------------------------------------------------------


async def test_an_adapter_at_its_limit_is_told_and_another_tool_gives_way(stage: Set) -> None:
    async with stage(TOOL, "wrench:TW-1") as set_:
        await set_.sleep("TW-1")
        async with set_.radio(timing=replace(TIMING, idle_s=0.1, silent_s=HOUR)) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            limit = "le-connection-concurrent-connection-limit"
            await set_.remote.tell("fail", "Connect", 1, "org.bluez.Error.Failed", limit)
            await set_.remote.tell("wake", "TW-1")
            states = only(await until(radio, is_link(Link.READY, "TW-1")), ToolState)
        said = [(s.tool, s.message) for s in states if s.message]
        assert any(tool != "DC-0417" and "holds no more tools" in text for tool, text in said)
        assert any(tool == "DC-0417" and "gave way to another tool" in text for tool, text in said)
