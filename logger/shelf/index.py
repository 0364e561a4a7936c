"""An index of the jobs and machines of a trail: a cache beside it that is rebuilt from it, and never trusted over it.

It lies in `trail.sqlite.index`. It remembers up to which event, by number and hash, it was made: what the trail got
since is added; when the trail does not hold that event any more, or another version of the program made the index, or
any of it does not read back as it was written, it is made anew. Where it cannot be kept it is made in memory.
"""

import contextlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar

from pydantic import ValidationError

from logger.trail.canonical import genesis
from logger.trail.file import is_there, reader
from logger.trail.schema import trail_id_of

from .indexrows import FORM, SpoiledError, jobs_of, sound
from .sums import JobSum, MachineSum, key_of

T = TypeVar("T")
_SCHEMA = """
CREATE TABLE meta(form TEXT NOT NULL, trail TEXT NOT NULL, seq INTEGER NOT NULL, hash BLOB NOT NULL);
CREATE TABLE sheets(sha256 TEXT PRIMARY KEY, text TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE jobs(first INTEGER PRIMARY KEY, job TEXT NOT NULL UNIQUE, machine TEXT NOT NULL, sheet TEXT NOT NULL,
    opened TEXT NOT NULL, overridden INTEGER NOT NULL, sum BLOB NOT NULL, doc TEXT NOT NULL);
CREATE INDEX jobs_by_machine ON jobs(machine, first);
CREATE INDEX jobs_by_sheet ON jobs(sheet, first);
CREATE INDEX jobs_by_day ON jobs(opened);
CREATE INDEX jobs_overridden ON jobs(first) WHERE overridden;
CREATE TABLE marks(what TEXT NOT NULL, name TEXT NOT NULL, first INTEGER NOT NULL, PRIMARY KEY(what, name, first))
    WITHOUT ROWID;
CREATE INDEX marks_of_job ON marks(first);
CREATE TABLE machines(machine TEXT PRIMARY KEY, sum BLOB NOT NULL, doc TEXT NOT NULL);
"""
_ELSEWHERE = frozenset(("BUSY", "LOCKED", "READONLY", "CANTOPEN", "FULL", "IOERR", "PERM", "AUTH"))
"""What says that the index cannot be kept here now, and nothing of its content."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which jobs to list; what is empty does not narrow."""

    machine: str = ""
    """A name, or where no machine has it whole, a part of one; without regard to case."""
    sheet: str = ""
    tool: str = ""
    by: str = ""
    since: str = ""
    """First day, YYYY-MM-DD in UTC."""
    until: str = ""
    """Last day, itself included."""
    verdict: str = ""
    overridden: bool = False


def index_path(trail: Path) -> Path:
    """Return where the index of a trail lies."""
    return trail.with_name(trail.name + ".index")


def ask(trail: Path, question: "Callable[[Index], T]") -> T:
    """Bring the index of a trail up to date and ask it; a spoiled one is made anew first.

    TrailDamaged where what the trail got since cannot be read; BadInput when there is no trail.
    """
    with reader(trail):  # where there is no trail, no index is begun
        place = index_path(trail.resolve())
    for _ in range(2):
        try:
            return _asked(str(place), trail, question)
        except (sqlite3.DatabaseError, SpoiledError, ValidationError) as error:
            if getattr(error, "sqlite_errorname", "").removeprefix("SQLITE_").partition("_")[0] in _ELSEWHERE:
                break
            with contextlib.suppress(OSError):
                place.unlink(missing_ok=True)
    return _asked(":memory:", trail, question)


def _asked(place: str, trail: Path, question: "Callable[[Index], T]") -> T:
    with Index(place, trail) as index:
        index.update()
        return question(index)


class Index:
    """An index at one place, open; `ask` opens it."""

    def __init__(self, place: str, trail: Path) -> None:
        self._trail = trail
        self._db = sqlite3.connect(place, timeout=20, isolation_level=None)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, _: BaseException | None, __: TracebackType | None) -> None:
        self._db.close()

    # --- making it ---

    def update(self) -> None:
        """Add what the trail got since; begin anew where it is another trail or another form."""
        self._db.execute("BEGIN IMMEDIATE")
        try:
            seq, head, is_behind = self._from_where()
            if is_behind:
                from .indexing import add  # noqa: PLC0415  (late on purpose: it brings the models of all events)

                add(self._db, self._trail, seq, head)
            self._db.execute("COMMIT")
        except BaseException:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise

    def _from_where(self) -> tuple[int, bytes, bool]:
        """The last event that is indexed, and whether the trail goes on after it."""
        is_made = self._db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] > 0
        found = self._db.execute("SELECT form, trail, seq, hash FROM meta").fetchone() if is_made else None
        with reader(self._trail) as connection:  # nothing of the index in here: what SQLite raises is told of the trail
            trail = trail_id_of(connection)
            holds = found is not None and found[:2] == (FORM, trail) and _holds(connection, found[2], found[3])
            goes_on = _goes_on(connection, found[2] if found is not None and holds else 0)
        if found is not None and holds:
            return found[2], found[3], goes_on
        self._empty()
        for statement in filter(str.strip, _SCHEMA.split(";")):
            self._db.execute(statement)
        first = (trail, 0, genesis(trail))
        self._db.execute("INSERT INTO meta VALUES (?, ?, ?, ?)", (FORM, *first))
        return 0, first[2], goes_on

    def _empty(self) -> None:
        for (table,) in self._db.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
            name = table.replace('"', '""')
            self._db.execute(f'DROP TABLE "{name}"')

    # --- asking it ---

    def jobs(self, wanted: Wanted = Wanted(), most: int = -1) -> tuple[list[JobSum], bool]:
        """Return the newest jobs that are wanted, at most so many (-1: all), and whether there are more of them."""
        question, given = _question(wanted, self._named(wanted.machine) if wanted.machine else ())
        rows = self._db.execute(question, (*given, most + 1 if most >= 0 else -1)).fetchall()
        shown = rows if most < 0 else rows[:most]
        return [JobSum.model_validate_json(doc) for doc in sound(shown)], len(rows) > len(shown)

    def _named(self, part: str) -> tuple[str, ...]:
        """The machines of a name, or where none has it whole, those in whose name it is a part."""
        key = key_of(part)
        whole = self._db.execute("SELECT machine FROM machines WHERE machine = ?", (key,)).fetchall()
        found = whole or self._db.execute("SELECT machine FROM machines WHERE instr(machine, ?)", (key,)).fetchall()
        return tuple(name for (name,) in found)

    def machine(self, name: str) -> tuple[MachineSum, list[JobSum]] | None:
        """Return a machine and its jobs, oldest first, by its name or a part that no other's has; else None."""
        named = self._named(name)
        if len(named) != 1:
            return None
        row = self._db.execute("SELECT doc, sum FROM machines WHERE machine = ?", named).fetchone()
        jobs = jobs_of(self._db, *named)
        return MachineSum.model_validate_json(next(sound([row]))), jobs

    def machines(self) -> list[MachineSum]:
        """Return every machine."""
        rows = self._db.execute("SELECT doc, sum FROM machines ORDER BY machine")
        return [MachineSum.model_validate_json(doc) for doc in sound(rows)]


def _goes_on(connection: sqlite3.Connection, seq: int) -> bool:
    """Whether the trail has events after number `seq`."""
    return bool(connection.execute("SELECT EXISTS (SELECT 1 FROM events WHERE seq > ?)", (seq,)).fetchone()[0])


def _holds(connection: sqlite3.Connection, seq: int, digest: bytes) -> bool:
    """Whether the trail holds the event up to which an index was made."""
    row = connection.execute("SELECT hash FROM events WHERE seq = ?", (seq,)).fetchone()
    return seq == 0 or (row is not None and row[0] == digest)


def _question(wanted: Wanted, machines: Sequence[str]) -> tuple[str, tuple[object, ...]]:
    """Return the question and what it takes; only words of ours are in it.

    It goes through the jobs of what narrows most, the newest first, so that it can stop early.
    """
    named = [("tool", wanted.tool), ("by", key_of(wanted.by)), ("verdict", wanted.verdict)]
    marks = [(what, name) for what, name in named if name]
    led_by, others = (marks[:1], marks[1:]) if len(machines) != 1 else ([], marks)
    narrowed = [
        *(("marks.what = ? AND marks.name = ?", mark) for mark in led_by),
        *(
            ("EXISTS (SELECT 1 FROM marks m WHERE m.what = ? AND m.name = ? AND m.first = jobs.first)", m)
            for m in others
        ),
        *_narrowed(wanted, machines),
    ]
    source = "marks CROSS JOIN jobs ON jobs.first = marks.first" if led_by else "jobs"
    where = " AND ".join(("1", *(text for text, _ in narrowed)))
    order = f"ORDER BY {'marks' if led_by else 'jobs'}.first DESC LIMIT ?"
    return f"SELECT doc, sum FROM {source} WHERE {where} {order}", tuple(
        each for _, given in narrowed for each in given
    )


def _narrowed(wanted: Wanted, machines: Sequence[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What narrows the jobs by what stands in their own rows, each with what it takes."""
    until = wanted.until and f"{wanted.until}U"  # after every instant of the day, which goes on with T
    for text, value in (
        ("jobs.machine = ?", machines[0] if len(machines) == 1 else ""),
        ("jobs.sheet = ?", wanted.sheet),
        ("jobs.opened >= ?", wanted.since),
        ("jobs.opened < ?", until),
    ):
        if value:
            yield text, (value,)
    if wanted.machine and len(machines) != 1:
        # as JSON, since a statement takes only so many values; + keeps the newest first, so that it can stop early
        yield "+jobs.machine IN (SELECT value FROM json_each(?))", (json.dumps(machines),)
    if wanted.overridden:
        yield "jobs.overridden", ()


def job_sums(trail: Path, wanted: Wanted = Wanted(), most: int = -1) -> tuple[Sequence[JobSum], bool]:
    """Return the newest jobs of a trail that are wanted, and whether there are more; none where there is no trail."""
    return ask(trail, lambda index: index.jobs(wanted, most)) if is_there(trail) else ((), False)
