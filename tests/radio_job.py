"""A whole job over the real radio path, for tests and benchmarks: `evenhand start --plain` as a process of its own,
bleak's Linux backend in it, and the simulated tools in another process, driven step by step.
"""

import asyncio
import os
import re
import sys
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path

from logger import events as ev
from logger.shelf.shelf import records
from simulators.bluez.private_bus import PrivateBus, ended
from simulators.bluez.remote import RemoteStandIn

from .played import WHOLE

CALIPER, WRENCH = "DC-0417", "TW-2203"
TOOLS = (f"caliper:{CALIPER}:Bench caliper", f"wrench:{WRENCH}:Bench wrench")
START = ("start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--plain")
LIMIT_S = 120.0
_TOOL = re.compile(r"Tool (?P<tool>\S+) \(.*?\): (?P<link>\w+)")
_READING = re.compile(r"(?P<value>[0-9.]+) (?P<unit>mm|N·m|N\.m|Nm)")


@dataclass
class Session:
    """One run of the program, and what it has said."""

    process: asyncio.subprocess.Process
    said: list[str] = field(default_factory=list)
    links: dict[str, str] = field(default_factory=dict)
    """By tool: its link, as the person was last told."""
    prompt: str = ""
    _stirred: asyncio.Event = field(default_factory=asyncio.Event)
    over: bool = False

    async def listen(self) -> None:
        """Read what is said until the end."""
        assert self.process.stdout is not None
        while line := (await self.process.stdout.readline()).decode().rstrip("\n"):
            self.said.append(line)
            if found := _TOOL.match(line):
                self.links[found["tool"]] = found["link"]
            if line.startswith("Next: "):
                self.prompt = line
            self._stirred.set()
        self.over = True
        self._stirred.set()

    async def until(self, holds: Callable[[], bool]) -> None:
        """Wait until something holds of what was said; AssertionError when the session ends before."""
        while not holds():
            assert not self.over, "\n".join(["the session ended", *self.said])
            self._stirred.clear()
            await self._stirred.wait()

    async def ready(self, *tools: str) -> None:
        """Wait until the person was told that these tools are ready."""
        await self.until(lambda: all(self.links.get(tool) == "ready" for tool in tools))

    def say(self, line: str) -> None:
        """Type a line."""
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n".encode())


class RadioJob:
    """The job of `tests.played`, its readings taken by tools: a caliper is pressed, a wrench is pulled."""

    def __init__(self, bus: PrivateBus, remote: RemoteStandIn, home: Path) -> None:
        self.remote = remote
        self.session = Session.__new__(Session)
        self._home = home
        self._environ = {**os.environ, **bus.environ(), "EVENHAND_HOME": str(home)}
        self._listening: asyncio.Task[None] | None = None

    @property
    def trail(self) -> Path:
        """The trail's file."""
        return self._home / "trail.sqlite"

    async def begin(self, *words: str) -> Session:
        """Start the program."""
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "tui.cli", *words),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            env=self._environ,
        )
        self.session = Session(process)
        # kept, and awaited when the process ends: a task group cannot span start and kill
        self._listening = asyncio.create_task(self.session.listen(), name="what the program says")
        await self.session.until(lambda: bool(self.session.prompt))
        return self.session

    async def finish(self) -> int:
        """Wait for the program's own end and return its exit code."""
        assert self._listening is not None
        await self._listening
        return await self.session.process.wait()

    async def step(self, line: str, tool: Callable[[str], Awaitable[None]] | None = None) -> None:
        """Do one step and wait for the next prompt; a reading is taken by its tool, anything else is typed."""
        before = self.session.prompt
        if _READING.fullmatch(line):
            await (tool or self.take)(line)
        else:
            self.session.say(line)
        if line != "close":
            await self.session.until(lambda: self.session.prompt != before)

    async def take(self, reading: str) -> None:
        """Take a reading: press the caliper, or pull the wrench up to it and let go."""
        found = _READING.fullmatch(reading)
        assert found is not None
        if found["unit"] == "mm":
            await self.session.ready(CALIPER)
            await self.remote.tell("press", CALIPER, found["value"])
        else:
            await self.session.ready(WRENCH)
            await self.remote.pull(WRENCH, 10, curve_to(found["value"]))

    async def play(self, script: Sequence[str] = WHOLE) -> None:
        """Do steps one after the other."""
        for line in script:
            await self.step(line)

    def events(self) -> list[ev.Record]:
        """Return what is on the trail."""
        return list(records(self.trail))

    async def end(self) -> None:
        """End the program if it still runs."""
        if self._listening is not None:
            await ended(self.session.process)
            self._listening.cancel()
            await asyncio.wait({self._listening})


def curve_to(peak: str) -> list[str]:
    """Return a pull up to a torque in a third of a second, and down again."""
    top = float(peak)
    up = [f"{top * n / 30:.2f}" for n in range(30)]
    return [*up, peak, *(f"{top * n / 10:.2f}" for n in range(9, -1, -1))]


def taken(found: Sequence[ev.Record]) -> list[ev.ReadingTaken | ev.PullTaken]:
    """Return every reading and pull on a trail."""
    return [r.event for r in found if isinstance(r.event, ev.ReadingTaken | ev.PullTaken)]


def counted(found: Sequence[ev.Record]) -> list[str]:
    """Return the values that answered a prompt, in order, without zeros at their end."""
    return [_value(each) for each in taken(found) if each.answers is not None and not each.set_aside and _valid(each)]


def _valid(event: ev.ReadingTaken | ev.PullTaken) -> bool:
    return isinstance(event, ev.ReadingTaken) or not event.invalid


def _value(event: ev.ReadingTaken | ev.PullTaken) -> str:
    text = event.value if isinstance(event, ev.ReadingTaken) else (event.own_peak or event.host_peak or "")
    return _bare(text)


def wanted(script: Sequence[str]) -> list[str]:
    """Return what a script makes count, as `counted` gives it."""
    return [_bare(found["value"]) for found in map(_READING.fullmatch, script) if found]


def _bare(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


WANTED = wanted(WHOLE)
"""What the whole job counts, as `counted` gives it."""


@asynccontextmanager
async def radio_job(home: Path) -> AsyncIterator[RadioJob]:
    """Start a bus, the tools and nothing else; end all of them, and the program."""
    async with asyncio.timeout(LIMIT_S), PrivateBus() as bus, RemoteStandIn(bus, TOOLS) as remote:
        job = RadioJob(bus, remote, home)
        try:
            yield job
        finally:
            await job.end()
