"""One thing done after another, where what is newer takes the place of what is older."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Generic, Protocol, TypeVar


class News(Protocol):
    """Something to tell."""

    @property
    def urgent(self) -> bool:
        """Whether it cuts what is being told, and is not cut by what is not urgent."""
        ...


T = TypeVar("T", bound=News)


def queued(now: T | None, waiting: tuple[T, ...], new: tuple[T, ...]) -> tuple[tuple[T, ...], bool]:
    """Return what waits to be told once `new` has come, and whether what is being told is cut; pure.

    What is newer takes the place of what is older, except that what is not urgent never cuts or drops a warning.
    """
    if not new:
        return waiting, False
    if any(each.urgent for each in new):
        return new, now is not None
    kept = tuple(each for each in waiting if each.urgent)
    return (*kept, *new), now is not None and not now.urgent


class Newest(Generic[T]):
    """Tells news one after another for as long as it runs."""

    def __init__(self, tell: Callable[[T], Awaitable[object]]) -> None:
        self._tell = tell
        self._waiting: tuple[T, ...] = ()
        self._now: T | None = None
        self._task: asyncio.Task[None] | None = None
        self._came = asyncio.Event()

    def put(self, new: tuple[T, ...]) -> None:
        """Take what is to be told next, and cut what it cuts."""
        self._waiting, cut = queued(self._now, self._waiting, new)
        if cut and self._task is not None and not self._task.cancelling():
            self._task.cancel()
        self._came.set()

    async def run(self) -> None:
        """Tell what comes until cancelled; raises a group of what telling raises."""
        while True:
            await self._came.wait()
            self._came.clear()
            while self._waiting:
                self._now, self._waiting = self._waiting[0], self._waiting[1:]
                async with asyncio.TaskGroup() as group:  # its end is waited for also when this task is cancelled
                    self._task = group.create_task(self._one(self._now))
                self._now = self._task = None

    async def _one(self, news: T) -> None:
        await self._tell(news)
