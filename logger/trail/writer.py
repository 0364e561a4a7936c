"""The thread that owns the only connection that writes a trail; appends that wait together share one transaction."""

import asyncio
import concurrent.futures
import contextlib
import queue
import sqlite3
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from logger.errors import BadInput, EvenhandError, NotStored, TrailDamaged

from .anchor import Anchor, as_text
from .canonical import digest, encode, genesis
from .file import SQLITE_ERRORS, job_of, trouble
from .head import Sealing, lost, note_path, put_signature, read_note, write_note
from .read import check_end
from .schema import create

_MOST_AT_ONCE = 512
_REOPEN = "Nothing more is recorded until the program is started again; take the last reading again then."


@dataclass(frozen=True, slots=True)
class Stored:
    """An event is on the disk: its number, and its hash."""

    seq: int
    hash: bytes


Outcome = Stored | EvenhandError
Waiting = asyncio.Future[Stored]


class Writer(threading.Thread):
    """Owns the writing connection; a daemon, since an append that was not answered was not promised."""

    def __init__(
        self, path: Path, connect: Callable[[Path], sqlite3.Connection], created: str, seal: Sealing | None
    ) -> None:
        super().__init__(name="trail-writer", daemon=True)
        self.jobs: queue.SimpleQueue[tuple[Mapping[str, object], Waiting] | None] = queue.SimpleQueue()
        self.ready: concurrent.futures.Future[None] = concurrent.futures.Future()
        self.trail_id = ""
        self.head = Stored(0, b"")
        self._path = path
        self._connect = connect
        self._created = created
        self._seal = seal
        self._noted = 0
        self._has_noted = False
        self._failed: NotStored | None = None

    def run(self) -> None:
        """Write what is queued until the word to end; what cannot be opened is told by `ready`."""
        try:
            connection = self._prepare()
        except SQLITE_ERRORS as error:
            told = trouble(self._path, error)
            told.__cause__ = error
            self.ready.set_exception(told)
            return
        except BaseException as error:  # handed to whoever opens the trail
            self.ready.set_exception(error)
            return
        with contextlib.closing(connection):
            self.ready.set_result(None)
            while batch := self._next_batch():
                _answer([future for _, future in batch], self._write(connection, [record for record, _ in batch]))
            self._note()

    def _prepare(self) -> sqlite3.Connection:
        note = read_note(self._path)
        connection = self._connect(self._path)
        try:
            self.trail_id = create(connection, self._created, as_text(note) if note else "")
            self.head = Stored(*check_end(connection, self.trail_id))
            if note:
                self._compare(connection, note)
        except BaseException:
            connection.close()
            raise
        return connection

    def _compare(self, connection: sqlite3.Connection, note: Anchor) -> None:
        """TrailDamaged when the trail falls behind what was noted beside it."""
        if gone := lost(connection, self.trail_id, note):
            raise TrailDamaged(
                f"{self._path} is not the whole trail: {gone}.",
                "Copies are made with: evenhand trail backup. If an older one was put back on purpose, "
                f"take {note_path(self._path)} aside and start again.",
            )
        if note.trail == self.trail_id:
            self._noted = note.seq

    def _note(self) -> None:
        self._has_noted = True
        if self.head.seq > self._noted:
            self._noted = self.head.seq
            write_note(self._path, self.trail_id, self.head.seq, self.head.hash)

    def _next_batch(self) -> list[tuple[Mapping[str, object], Waiting]]:
        """Wait for one job, then take what else is queued; empty at the end."""
        batch = []
        job = self.jobs.get()
        while job is not None:
            batch.append(job)
            if len(batch) == _MOST_AT_ONCE:
                break
            try:
                job = self.jobs.get_nowait()
            except queue.Empty:
                break
        else:
            if batch:
                self.jobs.put(None)  # the word to end came last: hear it again after this batch
        return batch

    def _write(self, connection: sqlite3.Connection, records: Sequence[Mapping[str, object]]) -> list[Outcome]:
        """Store the records in one transaction; each gets its place or why it has none."""
        if self._failed is None:
            try:
                return self._commit(connection, records)
            except Exception as error:  # whatever it was, nothing of the batch is on the disk
                self._failed = _failure(self._path, error)
                with contextlib.suppress(sqlite3.Error):
                    connection.rollback()
        return [_not_stored(record, self._failed) for record in records]

    def _commit(self, connection: sqlite3.Connection, records: Sequence[Mapping[str, object]]) -> list[Outcome]:
        connection.execute("BEGIN IMMEDIATE")
        row = connection.execute("SELECT seq, hash FROM events ORDER BY seq DESC LIMIT 1").fetchone()
        head = Stored(*row) if row else Stored(0, genesis(self.trail_id))
        outcomes: list[Outcome] = []
        signed = False
        for record in records:
            try:
                data = _numbered(record, head.seq + 1)
            except BadInput as error:
                outcomes.append(error)
                continue
            head = _insert(connection, head, data, job_of(record))
            outcomes.append(head)
            if self._seal is not None and self._seal.wants(head.seq, record):
                put_signature(connection, self._seal, self.trail_id, head.seq, head.hash)
                signed = True
        connection.execute("COMMIT")
        self.head = head
        if signed or not self._has_noted:  # the first of a session too: a copy without the log shows at once
            self._note()
        return outcomes


def _numbered(record: Mapping[str, object], seq: int) -> bytes:
    """Put the number into the bytes, so that the chain binds it too."""
    if "seq" in record:
        raise BadInput("The record already carries a number.", "The trail alone numbers events.")
    return encode({**record, "seq": seq})


def _insert(connection: sqlite3.Connection, head: Stored, data: bytes, job: str) -> Stored:
    stored = Stored(head.seq + 1, digest(head.hash, data))
    connection.execute("INSERT INTO events VALUES (?, ?, ?, ?)", (stored.seq, head.hash, stored.hash, data))
    connection.execute("INSERT INTO job_events VALUES (?, ?)", (stored.seq, job))
    return stored


def _failure(path: Path, error: Exception) -> NotStored:
    """Why nothing can be stored any more."""
    full = getattr(error, "sqlite_errorname", "") == "SQLITE_FULL"
    what = f"The disk of {path} is full" if full else f"{path} could not be written ({error})"
    found = NotStored(f"{what}.", f"{'Make room. ' if full else ''}{_REOPEN}")
    found.__cause__ = error
    return found


def _not_stored(record: Mapping[str, object], failed: NotStored) -> NotStored:
    """Name what was lost, so that nobody believes it is on the trail."""
    found = NotStored(f"NOT STORED: {_name(record.get('event'))}. {failed.message}", failed.remedy)
    found.__cause__ = failed
    return found


def _name(event: object) -> str:
    match event:
        case {"kind": "reading_taken", "value": value, "unit": unit, "tool": tool}:
            return f"the reading {value} {unit} of {tool}"
        case {"kind": "pull_taken", "own_peak": own, "host_peak": seen, "unit": unit, "tool": tool}:
            return f"the pull {own or seen} {unit} of {tool}"
        case {"kind": str(kind)}:
            return f"the event {kind.replace('_', ' ')}"
        case _:
            return "the last event"


def _answer(futures: Sequence[Waiting], outcomes: Sequence[Outcome]) -> None:
    """Tell everyone what became of their record, with one call into each event loop."""
    by_loop: dict[asyncio.AbstractEventLoop, list[tuple[Waiting, Outcome]]] = {}
    for future, outcome in zip(futures, outcomes, strict=True):
        by_loop.setdefault(future.get_loop(), []).append((future, outcome))
    for loop, settled in by_loop.items():
        with contextlib.suppress(RuntimeError):  # the loop has ended: nobody is left to tell
            loop.call_soon_threadsafe(_settle, settled)


def _settle(settled: Sequence[tuple[Waiting, Outcome]]) -> None:
    for future, outcome in settled:
        if future.done():  # who waited was cancelled; the event is stored all the same
            continue
        if isinstance(outcome, Stored):
            future.set_result(outcome)
        else:
            future.set_exception(outcome)
