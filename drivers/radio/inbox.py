"""A bounded inbox: callbacks put without waiting, one task takes; what does not fit is counted, never silent."""

import asyncio
from collections import deque
from typing import Generic, TypeVar

T = TypeVar("T")
FRAMES_HELD = 4096
"""Notifications of one link that wait to be decoded: forty seconds of a 100 Hz stream."""


class Inbox(Generic[T]):
    """First in, first out, at most `limit` items; after `close` it gives what it holds, then None."""

    def __init__(self, limit: int) -> None:
        self._items: deque[T] = deque()
        self._limit = limit
        self._lost = 0
        self._stirred = asyncio.Event()
        self.closed = False

    def put(self, item: T) -> None:
        """Add an item, or count it as lost when there is no room; never waits and never raises."""
        if len(self._items) < self._limit:
            self._items.append(item)
        else:
            self._lost += 1
        self._stirred.set()

    def __len__(self) -> int:
        """Return how many items are held."""
        return len(self._items)

    def close(self) -> None:
        """Let the taker finish: what is held is still given."""
        self.closed = True
        self._stirred.set()

    async def take(self) -> T | None:
        """Return the oldest item, waiting for one; None when the inbox is closed and empty."""
        while not self._items and not self.closed:
            self._stirred.clear()
            await self._stirred.wait()
        return self._items.popleft() if self._items else None

    def take_lost(self) -> int:
        """Return how many items were lost since the last call."""
        lost, self._lost = self._lost, 0
        return lost
