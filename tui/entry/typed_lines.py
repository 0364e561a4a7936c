"""Lines from stdin without blocking the event loop, whatever stdin is: a terminal, a pipe or a file.

A thread reads the descriptor itself: an event loop cannot watch a regular file, and would make a terminal that is
shared with stdout non-blocking. The thread is a daemon, so that a read which never returns does not hold the end up.
"""

import asyncio
import contextlib
import os
import threading
import unicodedata
from collections.abc import AsyncIterator, Iterable, Iterator

STDIN = 0
MOST_BYTES = 2048
"""The longest line that is taken; a longer one is given on cut, but longer than this, to be refused as a whole."""
_CHUNK = 65536
_HELD = 64
"""How many lines may wait; the reader then waits too, so that a huge file is never held in memory."""


def split(chunks: Iterable[bytes]) -> Iterator[str]:
    """Give the lines of a byte stream as text in Unicode form NFC; of too long a one, MOST_BYTES + 1 characters."""
    pending = b""
    for chunk in chunks:
        *whole, pending = (pending + chunk).split(b"\n")
        yield from map(_text, whole)
        pending = pending[: MOST_BYTES + 1]
    if pending:
        yield _text(pending)


def _text(line: bytes) -> str:
    if len(line) > MOST_BYTES:  # a character a byte and no blanks taken off, so that it stays as long as it is told
        return line[: MOST_BYTES + 1].decode("latin-1")
    return unicodedata.normalize("NFC", line.decode("utf-8", "replace")).strip(" \t\r")


def _chunks(descriptor: int) -> Iterator[bytes]:
    with contextlib.suppress(OSError):  # a terminal that was closed ends like a file
        while chunk := os.read(descriptor, _CHUNK):
            yield chunk


class TypedLines:
    """The lines of a descriptor as an async iterator that ends at end of file; reading begins with the first one."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._begun = False
        self._lines: asyncio.Queue[str | None] = asyncio.Queue()
        self._room = threading.Semaphore(_HELD)

    def __aiter__(self) -> AsyncIterator[str]:
        return self

    async def __anext__(self) -> str:
        if not self._begun:  # not before: a command names its typed lines before its loop runs
            self._begin(asyncio.get_running_loop())
        line = await self._lines.get()
        self._room.release()
        if line is None:
            raise StopAsyncIteration
        return line

    def _begin(self, loop: asyncio.AbstractEventLoop) -> None:
        self._begun = True
        threading.Thread(target=self._read, args=(loop,), name="typed lines", daemon=True).start()

    def _read(self, loop: asyncio.AbstractEventLoop) -> None:
        with contextlib.suppress(RuntimeError):  # the loop has ended: nobody is left to tell
            for line in split(_chunks(self._descriptor)):
                self._put(loop, line)
            self._put(loop, None)

    def _put(self, loop: asyncio.AbstractEventLoop, line: str | None) -> None:
        self._room.acquire()
        loop.call_soon_threadsafe(self._lines.put_nowait, line)
