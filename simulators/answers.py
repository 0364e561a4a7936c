"""The screen's answer to a press or a pull, waited for as a person waits, who tries again when it stays away."""

import asyncio
from collections.abc import Awaitable, Callable

from logger import events as ev
from logger.bench.bench import Bench
from logger.bench.moment import Moment

WAIT_S = 5.0
"""How long a person waits for the screen to answer before trying again, in real seconds."""


class Answers:
    """Hears from one bench what it makes of what tools send."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._changed = asyncio.Event()
        self._answered = 0
        bench.listeners.append(self._hear)

    def _hear(self, moment: Moment) -> None:
        """Remember the last answer to a press or a pull; the echo of a worn button is none."""
        event = moment.record.event
        if isinstance(event, ev.PullTaken) or (isinstance(event, ev.ReadingTaken) and event.set_aside != "duplicate"):
            self._answered = moment.record.seq
        self._changed.set()

    def since(self, before: int) -> bool:
        """Whether an answer came after the event with this number."""
        return self._answered > before

    async def to(self, press: Callable[[], Awaitable[None]]) -> None:
        """Do something with a tool and return once the screen has answered; again and again where it does not."""
        before = self._bench.moment.record.seq
        while not self.since(before):
            self._changed.clear()
            await press()
            try:
                async with asyncio.timeout(WAIT_S):
                    while not self.since(before):
                        await self._changed.wait()
                        self._changed.clear()
            except TimeoutError:
                continue
