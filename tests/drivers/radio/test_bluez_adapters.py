"""Several adapters, doubled streams and an adapter that is full, on bleak's real Linux backend."""

from dataclasses import replace

import pytest

from drivers.radio.ble import RadioUnavailableError, scan
from drivers.reading import RADIO, Link, ToolPeak, ToolState, TorqueSample
from simulators.bluez.adapter import ADDRESS, SPARE
from simulators.bluez.private_bus import missing
from tests.drivers.stage import (
    HOUR,
    PROFILES,
    TIMING,
    TOLD,
    SetDBus,
    is_link,
    messages,
    only,
    reads_once,
    until,
)

pytestmark = pytest.mark.skipif(bool(missing()), reason=missing() or "there is a bus")
TOOL = "caliper:DC-0417"
ELSE = "plug it in, or choose another one."


async def test_the_adapter_is_the_one_asked_for_whatever_the_system_calls_it(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
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


async def test_the_adapter_first_used_stays_the_one_when_another_takes_its_name(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("plug", "on", "hci1")
        async with set_.radio(timing=TOLD) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await set_.remote.tell("spare", "hci0")  # the library by itself would take this one from now on
            await set_.drop("DC-0417")
            await until(radio, is_link(Link.READY, "DC-0417"))
            await reads_once(set_, radio)


async def test_a_scan_with_an_adapter_that_is_not_there_says_so(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("spare", "hci1")
        with pytest.raises(RadioUnavailableError, match=f"53:01 is not there; {ELSE}"):
            await scan(0.1, PROFILES, adapter="00:00:5E:00:53:01")
        assert [s.name for s in await scan(0.3, PROFILES, adapter=ADDRESS)] == ["Bench caliper"]
        assert await scan(0.3, PROFILES, adapter=SPARE) == ()


async def test_the_chosen_one_of_two_adapters_switched_off_is_told_and_not_replaced(bluez: SetDBus) -> None:
    async with bluez(TOOL) as set_:
        await set_.remote.tell("spare", "hci1")
        async with set_.radio(timing=TOLD, adapter=ADDRESS) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))
            await set_.power(False)
            told = only(await until(radio, is_link(Link.LOST, RADIO)), ToolState)
            assert messages(told) == ["Bluetooth is switched off; switch it on."]
            await set_.power(True)
            await until(radio, is_link(Link.READY, "DC-0417"))


async def test_a_service_that_does_not_say_which_adapters_there_are_holds_up_nothing(
    bluez: SetDBus, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drivers.radio.adapters.LIMIT_S", 0.1)
    async with bluez(TOOL) as set_:
        await set_.remote.tell("hang", "GetManagedObjects", 1)
        async with set_.radio(timing=TOLD) as radio:
            await until(radio, is_link(Link.READY, "DC-0417"))


# --- doubled streams ------------------------------------------------------------------------------------------------


async def test_a_subscription_that_outlived_its_link_is_noticed_by_its_stream_and_the_link_is_made_afresh(
    bluez: SetDBus,
) -> None:
    curve = [f"{n}.00" for n in range(40)]
    async with bluez("wrench:TW-1") as set_, set_.radio(timing=replace(TIMING, rest_s=0.05)) as radio:
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


async def test_a_stream_that_still_comes_twice_over_the_next_link_is_told_and_left_alone(bluez: SetDBus) -> None:
    curve = [f"{n}.00" for n in range(40)]
    async with bluez("wrench:TW-1") as set_, set_.radio(timing=replace(TIMING, rest_s=0.05)) as radio:
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


async def test_an_adapter_at_its_limit_is_told_and_another_tool_gives_way(bluez: SetDBus) -> None:
    async with bluez(TOOL, "wrench:TW-1") as set_:
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
