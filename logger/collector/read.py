"""What the collector keeps, read back: heads to hold a trail against, a trail as a file, alarms, parked events."""

import contextlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from logger.errors import BadInput
from logger.settings.settings import expanded
from logger.trail.anchor import Anchor
from logger.trail.canonical import genesis
from logger.trail.file import connect
from logger.trail.schema import create

from .tables import alarms, benches, cannot, chains, events, open_database, parked

_PAGE = 1000


@dataclass(frozen=True, slots=True)
class Kept:
    """How far one trail is kept."""

    bench: str
    trail: str
    seq: int
    hash: bytes
    last_utc: str


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that a person must look at."""

    utc: str
    bench: str
    trail: str
    seq: int
    kind: str
    """conflict, cut, forged, hostile; or refused, parked, unread."""
    what: str


def is_store(url: str) -> bool:
    """Tell whether there may be a store: a file that is there, or a server's URL; BadInput where none can be seen."""
    try:
        return "://" in url or expanded(url).is_file()
    except OSError as error:  # a name that is too long, or a folder that may not be entered
        raise BadInput(f"The store {url[:80]} cannot be looked at: {error.strerror}.", "Name another file.") from error


class Shelf:
    """The reading side of a collector's store; BadInput or NotStored when it cannot be opened or read."""

    def __init__(self, url: str) -> None:
        if not is_store(url):  # to look must not make an empty one
            raise BadInput(f"There is no store of a collector at {url}.", "Start one with: evenhand collect")
        self._engine = open_database(url)

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @contextlib.contextmanager
    def _reading(self) -> Iterator[sa.Connection]:
        try:
            with self._engine.connect().execution_options(reads=True) as connection:
                yield connection
        except sa.exc.SQLAlchemyError as error:
            raise cannot(error) from error

    def kept(self) -> list[Kept]:
        """Return how far each trail is kept, by bench, the newest trail of a bench last."""
        with self._reading() as connection:
            rows = connection.execute(sa.select(chains).order_by(chains.c.bench, chains.c.last_utc)).all()
        return [Kept(row.bench, row.trail, row.seq, bytes(row.hash), row.last_utc) for row in rows]

    def states(self) -> dict[str, str]:
        """Return the last state that each bench told."""
        with self._reading() as connection:
            return {row.bench: row.state for row in connection.execute(sa.select(benches))}

    def hash_at(self, bench: str, trail: str, seq: int) -> bytes | None:
        """Return the hash of an event as it is kept; None when it is not."""
        if seq == 0:
            return genesis(trail)
        here = (events.c.bench == bench, events.c.trail == trail, events.c.seq == seq)
        with self._reading() as connection:
            found = connection.execute(sa.select(events.c.hash).where(*here)).scalar()
        return None if found is None else bytes(found)

    def alarms(self) -> list[Alarm]:
        """Return all alarms and all parked events, oldest first."""
        with self._reading() as connection:
            loud = connection.execute(sa.select(alarms)).all()
            quiet = connection.execute(sa.select(parked)).all()
        found = [Alarm(row.utc, row.bench, row.trail, row.seq, row.kind, row.what) for row in loud]
        found += [Alarm(row.utc, row.bench, row.trail, row.seq, row.kind, row.reason) for row in quiet]
        return sorted(found, key=lambda each: (each.utc, each.bench, each.seq))

    def copy(self, bench: str, trail: str, to: Path) -> None:
        """Write what is kept of a trail as a trail file, byte for byte; BadInput when nothing is kept."""
        here = (events.c.bench == bench, events.c.trail == trail)
        with contextlib.closing(connect(to)) as into, self._reading() as connection:
            _lay(into, trail)
            rows = connection.execute(
                sa.select(events).where(*here).order_by(events.c.seq).execution_options(yield_per=_PAGE)
            )
            into.execute("BEGIN IMMEDIATE")
            for row in rows:
                into.execute("INSERT INTO events VALUES (?, ?, ?, ?)", (row.seq, row.prev, row.hash, row.bytes))
                into.execute("INSERT INTO job_events VALUES (?, ?)", (row.seq, row.job))
                if row.signature:
                    into.execute(
                        "INSERT INTO signatures VALUES (?, ?, ?, ?)", (row.seq, row.hash, row.key, row.signature)
                    )
            into.execute("COMMIT")


def _lay(into: sqlite3.Connection, trail: str) -> None:
    """Make an empty trail with the id of another; it is a copy to read, so its identity may be set."""
    create(into, "")
    into.execute("DROP TRIGGER meta_stays")
    into.execute("UPDATE meta SET value = ? WHERE key = 'trail'", (trail,))


def anchor_of(store: Shelf, trail: str) -> Anchor | None:
    """Return the head that the shop keeps of a trail, for `verify` to hold it against; None when it keeps none."""
    found = [each for each in store.kept() if each.trail == trail]
    return Anchor(found[-1].seq, found[-1].hash, trail) if found else None


def newest(store: Shelf, bench: str) -> Kept:
    """Return the newest trail of a bench; BadInput when the shop keeps none."""
    found = [each for each in store.kept() if each.bench == bench]
    if not found:
        raise BadInput(f"The shop keeps no trail of bench {bench[:40]}.", "List what it keeps with: evenhand shop show")
    return found[-1]


@contextlib.contextmanager
def copied(store: Shelf, kept: Kept, toolbook: Path | None = None) -> Iterator[Path]:
    """Give a kept trail as a file for as long as it is looked at: all that reads a trail reads it there.

    With it lies a copy of the toolbook, where one is given.
    """
    with tempfile.TemporaryDirectory(prefix="evenhand-") as folder:
        path = Path(folder) / "trail.sqlite"
        store.copy(kept.bench, kept.trail, path)
        if toolbook is not None and toolbook.is_file():
            shutil.copy(toolbook, path.parent)
        yield path
