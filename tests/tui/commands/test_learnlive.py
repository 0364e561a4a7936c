"""A tool nobody has met, learned live over the in-process air by typed lines, and read by its profile afterwards."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from drivers.radio.ble import Radio
from drivers.reading import ToolReading
from logger.errors import BadInput, NothingToTalkTo
from logger.toolbook.profiles import profiles_of
from simulators.air import Air
from simulators.clock import SimClock
from simulators.tools import Label, SimCharacteristic, SimService, SimTool
from tests.tui.reached import LIMIT_S, TIMING, Talk, args_of, reach_of
from tui.cli import main
from tui.commands.learn import profile_name
from tui.commands.learnlive import learn_from_reach
from tui.exits import Exit


class Gauge(SimTool):
    """A gauge with an encoding of its own: A5, kind, two zeros, hundredths of a mm (signed, little-endian), a sum."""

    def __init__(self) -> None:
        self.value = SimCharacteristic("0000ffe1-0000-1000-8000-00805f9b34fb", ("notify",))
        self.count = SimCharacteristic("0000ffe2-0000-1000-8000-00805f9b34fb", ("notify",))
        self.presses = 0
        service = SimService("0000ffe0-0000-1000-8000-00805f9b34fb", [self.value, self.count])
        super().__init__("Depot gauge 2", Label("DG-2"), service, SimClock())

    def press(self, hundredths: int) -> None:
        """Send a value, a count of presses on another characteristic, and a heartbeat after it."""
        body = b"\xa5\x01\x00\x00" + hundredths.to_bytes(2, "little", signed=True)
        self.presses += 1
        self.send(self.value, body + bytes([sum(body) & 0xFF]))
        self.send(self.count, bytes([self.presses]))
        self.beat()

    def beat(self) -> None:
        """Send a heartbeat."""
        self.send(self.value, b"\xa5\x02\x00\x56")


@asynccontextmanager
async def learning(talk: Talk, gauge: Gauge, *options: str) -> AsyncIterator["asyncio.Task[int]"]:
    args = args_of("tools", "learn", *options)
    async with asyncio.timeout(LIMIT_S):
        work = asyncio.ensure_future(learn_from_reach(talk.shell, args, reach_of(Air([gauge])), talk.typed()))
        await talk.until("Linked to Depot gauge 2.")
        yield work


async def shows(talk: Talk, gauge: Gauge, hundredths: int, text: str) -> None:
    """Press, and once its frame was told, type what the display shows."""
    frame = hundredths.to_bytes(2, "little", signed=True).hex()
    gauge.press(hundredths)
    await talk.until(f"ffe1  a5010000{frame}")
    talk.types(text)
    await talk.until(f"showed {text}.")


async def test_a_tool_is_learned_by_its_display_and_read_afterwards(tmp_path: Path) -> None:
    gauge, talk = Gauge(), Talk(tmp_path)
    async with learning(talk, gauge, "--keep", str(tmp_path / "kept.jsonl")) as work:
        gauge.beat()
        await talk.until("ffe1  a5020056")
        talk.types("skip")
        await shows(talk, gauge, 3041, "30.41 mm")
        await talk.until("Only one value is known: measure something clearly different")
        await shows(talk, gauge, 1250, "12.50 mm")
        for hundredths in (-12, 7000, 12345, 1):
            more = asyncio.ensure_future(shows(talk, gauge, hundredths, f"{hundredths / 100:.2f} mm"))
            await asyncio.wait({work, more}, return_when=asyncio.FIRST_COMPLETED)
            more.cancel()
        assert await work == Exit.DONE
    assert gauge.peer is None
    (profile, *_) = profiles_of(talk.shell.home.profiles)
    assert (profile.profile, profile.recognise.name) == ("depot-gauge-2", r"^Depot\ gauge\ 2")
    assert main(["tools", "profile", "check", str(tmp_path / "profiles" / "depot-gauge-2.toml")]) == Exit.DONE
    assert main(["tools", "learn", "--from", str(tmp_path / "kept.jsonl")]) == Exit.DONE

    air = Air([gauge])
    radio = Radio((profile,), SimClock(), backends=air.backends, timing=TIMING)
    async with asyncio.timeout(LIMIT_S), radio:
        async for arrival in radio.arrivals():
            if isinstance(arrival, ToolReading):
                break
            if gauge.subscribed:
                gauge.press(4711)
    assert isinstance(arrival, ToolReading)
    assert (arrival.text, arrival.unit, arrival.tool) == ("47.11", "mm", "DG-2")


async def test_a_link_that_is_lost_is_made_again_and_nothing_is_forgotten(tmp_path: Path) -> None:
    gauge, talk = Gauge(), Talk(tmp_path)
    async with learning(talk, gauge) as work:
        await shows(talk, gauge, 3041, "30.41 mm")
        gauge.sleep()
        await talk.until("The tool went away")
        talk.said.clear()
        gauge.wake()
        await talk.until("Linked to Depot gauge 2.")
        await shows(talk, gauge, 1250, "12.50 mm")
        await talk.until("One way of reading is left, on two readings")
        talk.types("quit")
        assert await work == Exit.DONE
    assert "Nothing was written." in talk.said
    assert gauge.peer is None
    assert not (tmp_path / "profiles").exists()


async def test_one_reading_is_too_little_for_a_profile(tmp_path: Path) -> None:
    gauge, talk = Gauge(), Talk(tmp_path)
    async with learning(talk, gauge) as work:
        await shows(talk, gauge, 3041, "30.41 mm")
        talk.types("done")
        with pytest.raises(BadInput, match=r"no profile was written|One known value is not enough"):
            await work
    assert gauge.peer is None
    assert not (tmp_path / "profiles").exists()


async def test_the_end_of_input_is_as_done(tmp_path: Path) -> None:
    gauge, talk = Gauge(), Talk(tmp_path)
    async with learning(talk, gauge) as work:
        talk.types(None)
        with pytest.raises(NothingToTalkTo, match="No frame was heard"):
            await work
    assert gauge.peer is None


async def test_an_answer_that_cannot_be_is_told_and_can_be_taken_back(tmp_path: Path) -> None:
    gauge, talk = Gauge(), Talk(tmp_path)
    async with learning(talk, gauge) as work:
        talk.types("30.41 mm", "30,41 mm", "back", "frob", "")
        await talk.until("Not taken: No frame has come since the last answer.")
        await talk.until("Not taken: There is no answer to take back.")
        await shows(talk, gauge, 3041, "30.41 mm")
        await shows(talk, gauge, 1250, "77.77 mm")
        await talk.until("If an answer went to the wrong frame: back")
        talk.types("back", "quit")
        await talk.until("Taken back: #")
        assert await work == Exit.DONE


async def test_nothing_in_reach_is_told(tmp_path: Path) -> None:
    talk = Talk(tmp_path)
    with pytest.raises(NothingToTalkTo, match="Nothing at all was heard"):
        await learn_from_reach(talk.shell, args_of("tools", "learn"), reach_of(Air()), talk.typed())


@pytest.mark.parametrize(
    ("advertised", "name"),
    [
        ("Depot gauge 2", "depot-gauge-2"),
        ("", "learned-tool"),
        ("2nd", "learned-tool"),
        ("../../etc/passwd", "etc-passwd"),
        ("Ünïcode", "n-code"),
        ("\x1b[2J", "learned-tool"),
        ("x" * 80, "x" * 48),
    ],
)
def test_a_name_makes_a_file_of_ours(advertised: str, name: str) -> None:
    assert profile_name(advertised) == name
