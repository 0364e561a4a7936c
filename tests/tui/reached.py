"""Commands about tools over the in-process air: the same Reach, typed lines one by one, and what was said."""

import argparse
import asyncio
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from drivers.profile.file import shipped_profiles
from drivers.profile.profile import ToolProfile
from drivers.radio.ble import Radio, find, scan
from drivers.radio.supervise import Timing
from logger.settings.settings import Home
from simulators.air import Air
from simulators.clock import SimClock
from tui.cli import parser
from tui.commands.reach import Reach
from tui.shell import Shell

TIMING = Timing(connect_s=5.0, poll_s=0.05, asleep_s=0.2)
LIMIT_S = 20.0
"""No test waits this long unless it has failed."""


def reach_of(air: Air, profiles: tuple[ToolProfile, ...] = shipped_profiles()) -> Reach:
    """Return the reach of an air."""
    clock = SimClock()
    return Reach(
        profiles,
        clock,
        lambda _: scan(0.02, profiles, backends=air.backends),
        lambda: Radio(profiles, clock, backends=air.backends, timing=TIMING, jitter=lambda: 0.0),
        partial(find, seconds=0.5, backends=air.backends),
    )


@dataclass
class Talk:
    """One run of a command: a shell that keeps what was said, and a person who types when something was said."""

    folder: Path
    out: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    _stirred: asyncio.Event = field(default_factory=asyncio.Event)
    _typed: "asyncio.Queue[str | None]" = field(default_factory=asyncio.Queue)

    @property
    def shell(self) -> Shell:
        """The doors."""
        return Shell(Home(self.folder), self._keep(self.out), self.out.append, self._keep(self.said), has_screen=False)

    def _keep(self, lines: list[str]) -> Callable[[str], None]:
        def kept(line: str) -> None:
            lines.append(line)
            self._stirred.set()

        return kept

    def types(self, *lines: str | None) -> None:
        """Type lines; None is the end of input."""
        for line in lines:
            self._typed.put_nowait(line)

    async def typed(self) -> AsyncIterator[str]:
        """Give what is typed."""
        while (line := await self._typed.get()) is not None:
            yield line

    async def until(self, words: str) -> str:
        """Wait until something was said or shown with these words in it, and return it."""
        async with asyncio.timeout(LIMIT_S):
            while True:
                found = next((line for line in (*self.said, *self.out) if words in line), None)
                if found is not None:
                    return found
                self._stirred.clear()
                await self._stirred.wait()


def args_of(*words: str) -> argparse.Namespace:
    """Return what the command line makes of these words."""
    return parser().parse_args(words)
