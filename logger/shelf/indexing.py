"""How the index takes in what the trail got since; apart, since an index that is up to date answers without it."""

import sqlite3
from dataclasses import dataclass, field
from pathlib import Path

from logger import events as ev
from logger.errors import TrailDamaged
from logger.sheets.file import load_sheet
from logger.trail.read import StoredEvent, read

from .indexrows import jobs_of, sound, sum_of
from .machines import machine_of
from .summing import Sheets, added, begun, settled, sheets_of
from .sums import JobSum, key_of

_AT_ONCE = 100_000
"""Events after which a long making is put on the disk, so that an ended process need not begin again."""


def _put_job(db: sqlite3.Connection, job: JobSum, sheets: Sheets) -> None:
    doc = settled(job, sheets).model_dump_json()
    machine, overridden = key_of(job.machine), bool(job.standing)
    db.execute("DELETE FROM marks WHERE what = 'verdict' AND first = ?", (job.first,))
    db.execute(
        "INSERT OR REPLACE INTO jobs VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (job.first, job.job, machine, job.sheet, job.opened, overridden, sum_of(doc), doc),
    )
    marks = [("tool", tool) for tool in job.tools] + [("by", key_of(name)) for name in job.people]
    marks += [("verdict", verdict) for verdict in set(job.verdicts.values())]
    db.executemany("INSERT OR IGNORE INTO marks VALUES (?, ?, ?)", [(what, name, job.first) for what, name in marks])


def _put_machine(db: sqlite3.Connection, machine: str) -> None:
    doc = machine_of(jobs_of(db, machine)).model_dump_json()
    db.execute("INSERT OR REPLACE INTO machines VALUES (?, ?, ?)", (machine, sum_of(doc), doc))


@dataclass(slots=True)
class _Work:
    """The jobs that events are being added to."""

    db: sqlite3.Connection
    sheets: Sheets
    texts: dict[str, str]
    jobs: dict[str, JobSum] = field(default_factory=dict)

    def take(self, stored: StoredEvent) -> None:
        """Add one event; ValueError or KeyError where it has not the form of one."""
        name = _job_of(stored.bytes)
        job = self.jobs.get(name) or self._kept(name)
        if job is not None:
            self.jobs[name] = added(job, stored.bytes, self.sheets)
            return
        record = ev.Record.model_validate_json(stored.bytes)
        first = begun(record)
        if first is not None and isinstance(record.event, ev.JobOpened):
            self.jobs[name] = first
            self.texts.setdefault(record.event.sheet_sha256, record.event.sheet_text)

    def _kept(self, name: str) -> JobSum | None:
        row = self.db.execute("SELECT doc, sum FROM jobs WHERE job = ?", (name,)).fetchone()
        return None if row is None else JobSum.model_validate_json(next(sound([row])))

    def put(self) -> None:
        """Write what was added, and what the machines are by it."""
        self.db.executemany("INSERT OR IGNORE INTO sheets VALUES (?, ?)", self.texts.items())
        for job in self.jobs.values():
            _put_job(self.db, job, self.sheets)
        for machine in {key_of(job.machine) for job in self.jobs.values()}:
            _put_machine(self.db, machine)
        self.jobs.clear()


def _job_of(data: bytes) -> str:
    """Return the job that an event names, from where this program writes it; ValueError where it does not."""
    place = data.index(b',"job":"') + 8
    return data[place : data.index(b'"', place)].decode("ascii")


_NO_EVENT = (ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError)
"""What a record raises that another wrote and that is no event of this program, wherever it is looked at."""


def _unread(path: Path, seq: int) -> TrailDamaged:
    return TrailDamaged(f"Event {seq} of {path} is not one this version can read.", "Run: evenhand verify")


def add(db: sqlite3.Connection, path: Path, seq: int, head: bytes) -> None:
    """Add the events after number `seq`, whose hash is `head`; TrailDamaged where one does not follow or read."""
    texts = dict[str, str](db.execute("SELECT sha256, text FROM sheets").fetchall())
    work = _Work(db, sheets_of(texts, lambda text: load_sheet(text, "a sheet kept with its job").sheet), texts)
    for stored in read(path, after=seq):
        if stored.prev != head:
            raise TrailDamaged(f"Event {stored.seq} does not follow the one before it.", "Run: evenhand verify")
        try:
            work.take(stored)
            if stored.seq % _AT_ONCE == 0:
                work.put()
        except _NO_EVENT as error:
            raise _unread(path, stored.seq) from error
        seq, head = stored.seq, stored.hash
        if seq % _AT_ONCE == 0:
            db.execute("UPDATE meta SET seq = ?, hash = ?", (seq, head))
            db.execute("COMMIT")
            db.execute("BEGIN IMMEDIATE")
    if work.jobs:
        try:
            work.put()
        except _NO_EVENT as error:
            raise _unread(path, seq) from error
        db.execute("UPDATE meta SET seq = ?, hash = ?", (seq, head))
