"""As many tools as can be linked at once: who gets a place, and who gives way when there are more.

The tool that was used longest ago gives way, and only when it has been idle for a while: so tools do not take places
from each other in turn. Whom it is, is a pure decision.
"""

import asyncio
from collections.abc import Awaitable, Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from typing import Protocol


class Holder(Protocol):
    """A tool that holds a place."""

    @property
    def used_s(self) -> float:
        """When it was used last, by the clock of the loop."""
        ...

    def release(self) -> None:
        """Give way: end the link, which gives the place back."""
        ...


@dataclass(frozen=True, slots=True)
class Wait:
    """Nobody gives way yet; look again after so many seconds."""

    seconds: float


def least_used(used_s: Iterable[float], now_s: float, idle_s: float) -> int | Wait:
    """Return which of some tools gives way, by its place in the row, or how long until one may."""
    row = list(used_s)
    if not row:
        return Wait(idle_s)
    oldest = min(range(len(row)), key=row.__getitem__)
    idle = now_s - row[oldest]
    return oldest if idle >= idle_s else Wait(idle_s - idle)


class Slots:
    """The places of one adapter."""

    def __init__(self, most: int, idle_s: float, freed: Callable[[], None]) -> None:
        self._all = self._most = most
        self._idle_s = idle_s
        self._freed = freed
        self._held: list[Holder] = []
        self._leaving: list[Holder] = []
        self._waiting = 0
        self._changed = asyncio.Condition()

    async def take(self, holder: Holder, tell: Callable[[], Awaitable[None]]) -> None:
        """Take a place, when there is one or somebody gives way; `tell` is called when it has to be waited for."""
        if self._full:
            await tell()
        self._waiting += 1
        try:
            while self._full:
                await self._wait()
        finally:
            self._waiting -= 1
        self._held.append(holder)

    @property
    def _full(self) -> bool:
        return len(self._held) >= self._most

    async def _wait(self) -> None:
        staying = [each for each in self._held if each not in self._leaving]
        whom = least_used((each.used_s for each in staying), asyncio.get_running_loop().time(), self._idle_s)
        if isinstance(whom, int) and len(self._leaving) < self._waiting:
            self._leaving.append(staying[whom])
            staying[whom].release()
        async with self._changed:
            with suppress(TimeoutError):
                async with asyncio.timeout(whom.seconds if isinstance(whom, Wait) else None):
                    await self._changed.wait_for(lambda: not self._full)

    async def give_back(self, holder: Holder) -> None:
        """Give a place back; where nobody waits for it, `freed` is called."""
        self._held.remove(holder)
        if holder in self._leaving:
            self._leaving.remove(holder)
        if not self._waiting:
            self._freed()
        async with self._changed:
            self._changed.notify_all()

    def shrink(self) -> None:
        """Note that the adapter could not hold the tool that was just tried, and will not hold as many again."""
        self._most = max(1, len(self._held) - 1)

    def restore(self) -> None:
        """Note that the adapter is another one now, or begins anew."""
        self._most = self._all
