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

    def write(self, text: str) -> int:
        """Write, or drop what nobody is there to read."""
        with contextlib.suppress(OSError):
            return self._stream.write(text)
        return len(text)

    def flush(self) -> None:
        """Flush, or drop."""
        with contextlib.suppress(OSError):
            self._stream.flush()

    def fileno(self) -> int:
        """Return the descriptor of the stream."""
        return self._stream.fileno()


class SteadyDriver(LinuxDriver):
    """The library's terminal driver, with a stream that goes quietly."""

    def __init__(
        self, app: App[object], *, debug: bool = False, mouse: bool = True, size: tuple[int, int] | None = None
    ) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        if self._file is not None:
            self._file = cast(Any, GoneQuietly(self._file))
