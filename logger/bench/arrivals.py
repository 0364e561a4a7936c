"""What tools send, as a bench takes it: introduced before it counts, pulls found, links kept.

Everything here runs with the door of the bench held, and stores through it.
"""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace

from drivers.reading import RADIO, Arrival, Clock, Link, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from drivers.typed import TYPED
from logger import events as ev
from logger.errors import BadInput
from logger.pulls.figures import stated_settings
from logger.pulls.pulls import Found, PullSettings, PullState
from logger.pulls.wrenches import Wrench

from . import asitcame, intake, pullintake
from .moment import Moment

MOST_SAID = 300
"""Characters of a sentence on the trail."""

LiveListener = Callable[[TorqueSample, PullState], None]
Describe = Callable[[str, str, str], ev.ToolDescribed | None]
"""A tool, its kind and its profile (the last two may be empty) -> what is stated of it, or None."""
Store = Callable[[ev.Event], Awaitable[Moment]]


def nothing_stated(_tool: str, _kind: str, _profile: str) -> ev.ToolDescribed | None:
    """State nothing of any tool."""
    return None


def kept_only(arrival: Arrival, why: str) -> Arrival:
    """Return what arrived as a frame that is kept and counts for nothing; the state of a tool stays what it is."""
    match arrival:
        case ToolReading():
            return Undecoded(arrival.tool, arrival.characteristic, arrival.raw, why, arrival.at)
        case TorqueSample() | ToolPeak():
            return Undecoded(arrival.tool, "", arrival.raw or f"{arrival.text} {arrival.unit}", why, arrival.at)
        case _:
            return arrival


class Arrivals:
    """The tools of one bench and what they send; `store` is the one door, `now` the moment it led to."""

    def __init__(self, clock: Clock, now: Callable[[], Moment], store: Store) -> None:
        self._clock = clock
        self._now = now
        self._store = store
        self._wrenches: dict[str, Wrench] = {}
        self._introduced: set[tuple[str, str]] = set()
        self.describe: Describe = nothing_stated
        self.tools: dict[str, ToolState] = {}
        self.live_listeners: list[LiveListener] = []

    async def take(self, arrival: Arrival) -> None:
        """Take one arrival; whatever may be a reading is stored."""
        await self._introduce(arrival)
        match arrival:
            case ToolReading():
                await self._store(intake.reading_event(self._now().job, self._now().prompt, arrival))
            case TorqueSample() | ToolPeak():
                await self._torque(arrival)
            case Undecoded(aside=True):
                pass  # a heartbeat is not a reading that could not be understood
            case Undecoded():
                await self._store(asitcame.undecoded_event(arrival))
            case ToolState():
                await self._tool_state(arrival)

    # --- who it is --------------------------------------------------------------------------------------------------

    async def _introduce(self, arrival: Arrival) -> None:
        """Put what is stated of a tool on the trail when it first takes part, and again when that has changed."""
        match arrival:
            case ToolState(link=Link.READY) if arrival.tool != RADIO:
                await self._described(arrival.tool, arrival.kind, arrival.profile)
            case ToolReading(tool=tool) if tool != TYPED:
                await self._described(tool, arrival.kind, self._profile(tool))
            case ToolReading():
                said = intake.tool_of(self._now().job, self._now().prompt, arrival)
                if said is not None:
                    await self._described(said.tool, said.tool_kind, "")
            case TorqueSample(tool=tool) | ToolPeak(tool=tool):
                known = self.tools.get(tool)
                await self._described(tool, known.kind if known else "torque wrench", self._profile(tool))
            case _:
                pass

    def _profile(self, tool: str) -> str:
        return self.tools[tool].profile if tool in self.tools else ""

    async def _described(self, tool: str, kind: str, profile: str) -> None:
        if (tool, profile) in self._introduced or self._now().job.closed:
            return
        self._introduced.add((tool, profile))
        await self.state(self.describe(tool, kind, profile))

    async def state(self, described: ev.ToolDescribed | None) -> None:
        """Store what is stated of a tool unless the job knows it so already."""
        if described is None or self._now().job.tools.get(described.tool) == described:
            return
        await self._store(described)
        wrong = stated_settings(described)[1]
        if wrong:
            await self._store(ev.FaultTold(what=f"tool {described.tool}", said=wrong[:MOST_SAID]))

    async def _tool_state(self, state: ToolState) -> None:
        before = self.tools.get(state.tool)
        for other in [name for name, each in self.tools.items() if name != state.tool and _same_radio(each, state)]:
            del self.tools[other]  # until it tells its serial number, a tool goes by its advertised name
        self.tools[state.tool] = state
        if before is None or replace(before, at=state.at) != state:
            await self._store(asitcame.state_event(state))
        if state.link is Link.LOST and state.tool in self._wrenches:
            wrench = self._wrenches[state.tool]
            await self._store_pulls(wrench.flush(None), wrench.settings)

    # --- pulls ------------------------------------------------------------------------------------------------------

    def _wrench(self, tool: str) -> Wrench:
        wrench, described = self._wrenches.setdefault(tool, Wrench()), self._now().job.tools.get(tool)
        if wrench.described != described:
            wrench.describe(described)
        return wrench

    async def _torque(self, arrival: TorqueSample | ToolPeak) -> None:
        wrench = self._wrench(arrival.tool)
        settings = wrench.settings  # a sample that ends a pull may tell the noise at rest, and so change them
        try:
            found = wrench.feed(arrival)
        except BadInput as error:
            await self._store(asitcame.no_torque_event(arrival, error.message))
            return
        if isinstance(arrival, TorqueSample):
            for listener in self.live_listeners:
                listener(arrival, wrench.state)
        await self._store_pulls(found, settings)

    async def _store_pulls(self, found: tuple[Found, ...], settings: PullSettings) -> None:
        cut: asyncio.CancelledError | None = None
        for each in found:
            try:
                await self._store(pullintake.found_event(self._now().job, self._now().prompt, each, settings))
            except asyncio.CancelledError as error:  # stored; so are the rest, then the cancelling goes on
                cut = error
        if cut is not None:
            raise cut

    async def settle(self) -> None:
        """End pulls that wait for a peak their tool will not send any more (it fell silent or went away)."""
        for wrench in list(self._wrenches.values()):
            await self._store_pulls(wrench.flush(self._clock.now().mono_ns), wrench.settings)


def _same_radio(one: ToolState, other: ToolState) -> bool:
    return bool(one.address) and one.address == other.address
