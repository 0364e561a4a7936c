"""What goes wrong below bleak, on its real Linux backend: the service, the adapter, the scan, the connections.

Times that would hide a recovery by waiting are set to an hour: what recovers did so because it was told.
"""

import asyncio
import os
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from drivers.radio.ble import scan
from drivers.radio.supervise import QUIET, SERVICE_GONE
from drivers.reading import RADIO, Link, ToolPeak, ToolState, TorqueSample
from simulators.bluez.private_bus import missing
from tests.drivers.stage import (
    IN_PROGRESS,
    PROFILES,
    TIMING,
    TOLD,
    SetDBus,
    all_ready,
    is_link,
    messages,
    only,
    reads_once,
    until,
)

pytestmark = pytest.mark.skipif(bool(missing()), reason=missing() or "there is a bus")
TOOL = "caliper:DC-0417"


async def test_a_service_that_dies_and_comes_back_needs_nobody(bluez: SetDBus) -> None:
    async with bluez(TOOL, "wrench:TW-1") as set_, set_.radio(timing=TOLD) as radio:
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


async def test_a_service_that_dies_while_a_connection_is_made_holds_up_nothing(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_, set_.radio(timing=TOLD) as radio:
        await until(radio, is_link(Link.READY))
        await set_.hang()
        await set_.drop("DC-0417")
        await until(radio, is_link(Link.CONNECTING))
        await set_.remote.kill()
        await until(radio, is_link(Link.LOST, RADIO))
        await set_.remote.start()
        await until(radio, is_link(Link.READY, "DC-0417"))
        await reads_once(set_, radio)


async def test_a_service_that_is_not_there_yet_is_told_and_waited_for(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
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


async def test_an_adapter_switched_off_is_told_at_once_and_taken_up_at_once(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_, set_.radio(timing=TOLD) as radio:
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
async def test_an_adapter_pulled_out_or_of_no_use_is_told_at_once(bluez: SetDBus, state: str, words: str) -> None:
    async with bluez(TOOL) as set_, set_.radio(timing=TOLD) as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("plug", state)
        told = only(
            await until(radio, lambda a: isinstance(a, ToolState) and a.tool == RADIO and words in a.message), ToolState
        )
        assert any(s.tool == "DC-0417" and s.link is Link.LOST for s in told)
        await set_.remote.tell("plug", "on")
        await until(radio, is_link(Link.READY, "DC-0417"))
        await reads_once(set_, radio)


async def test_a_scan_that_is_dead_although_it_was_begun_is_begun_again_and_told(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("wedge", 3)
        async with set_.radio(timing=replace(TIMING, quiet_s=0.2)) as radio:
            states = only(await until(radio, is_link(Link.READY, "DC-0417")), ToolState)
    assert messages(states)[0] == QUIET
    assert set(messages(states)) <= {QUIET, ""}


async def test_a_scan_that_others_are_beginning_is_tried_again_and_told_from_the_third_time(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("fail", "StartDiscovery", 3, IN_PROGRESS)
        async with set_.radio(timing=TOLD) as radio:
            states = only(await until(radio, is_link(Link.READY, "DC-0417")), ToolState)
    told = messages(states)
    assert len(told) == 2
    assert "Another program" in told[0]
    assert told[1] == ""


async def test_a_rejected_stop_of_the_scan_does_not_keep_a_tool_from_being_served(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("fail", "StopDiscovery", 2, IN_PROGRESS)
        async with set_.radio() as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_stop_of_the_scan_that_is_never_answered_keeps_neither_a_tool_nor_the_end_waiting(
    bluez: SetDBus,
) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("hang", "StopDiscovery", 2)
        async with set_.radio(timing=replace(TIMING, close_s=0.3)) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_connection_aborted_by_interference_is_made_afresh(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("fail", "Connect", 1, "org.bluez.Error.Failed", "le-connection-abort-by-local")
        await set_.remote.tell("fail", "Connect", 1, "org.bluez.Error.Failed", "le-connection-refused")
        async with set_.radio(timing=replace(TIMING, connect_s=0.5)) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_service_that_answers_neither_a_connection_nor_its_end_is_given_up(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("hang", "Connect", 1)
        await set_.remote.tell("hang", "Disconnect", 1)
        async with set_.radio(timing=replace(TIMING, connect_s=0.3, close_s=0.3)) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_tool_that_asks_for_pairing_is_told_and_not_stormed(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        refusal = "Operation failed with ATT error: 0x05"
        await set_.remote.tell("fail", "StartNotify", 1, "org.bluez.Error.Failed", *refusal.split())
        async with set_.radio() as radio:
            states = only(await until(radio, is_link(Link.SEARCHING)), ToolState)
            assert "pair it" in states[-1].message
            assert await set_.connected() == []


async def test_a_device_that_the_service_forgets_is_found_again(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_, set_.radio(timing=TOLD) as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("forget", "DC-0417")
        await set_.remote.tell("wake", "DC-0417")
        await until(radio, is_link(Link.READY, "DC-0417"))
        await reads_once(set_, radio)


async def test_delayed_notifications_keep_their_order_and_come_before_the_drop(bluez: SetDBus) -> None:
    curve = [f"{n}.00" for n in range(40)]
    async with bluez("wrench:TW-1") as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        await set_.remote.tell("delay", 40)
        await set_.pull("TW-1", curve[:20])
        await set_.remote.tell("delay", 1)
        await set_.pull("TW-1", curve[20:])
        await set_.drop("TW-1")
        arrived = await until(radio, is_link(Link.LOST))
    assert [s.text for s in only(arrived, TorqueSample)] == curve
    assert [p.text for p in only(arrived, ToolPeak)] == ["19.00", "39.00"]


async def test_drops_leave_no_connection_to_the_bus_behind(bluez: SetDBus) -> None:
    def sockets() -> int:
        return sum(1 for link in Path("/proc/self/fd").iterdir() if "socket:" in _target(link))

    async with bluez(TOOL) as set_, set_.radio() as radio:
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
    bluez: SetDBus, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_socket = tuple(p.model_copy(update={"notify_mode": "acquire"}) for p in PROFILES)
    monkeypatch.setattr("tests.drivers.stage.PROFILES", by_socket)
    async with bluez(TOOL) as set_, set_.radio() as radio:
        await until(radio, is_link(Link.READY))
        state = await set_.remote.tell("state")
        assert state["acquired"] == {"DC-0417": 2}
        await reads_once(set_, radio)
        await set_.drop("DC-0417")
        await until(radio, is_link(Link.READY))
        await reads_once(set_, radio)


HOLDER = """
import asyncio
from drivers.radio.ble import Radio
from drivers.clock import SystemClock
from drivers.profile.file import shipped_profiles
from drivers.reading import Link

async def hold():
    async with Radio(shipped_profiles(), SystemClock()) as radio:
        async for arrival in radio.arrivals():
            if arrival.link is Link.READY:
                print(arrival.tool, flush=True)

asyncio.run(hold())
"""


async def test_a_tool_that_a_killed_process_left_connected_is_adopted(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
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


async def test_what_another_owner_of_the_bus_does_is_seen_by_a_scan_too(bluez: SetDBus) -> None:
    async with bluez(TOOL, "wrench:TW-1:Wrench:asleep") as set_:
        seen = await scan(0.3, PROFILES)
        assert [s.name for s in seen] == ["Bench caliper"]
        await set_.remote.tell("wake", "TW-1")
        seen = await scan(0.3, PROFILES)
        assert [s.name for s in seen if "sig-caliper" in s.profiles] == [s.name for s in seen]
        assert len(seen) == 2
    assert os.environ["DBUS_SYSTEM_BUS_ADDRESS"].startswith("unix:path=")
