"""`tools add` and `tools learn` through the real program and bleak's Linux backend, tools in another process."""

import asyncio
import os
import signal
import sys
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from logger.toolbook.file import read_toolbook
from logger.toolbook.profiles import profiles_of
from simulators.bluez.adapter import ADDRESS, SPARE
from simulators.bluez.private_bus import PrivateBus, missing
from simulators.bluez.remote import RemoteStandIn

if why := missing():
    pytest.skip(why, allow_module_level=True)

LIMIT_S = 90.0


@dataclass
class Run:
    """One run of the program; stdout and stderr come as one."""

    process: asyncio.subprocess.Process

    async def until(self, words: str) -> str:
        """Read on to the line with these words."""
        assert self.process.stdout is not None
        said = ""
        while line := (await self.process.stdout.readline()).decode():
            said += line
            if words in line:
                return said
        raise AssertionError(f"{words!r} was never said in: {said}")

    def types(self, *lines: str) -> None:
        """Type lines."""
        assert self.process.stdin is not None
        self.process.stdin.write("".join(f"{line}\n" for line in lines).encode())

    async def ended(self) -> int:
        """Wait for its end."""
        assert self.process.stdout is not None
        await self.process.stdout.read()
        return await self.process.wait()


@asynccontextmanager
async def workshop(home: Path, tools: Sequence[str]) -> AsyncIterator[tuple[RemoteStandIn, dict[str, str]]]:
    async with asyncio.timeout(LIMIT_S), PrivateBus() as bus, RemoteStandIn(bus, tools) as remote:
        yield remote, {**os.environ, **bus.environ(), "EVENHAND_HOME": str(home)}
        assert (await remote.tell("state"))["connected"] == []


async def begun(environment: dict[str, str], *words: str) -> Run:
    return Run(
        await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "tui.cli", "tools", *words),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.STDOUT,
            env=environment,
        )
    )


async def test_a_tool_is_added_over_the_real_radio_path(own_home: Path) -> None:
    async with workshop(own_home, ["caliper:DC-1:Bench caliper", "wrench:TW-1:Bench wrench"]) as (remote, environment):
        run = await begun(environment, "add", "--by", "Robin", "--seconds", "1", "--tool", "wrench")
        await run.until("Ready.")
        await remote.pull("TW-1", 5, ["0", "20", "41.5", "20", "0"])
        await run.until("Received: 41.50 N·m.")
        run.types("yes", "4 %", "", "", "2027-01-01", "", "C 7")
        await run.until("Added: torque-wrench-1")
        assert await run.ended() == 0
    (entry,) = read_toolbook(own_home / "toolbook.toml").tool
    assert (entry.serial, entry.accuracy, entry.due, entry.profile) == (
        "TW-1",
        "4 %",
        "2027-01-01",
        "sig-torque-wrench",
    )


async def test_the_adapter_of_the_settings_is_the_one_that_listens(own_home: Path) -> None:
    settings = own_home / "settings.toml"
    async with workshop(own_home, ["caliper:DC-1:Bench caliper"]) as (remote, environment):
        await remote.tell("spare", "hci1")  # it hears nothing
        settings.write_text(f'[radio]\nadapter = "{ADDRESS.lower()}"\n')
        run = await begun(environment, "scan", "--seconds", "1")
        await run.until("Bench caliper")
        assert await run.ended() == 0
        settings.write_text(f'[radio]\nadapter = "{SPARE}"\n')
        run = await begun(environment, "scan", "--seconds", "1")
        await run.until("No tool that a profile recognises was heard in 1 s.")
        assert await run.ended() == 5
        settings.write_text('[radio]\nadapter = "00:00:5E:00:53:01"\n')
        run = await begun(environment, "scan", "--seconds", "1")
        await run.until("The Bluetooth adapter 00:00:5E:00:53:01 is not there")
        assert await run.ended() == 5


async def test_a_tool_is_learned_over_the_real_radio_path(own_home: Path) -> None:
    async with workshop(own_home, ["caliper:DC-1:Bench caliper"]) as (remote, environment):
        run = await begun(environment, "learn", "--seconds", "1")
        await run.until("Linked to Bench caliper.")
        for millimetres in ("36.20", "101.87", "12.50"):
            await remote.tell("press", "DC-1", millimetres)
            await run.until("  2c0a  ")
            run.types(f"{millimetres} mm")
            await run.until(f"showed {millimetres} mm.")
        await run.until("Written: ")
        assert await run.ended() == 0
    profile = profiles_of(own_home / "profiles")[0]
    assert (profile.profile, profile.resolution, len(profile.vector)) == ("bench-caliper", "0.01 mm", 3)


@pytest.mark.kill
@pytest.mark.parametrize(
    ("words", "linked"), [(("add", "--by", "Robin"), "Ready."), (("learn",), "Linked to Bench caliper.")]
)
async def test_a_signal_leaves_no_tool_connected_and_writes_nothing(
    own_home: Path, words: tuple[str, ...], linked: str
) -> None:
    async with workshop(own_home, ["caliper:DC-1:Bench caliper"]) as (_, environment):
        run = await begun(environment, *words, "--seconds", "1")
        await run.until(linked)
        run.process.send_signal(signal.SIGINT)
        assert await run.ended() == 128 + signal.SIGINT
    assert os.listdir(own_home) == []  # noqa: PTH208
