"""The pedal of a session: its press makes what a tool shows now a reading, where the tool's profile says so."""

from collections.abc import Callable, Iterable, Mapping
from typing import Protocol

from drivers.profile.profile import ToolProfile
from drivers.reading import Link, ToolState
from logger.toolbook.toolbook import Toolbook, find

NO_RADIO = "The radio does not run now, so that no tool can be read by a pedal; type the reading with its unit."


class Captures(Protocol):
    """What a pedal needs of a radio."""

    async def capture(self, tool: str = "") -> str:
        """Make the present value of a tool a reading; return why there is none, or empty text."""
        ...


class Pedal:
    """Knows the radio while it runs; a tool may be named by its id in the toolbook."""

    def __init__(self, book: Toolbook, profiles: Iterable[ToolProfile]) -> None:
        self._book = book
        self._profiles = frozenset(each.profile for each in profiles if each.capture == "pedal")
        self.radio: Captures | None = None
        self.wanted: Callable[[], str] = lambda: ""
        """Says which tool was picked for what is asked now, so that of several the pedal reads that one."""

    def reads(self, tools: Mapping[str, ToolState]) -> bool:
        """Say whether one of these tools is linked and read by a pedal."""
        return any(each.link is Link.READY and each.profile in self._profiles for each in tools.values())

    async def press(self, tool: str = "") -> str:
        """Make the present value of a tool a reading; return empty text, or in one sentence why there is none."""
        if self.radio is None:
            return NO_RADIO
        picked = "" if tool else self.wanted()
        known = find(self._book, tool or picked)
        refusal = await self.radio.capture(known.identity if known is not None and known.identity else tool or picked)
        return f"{picked} was chosen for this. {refusal}" if picked and refusal else refusal
