"""`tools watch`: a line for each thing that arrives, hostile text made visible, and no tool left connected."""

import argparse
import asyncio
import json
import os
import signal
import sys
from decimal import Decimal
from pathlib import Path

import pytest

from drivers.reading import RADIO, Arrival, Link, Stamp, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from logger.errors import NothingToTalkTo
from logger.toolbook.file import write_toolbook
from logger.toolbook.toolbook import Toolbook
from simulators.air import Air
from simulators.bluez.private_bus import PrivateBus, missing
from simulators.bluez.remote import RemoteStandIn
from simulators.clock import SimClock
from simulators.tools import SimCaliper, SimWrench
from tests.logger.toolbook.made import tool
from tests.tui.reached import LIMIT_S, Talk, reach_of
from tui.cli import main
from tui.commands.watch import as_json, as_line, watch_from
from tui.exits import Exit

AT = Stamp(1_767_600_000_123_456_789, 0)


@pytest.mark.parametrize(
    ("arrival", "line"),
    [
        (
            ToolReading(
                "DC-1", "length", "36.20", "mm", "sig", "aa01", AT, "caliper", "2c0a", duplicate=True, old=True
            ),
            "DC-1  36.20 mm (duplicate, old)  [aa01]",
        ),
        (ToolReading("DC-1", "length", "1", "in", "sig", "bb", AT, mode="held"), "DC-1  1 in (held)  [bb]"),
        (TorqueSample("TW-1", None, "N·m", AT, raw="ee"), "TW-1  stream not known N·m  [ee]"),
        (ToolPeak("TW-1", "98.10", "N·m", "cc", AT), "TW-1  peak 98.10 N·m  [cc]"),
        (Undecoded("DC-1", "2c0a", "ff", "Too short.", AT), "DC-1  no reading: Too short.  [ff]"),
        (Undecoded("DC-1", "2c0a", "ff", "A heartbeat.", AT, aside=True), "DC-1  set aside: A heartbeat.  [ff]"),
        (ToolState("DC-1", "caliper", Link.READY, AT, battery=90), "DC-1  caliper ready, battery 90 %"),
        (ToolState(RADIO, RADIO, Link.LOST, AT, message="Bluetooth is off."), "radio  lost. Bluetooth is off."),
    ],
)
def test_each_thing_is_one_line(arrival: Arrival, line: str) -> None:
    assert as_line(arrival) == f"08:00:00.123  {line}"
    told = json.loads(as_json(arrival))
    assert told["at"] == "2026-01-05T08:00:00.123456Z"
    assert told["tool"] == arrival.tool
    assert "\n" not in as_json(arrival)


def args(*, as_json: bool = False, seconds: float | None = None) -> argparse.Namespace:
    return argparse.Namespace(json=as_json, seconds=seconds)


async def test_what_tools_send_is_shown_by_their_ids_until_it_is_cut_off(tmp_path: Path) -> None:
    caliper = SimCaliper("SN-jaws", "Bench caliper", lambda: Decimal("36.2"), SimClock())
    wrench = SimWrench("TW-1", "Bench wrench", SimClock())
    talk = Talk(tmp_path)
    write_toolbook(talk.shell.home.toolbook, Toolbook(tool=(tool("jaws"),)))
    async with asyncio.timeout(LIMIT_S):
        work = asyncio.ensure_future(watch_from(talk.shell, args(), reach_of(Air([caliper, wrench]))))
        await talk.until("jaws  caliper ready, battery 90 %")
        await talk.until("TW-1  torque wrench ready")
        caliper.press()
        caliper.send(caliper.length, b"\x01")
        await wrench.pull([Decimal(20), Decimal(0)])
        await talk.until("jaws  36.2000 mm  [")
        await talk.until("jaws  no reading: ")
        await talk.until("TW-1  stream 20.00 N·m  [")
        await talk.until("TW-1  peak 20.00 N·m  [")
        work.cancel()
        with pytest.raises(asyncio.CancelledError):
            await work
    assert caliper.peer is wrench.peer is None


async def test_the_time_ends_it_and_says_whether_there_was_a_tool(tmp_path: Path) -> None:
    caliper = SimCaliper("DC-1", "Bench caliper", Decimal, SimClock())
    talk = Talk(tmp_path)
    assert await watch_from(talk.shell, args(as_json=True, seconds=0.5), reach_of(Air([caliper]))) == Exit.DONE
    states = [json.loads(line) for line in talk.out]
    assert {state["what"] for state in states} == {"state"}
    assert [state["link"] for state in states if state["tool"] == "DC-1"] == ["ready"]
    assert caliper.peer is None
    with pytest.raises(NothingToTalkTo, match="No tool was ready"):
        await watch_from(talk.shell, args(seconds=0.05), reach_of(Air()))


async def test_two_that_claim_to_be_one_are_told(tmp_path: Path) -> None:
    one, two = (SimCaliper("SN-jaws", "Bench caliper", lambda: Decimal("1"), SimClock()) for _ in range(2))
    talk = Talk(tmp_path)
    write_toolbook(talk.shell.home.toolbook, Toolbook(tool=(tool("jaws"),)))
    async with asyncio.timeout(LIMIT_S):
        work = asyncio.ensure_future(watch_from(talk.shell, args(), reach_of(Air([one, two]))))
        await talk.until("Two devices claim to be jaws (SN-jaws)")
        one.press()
        await talk.until("jaws  no reading: Two devices claim the identity of this tool")
        work.cancel()
        await asyncio.wait([work])


@pytest.mark.parametrize("seconds", ["0", "86401", "-1"])
def test_a_time_that_makes_no_sense_is_refused(seconds: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tools", "watch", "--for", seconds]) == Exit.BAD_INPUT
    assert f"--for {seconds} is out of range" in capsys.readouterr().err


def test_a_broken_profile_of_ones_own_is_told(own_home: Path) -> None:
    (own_home / "profiles").mkdir()
    (own_home / "profiles" / "own.toml").write_text("{")
    assert main(["tools", "watch"]) == Exit.BAD_INPUT


@pytest.mark.kill
@pytest.mark.skipif(bool(missing()), reason=missing() or "a private bus is there")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
async def test_a_signal_ends_it_with_no_tool_left_connected(own_home: Path, number: signal.Signals) -> None:
    async with asyncio.timeout(60), PrivateBus() as bus, RemoteStandIn(bus, ["caliper:DC-1:Cali\x1b[2Jper"]) as remote:
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "tui.cli", "tools", "watch"),
            stdout=asyncio.subprocess.PIPE,
            env={**os.environ, **bus.environ(), "EVENHAND_HOME": str(own_home)},
        )
        assert process.stdout is not None
        said = b""
        while b"DC-1  caliper ready" not in said:
            said += await process.stdout.readline()
        assert (await remote.tell("state"))["connected"] == ["DC-1"]
        await remote.tell("press", "DC-1", "36.2")
        while b"DC-1  36.2000 mm  [" not in said:
            said += await process.stdout.readline()
        process.send_signal(number)
        said += await process.stdout.read()
        assert await process.wait() == 128 + number
        assert (await remote.tell("state"))["connected"] == []
    assert b"\x1b" not in said
