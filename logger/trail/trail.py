"""The trail: append durably, one event after the other, each chained to the one before.

An append is done when its event is committed with `synchronous=FULL`: nothing is shown before. After a failed write
every later append fails with NotStored until the trail is opened again, so that nobody measures into the void.
"""

import asyncio
import sqlite3
import threading
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

from drivers.reading import Clock
from logger.errors import NotStored

from .clocks import utc_text
from .file import WriterLock, connect, is_there, mount_table, refuse_remote
from .head import Sealing
from .writer import Stored, Writer


class Trail:
    """The one writer of a trail; `open` it, `append`, `close` it. Reading needs no Trail: see `read` and `verify`."""

    def __init__(self, path: Path, lock: WriterLock, writer: Writer) -> None:
        self.path = path
        self._lock = lock
        self._writer = writer
        self._gate = threading.Lock()
        self._closed = False

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        clock: Clock | None = None,
        mounts: str | None = None,
        connect: Callable[[Path], sqlite3.Connection] = connect,
        seal: Callable[[], Sealing] | None = None,
    ) -> Self:
        """Open or create the trail at `path` for writing; what `seal` gives signs heads at the ends of jobs.

        TrailBusy when another process (or this one) writes it; TrailDamaged when its last events do not hold;
        BadInput when the file is no trail of a known format, or `path` no possible place; NotStored where it could
        not be kept safely (a network or FUSE mount, by `mounts`: the text of mountinfo, read from the kernel when
        None).
        """
        is_there(path)  # tells of a loop of links, where resolve would fail
        path = path.resolve()
        refuse_remote(path, mount_table() if mounts is None else mounts)
        made_ns = time.time_ns() if clock is None else clock.now().utc_ns
        lock = WriterLock(path)
        try:
            writer = Writer(path, connect, utc_text(made_ns), seal() if seal else None)
            writer.start()
            writer.ready.result()
        except BaseException:
            lock.release()
            raise
        return cls(path, lock, writer)

    @property
    def trail_id(self) -> str:
        """The id this trail got when it was made: 32 hex digits."""
        return self._writer.trail_id

    @property
    def head(self) -> Stored:
        """The last event that is on the disk; number 0 when there is none yet."""
        return self._writer.head

    def append(self, record: Mapping[str, object]) -> asyncio.Future[Stored]:
        """Queue a record at once, in the order of calls, and return a future of its place on the disk.

        To be called from a running event loop. Cancelling who waits does not take the event back: it is stored.
        The future fails with NotStored, or with BadInput when the record itself cannot be stored (only that one).
        """
        future: asyncio.Future[Stored] = asyncio.get_running_loop().create_future()
        with self._gate:  # so that nothing can slip in behind the word to end
            if self._closed:
                raise NotStored("The trail is closed.", "Open it again to record more.")
            self._writer.jobs.put((record, future))
        return future

    def close(self) -> None:
        """Store what is still queued, then let go of the file and the lock."""
        with self._gate:
            if self._closed:
                return
            self._closed = True
            self._writer.jobs.put(None)
        self._writer.join()
        self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
