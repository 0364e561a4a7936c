"""Who is who among the tools in reach: each is called by its id in the toolbook, and no two may be one; pure.

It stands between the radio and whoever takes its arrivals.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from drivers.reading import Arrival, Link, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded

from .toolbook import Tool, Toolbook, identified, known

SECOND = "Two devices claim the identity of this tool; what either sends does not count."


@dataclass(frozen=True, slots=True)
class Called:
    """An arrival under the name a person uses."""

    arrival: Arrival
    stops: str = ""
    """One sentence where a second device claims to be this tool, told once."""
    warns: str = ""
    """One sentence to heed, told once."""


@dataclass(slots=True)
class RollCall:
    """The tools in reach, by address; what a tool says of itself decides who it is, never its address."""

    book: Toolbook
    _links: dict[str, ToolState] = field(default_factory=dict)
    _stopped: dict[str, str] = field(default_factory=dict)
    """By id of the tool: why nothing of it counts until the job is resumed."""
    _moved: set[str] = field(default_factory=set)

    def call(self, arrival: Arrival) -> Called:
        """Take an arrival as the radio gives it."""
        if isinstance(arrival, ToolState):
            return self._state(arrival)
        tool = identified(self.book, arrival.tool)
        if tool is None:
            return Called(arrival)
        if tool.id in self._stopped:
            return Called(_aside(arrival, tool))
        return Called(_named(arrival, tool))

    def _state(self, state: ToolState) -> Called:
        tool = known(self.book, state)
        stops = conflict(self.book, self._links.values(), state) or ""
        self._links[state.address] = state
        if tool is None:
            return Called(state)
        stops = "" if tool.id in self._stopped else stops
        if stops:
            self._stopped[tool.id] = stops
        if tool.id in self._stopped:
            lost = replace(state, tool=tool.id, kind=tool.kind, link=Link.LOST, message=self._stopped[tool.id])
            return Called(lost, stops)
        return Called(replace(state, tool=tool.id, kind=tool.kind), warns=self._moved_once(state, tool))

    def _moved_once(self, state: ToolState, tool: Tool) -> str:
        warns = moved(self.book, state)
        if warns is None or tool.id in self._moved:
            return ""
        self._moved.add(tool.id)
        return warns


def _named(arrival: Arrival, tool: Tool) -> Arrival:
    if isinstance(arrival, ToolReading):
        return replace(arrival, tool=tool.id, kind=tool.kind)
    return replace(arrival, tool=tool.id)


def _aside(arrival: Arrival, tool: Tool) -> Arrival:
    """Return what arrived as a frame that does not count; nothing is lost."""
    match arrival:
        case ToolReading(characteristic=characteristic, raw=raw):
            return Undecoded(tool.id, characteristic, raw, SECOND, arrival.at)
        case ToolPeak(raw=raw) | TorqueSample(raw=raw):
            return Undecoded(tool.id, "", raw, SECOND, arrival.at)
        case _:
            return replace(arrival, tool=tool.id)


def conflict(book: Toolbook, others: Iterable[ToolState], state: ToolState) -> str | None:
    """Return one sentence when a tool that became ready claims the identity of a pinned one that is linked elsewhere.

    `others` are the newest states by address. None while a tool has not told who it is, or is not pinned.
    """
    tool = known(book, state)
    if tool is None or state.link is not Link.READY:
        return None
    for other in others:
        if other.link is Link.READY and other.address != state.address and known(book, other) == tool:
            return (
                f"Two devices claim to be {tool.id} ({tool.identity}), at {other.address} and {state.address}: nothing "
                f"that either sends counts. Switch one off, leave the job and resume it."
            )
    return None


def moved(book: Toolbook, state: ToolState) -> str | None:
    """Return one sentence when a pinned tool answers from another address than when it was added."""
    tool = known(book, state)
    if tool is None or state.link is not Link.READY or not tool.address or state.address == tool.address:
        return None
    return (
        f"{tool.id} answers from {state.address}, not from {tool.address} as when it was added: "
        f"compare its display with the screen once."
    )
