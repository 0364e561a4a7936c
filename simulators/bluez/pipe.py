"""The sending end of what AcquireNotify hands over."""

import asyncio
import socket
from collections import deque
from collections.abc import Callable


class Pipe:
    """The sending end of an acquired notification socket; it waits where the reader is slow."""

    def __init__(self, gone: Callable[[], None]) -> None:
        self._end, self.theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self._end.setblocking(False)
        self._waiting: deque[bytes] = deque()
        asyncio.get_running_loop().add_reader(self._end, gone)  # nobody writes to it: readable means closed

    def send(self, payload: bytes) -> None:
        """Send one notification, now or when there is room."""
        self._waiting.append(payload)
        if len(self._waiting) == 1:
            self._write()

    def _write(self) -> None:
        loop = asyncio.get_running_loop()
        try:
            while self._waiting:
                self._end.send(self._waiting[0])
                self._waiting.popleft()
        except BlockingIOError:
            loop.add_writer(self._end, self._write)
            return
        except OSError:  # the reader has gone
            self._waiting.clear()
        loop.remove_writer(self._end)

    def close(self) -> None:
        """End the stream."""
        loop = asyncio.get_running_loop()
        loop.remove_reader(self._end)
        loop.remove_writer(self._end)
        self._end.close()
