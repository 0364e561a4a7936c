"""The tools one owns, as a session needs them: who is who, what is stated of each, and what they cannot decide."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from drivers.ble import Radio
from drivers.clock import SystemClock
from drivers.profile import ToolProfile
from logger.bench import Bench
from logger.fitness import outlooks
from logger.profilestore import profiles_of
from logger.rollcall import Called, RollCall
from logger.settings import Home
from logger.sheet import Sheet
from logger.toolbook import Describe, Toolbook
from logger.toolbookfile import read_toolbook
from tui.services import Host, Service

TICK_S = 0.25
"""How often pulls are looked at that wait for a peak their tool may not send."""


@dataclass(frozen=True, slots=True)
class Kit:
    """The toolbook and the profiles of a home."""

    book: Toolbook
    profiles: tuple[ToolProfile, ...]

    @property
    def describe(self) -> Describe:
        """What a bench asks at the first appearance of a tool."""
        return Describe(self.book, {each.profile: each for each in self.profiles})

    def cannot(self, sheet: Sheet) -> tuple[str, ...]:
        """Return what should be known before a job with these tools, a sentence each."""
        today = f"{datetime.now(tz=UTC).astimezone():%Y-%m-%d}"
        return outlooks(sheet, self.describe.all(), today)

    def radio(self) -> Radio:
        """Return the host's own radio."""
        return Radio(self.profiles, SystemClock())


def kit_of(home: Home) -> Kit:
    """Read the toolbook and the profiles of a home; BadInput when one of them cannot be used."""
    return Kit(read_toolbook(home.toolbook), profiles_of(home.profiles))


def radio_service(book: Toolbook, make: Callable[[], Radio]) -> Service:
    """Return the service that carries what tools in reach send to the bench, each tool by its id in the toolbook.

    A second device with the identity of a tool in the book stops that tool: the person is told, the trail too, and
    what either device sends is kept without counting, also after the radio was started anew.
    """
    roll = RollCall(book)

    async def radio(host: Host) -> None:
        async with make() as heard, asyncio.TaskGroup() as group:
            group.create_task(_settle(host.bench))
            async for arrival in heard.arrivals():
                await asyncio.shield(_take(host, roll.call(arrival)))

    return radio


async def _take(host: Host, called: Called) -> None:
    for sentence in filter(None, (called.stops, called.warns)):
        host.warn(sentence)
        await host.bench.fault(f"tool {called.arrival.tool}", sentence)
    await host.bench.arrive(called.arrival)


async def _settle(bench: Bench) -> None:
    while True:
        await asyncio.sleep(TICK_S)
        await asyncio.shield(bench.settle_pulls())


def forewarning(sentences: tuple[str, ...]) -> Service:
    """Return the service that shows what the tools cannot decide as the first banner."""

    async def tools_at_hand(host: Host) -> None:
        if sentences:
            host.warn(" ".join(sentences))

    return tools_at_hand
