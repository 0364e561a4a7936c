"""The tools one owns, as a session needs them: who is who, what is stated of each, and what they cannot decide."""

import asyncio
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from drivers.clock import SystemClock
from drivers.profile.profile import ToolProfile
from drivers.profile.values import TypedValue
from logger.bench.bench import Bench
from logger.events import Pick, SideOffset
from logger.job.candidates import Need, needs
from logger.job.fitness import outlooks
from logger.settings.file import Settings, load_settings
from logger.settings.settings import Home
from logger.sheets.sheet import Sheet
from logger.toolbook.file import read_toolbook
from logger.toolbook.profiles import profiles_of
from logger.toolbook.rollcall import Called, RollCall
from logger.toolbook.stated import Describe
from logger.toolbook.toolbook import Toolbook, find
from tui.entry.keymap import Keymap
from tui.entry.pedal import Pedal
from tui.services import Service, Workplace, tell_fault

if TYPE_CHECKING:
    from drivers.radio.ble import Radio

TICK_S = 0.25
"""How often pulls are looked at that wait for a peak their tool may not send."""


@dataclass(frozen=True, slots=True)
class Kit:
    """The toolbook and the profiles of a home."""

    book: Toolbook
    profiles: tuple[ToolProfile, ...]
    settings: Settings = field(default_factory=Settings)

    @property
    def describe(self) -> Describe:
        """What a bench asks at the first appearance of a tool."""
        return Describe(self.book, {each.profile: each for each in self.profiles})

    def typed_by(self, tool: str) -> TypedValue | None:
        """Return how a tool of the toolbook types its readings, where its profile says that it acts as a keyboard."""
        entry = find(self.book, tool)
        profile = next((p for p in self.profiles if entry is not None and p.profile == entry.profile), None)
        values = profile.values if profile is not None else ()
        return next((value for value in values if isinstance(value, TypedValue)), None)

    def cannot(self, sheet: Sheet, offset: SideOffset | None = None, picks: tuple[Pick, ...] = ()) -> tuple[str, ...]:
        """Return what should be known before a job with these tools, on a machine with this offset, a sentence each."""
        return outlooks(sheet, self.describe.all(), _today(), offset, picks)

    def needs(
        self, sheet: Sheet, offset: SideOffset | None = None, last: Mapping[str, str] | None = None
    ) -> tuple[Need, ...]:
        """Return what a sheet needs tools for, with those of the toolbook; `last` is what served each step before."""
        return needs(sheet, self.describe.all(), _today(), offset, last)

    def radio(self) -> "Radio":
        """Return the host's own radio."""
        from drivers.radio.ble import Radio  # noqa: PLC0415  (late on purpose: a job without a radio needs none)

        chosen = self.settings.radio
        return Radio(self.profiles, SystemClock(), adapter=chosen.adapter, max_tools=chosen.max_tools)

    def pedal(self) -> Pedal:
        """Return what reads a tool by a pedal, once the radio runs."""
        return Pedal(self.book, self.profiles)

    def keymap(self) -> Keymap:
        """Return the keys that were given a meaning."""
        return Keymap(self.settings.keys.given)


def _today() -> str:
    """The present day where the bench is."""
    return f"{datetime.now(tz=UTC).astimezone():%Y-%m-%d}"


def kit_of(home: Home) -> Kit:
    """Read the toolbook, the profiles and the settings of a home; BadInput when one of them cannot be used."""
    return Kit(read_toolbook(home.toolbook), profiles_of(home.profiles), load_settings(home.folder))


async def let_go(bench: Bench, book: Toolbook, by: str = "") -> tuple[str, ...]:
    """Let go of tools that a job goes by and that are in use no more, on its trail too; return a sentence for each."""
    job, in_use = bench.moment.job, {tool.id for tool in book.active}
    gone = [pick for pick in job.picked if pick.tool not in in_use]
    if gone:
        await bench.pick_tools([pick for pick in job.picked if pick not in gone], by)
    used = [(pick.tool, pick.tool_kind) for pick in gone]
    said = job.typed_with
    if said is not None and said.tool_kind not in ("", said.tool) and said.tool not in in_use:
        await bench.declare("off")
        used.append((said.tool, said.tool_kind))
    return tuple(
        f"{tool} ({kind}) was chosen for this job, but {_why_gone(book, tool)}: it counts no more; say "
        "what is typed with instead, by: with NAME."
        for tool, kind in dict.fromkeys(used)
    )


def _why_gone(book: Toolbook, name: str) -> str:
    entry = next((tool for tool in book.tool if tool.id == name), None)
    return f"it was retired ({entry.retired.why})" if entry and entry.retired else "it is in the toolbook no more"


def radio_service(book: Toolbook, make: "Callable[[], Radio]", pedal: Pedal | None = None) -> Service:
    """Return the service that carries what tools in reach send to the bench, each tool by its id in the toolbook.

    A second device with the identity of a tool in the book stops that tool: the person is told, the trail too, and
    what either device sends is kept without counting, also after the radio was started anew.
    """
    roll = RollCall(book)

    async def radio(workplace: Workplace) -> None:
        async with make() as heard, asyncio.TaskGroup() as group:
            group.create_task(_settle(workplace.bench))
            with _at(pedal, heard):
                async for arrival in heard.arrivals():
                    await asyncio.shield(_take(workplace, roll.call(arrival)))

    return radio


@contextmanager
def _at(pedal: Pedal | None, heard: "Radio") -> Iterator[None]:
    """Let the pedal know the radio for as long as it runs."""
    if pedal is None:
        yield
        return
    pedal.radio = heard
    try:
        yield
    finally:
        pedal.radio = None


async def _take(workplace: Workplace, called: Called) -> None:
    for sentence in filter(None, (called.stops, called.warns)):
        await tell_fault(workplace, f"tool {called.arrival.tool}", sentence)
    if called.stops:
        workplace.bench.halt(called.stops)
    await workplace.bench.arrive(called.arrival)


async def _settle(bench: Bench) -> None:
    while True:
        await asyncio.sleep(TICK_S)
        await asyncio.shield(bench.settle_pulls())


def forewarning(sentences: tuple[str, ...]) -> Service:
    """Return the service that shows what the tools cannot decide as the first banners, one for each sentence."""

    async def tools_at_hand(workplace: Workplace) -> None:
        for sentence in sentences:
            workplace.warn(sentence)

    return tools_at_hand
