"""The terminal, kept from taking the program down with it when it goes away."""

import contextlib
from typing import IO, Any, cast

from textual.app import App
from textual.drivers.linux_driver import LinuxDriver


class GoneQuietly:
    """A stream whose other end may be gone: what cannot be written any more is dropped.

    The library writes from a thread of its own behind a short queue; an error would end that thread, and the next
    writes would then block the event loop for good, so that not even the reason for ending could be recorded.
    """

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream
        self._written = 0
        self.out = 0
        """How many pieces have left for the terminal."""

    def write(self, text: str) -> int:
        """Write, or drop what nobody is there to read."""
        with contextlib.suppress(OSError):
            self._stream.write(text)
        self._written += 1
        return len(text)

    def flush(self) -> None:
        """Flush, or drop."""
        written = self._written
        with contextlib.suppress(OSError):
            self._stream.flush()
        self.out = written

    def fileno(self) -> int:
        """Return the descriptor of the stream."""
        return self._stream.fileno()


class SteadyDriver(LinuxDriver):
    """The library's terminal driver, with a stream that goes quietly."""

    def __init__(
        self, app: App[object], *, debug: bool = False, mouse: bool = True, size: tuple[int, int] | None = None
    ) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        self._given = 0
        self._quiet = GoneQuietly(cast(IO[str], self._file))
        self._file = cast(Any, self._quiet)

    def write(self, data: str) -> None:
        """Hand a piece to the thread that writes."""
        self._given += 1
        super().write(data)

    @property
    def behind(self) -> bool:
        """Whether something that was painted has not left for the terminal yet."""
        return self._quiet.out < self._given
