"""Through the radio: readings by pedal and by standing still, what a tool kept, and tools that give way."""

from dataclasses import replace
from decimal import Decimal

import pytest

from drivers.profile.profile import ToolProfile, parse_profile
from drivers.radio.ble import NO_PEDAL
from drivers.reading import Link, ToolReading, ToolState
from simulators.tools import SimCaliper, SimCharacteristic
from tests.drivers.scene import OWN, SOON, Scene
from tests.drivers.stage import PROFILES, is_link, only, until

STREAMING = f"""
profile = "streaming-caliper"
kind = "caliper"
capture = "{{capture}}"
[recognise]
name = "Streamer"
[[values]]
decode = "number"
characteristic = "{OWN}"
role = "reading"
form = "signed"
offset = 0
width = 16
exponent = -2
unit = "mm"
"""
HOUR = 3600.0


def streaming(capture: str) -> tuple[ToolProfile, ...]:
    return (parse_profile(STREAMING.format(capture=capture), "s.toml"), *PROFILES)


def hundredths(number: int) -> bytes:
    return number.to_bytes(2, "little", signed=True)


@pytest.fixture
def scene() -> Scene:
    return Scene()


async def test_a_pedal_makes_the_present_value_of_a_stream_a_reading(scene: Scene) -> None:
    stream = SimCharacteristic(OWN, ("notify",))
    tool = scene.own("Streamer 1", stream)
    async with scene.ready(profiles=streaming("pedal")) as radio:
        assert await radio.capture() == "N-1 shows no value now; wake it and press the pedal again."
        for n in range(5):
            tool.send(stream, hundredths(3040 + n))
        tool.send(stream, b"\x01")  # what cannot be read is kept: all before it has been taken
        await until(radio, lambda _: True)
        assert await radio.capture("N-1") == ""
        (reading,) = await until(radio, lambda a: isinstance(a, ToolReading))
        assert await radio.capture("DC-1") == NO_PEDAL
        tool.sleep()
        await until(radio, is_link(Link.LOST))
        assert await radio.capture() == NO_PEDAL
    assert isinstance(reading, ToolReading)
    assert (reading.tool, reading.text, reading.source, reading.old) == ("N-1", "30.44", "profile", False)


async def test_of_several_tools_with_a_pedal_one_is_to_be_chosen(scene: Scene) -> None:
    for name in ("Streamer 1", "Streamer 2"):
        scene.own(name, SimCharacteristic(OWN, ("notify",))).label.serial = ""
    async with scene.ready(profiles=streaming("pedal")) as radio:
        assert "choose one of" in await radio.capture()


async def test_a_stream_is_read_where_it_has_stood_still(scene: Scene) -> None:
    stream = SimCharacteristic(OWN, ("notify",))
    tool = scene.own("Streamer 1", stream)
    async with scene.ready(profiles=streaming("steady")) as radio:
        for n in range(30):
            tool.send(stream, hundredths(0 if n < 3 else 3041))
            scene.clock.advance_ms(100)
        tool.send(stream, b"\x01")
        arrived = await until(radio, lambda a: not isinstance(a, ToolReading))
    assert [a.text for a in only(arrived, ToolReading)] == ["30.41"]


async def test_the_tool_used_longest_ago_gives_way_and_says_so_and_comes_back_when_there_is_room(scene: Scene) -> None:
    first, second = scene.caliper("DC-1"), scene.caliper("DC-2")
    timing = replace(SOON, idle_s=0.05, silent_s=HOUR)
    third = SimCaliper("DC-3", "Bench caliper", Decimal, scene.clock)
    async with scene.radio(max_tools=2, timing=timing) as radio:
        for _ in range(2):
            await until(radio, is_link(Link.READY))
        first.press()
        second.press()
        scene.air.add(third)
        states = only(await until(radio, is_link(Link.READY, "DC-3")), ToolState)
        told = [(s.tool, s.message) for s in states if "gave way" in s.message]
        assert len(told) == 1
        assert told[0][0] == "DC-1"
        assert first.peer is None
        assert any("gives way to this one" in s.message for s in states), "the third was told that it has to wait"
        second.sleep()
        await until(radio, is_link(Link.READY, "DC-1"))
        assert third.peer is not None
