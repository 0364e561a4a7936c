"""The two ends of an outbox on the disk: the trail it reads, and the cursor it keeps beside it."""

import itertools
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Protocol

from logger.errors import BadInput
from logger.trail.canonical import genesis
from logger.trail.file import reader
from logger.trail.read import StoredEvent, read
from logger.trail.schema import has_signatures, trail_id_of


class Source(Protocol):
    """Where events come from, in order; every call may raise BadInput or TrailDamaged."""

    trail: str

    def head(self) -> tuple[int, bytes]:
        """Return number and hash of the last event; 0 and the first hash of the chain while there is none."""
        ...

    def after(self, seq: int, most: int) -> list[StoredEvent]:
        """Return up to `most` events after number `seq`."""
        ...

    def signatures(self, first: int, last: int) -> dict[int, tuple[bytes, bytes]]:
        """Return public key and signature of each of these events whose head was signed."""
        ...

    def hash_at(self, seq: int) -> bytes | None:
        """Return the hash of event `seq`, of 0 the first hash of the chain; None when there is no such event."""
        ...


class TrailSource:
    """A trail on the disk, read beside its writer; BadInput when there is none."""

    def __init__(self, path: Path) -> None:
        self._path = path
        with reader(path) as connection:
            self.trail = trail_id_of(connection)

    def head(self) -> tuple[int, bytes]:
        """See the port."""
        with reader(self._path) as connection:
            row = connection.execute("SELECT seq, hash FROM events ORDER BY seq DESC LIMIT 1").fetchone()
        return (int(row[0]), bytes(row[1])) if row else (0, genesis(self.trail))

    def after(self, seq: int, most: int) -> list[StoredEvent]:
        """See the port."""
        return list(itertools.islice(read(self._path, after=seq), most))

    def signatures(self, first: int, last: int) -> dict[int, tuple[bytes, bytes]]:
        """See the port."""
        asked = "SELECT seq, key, signature FROM signatures WHERE seq BETWEEN ? AND ?"
        with reader(self._path) as connection:
            rows = connection.execute(asked, (first, last)).fetchall() if has_signatures(connection) else []
        return {int(seq): (bytes(key), bytes(signature)) for seq, key, signature in rows}

    def hash_at(self, seq: int) -> bytes | None:
        """See the port."""
        if seq == 0:
            return genesis(self.trail)
        with reader(self._path) as connection:
            row = connection.execute("SELECT hash FROM events WHERE seq = ?", (seq,)).fetchone()
        return bytes(row[0]) if row else None


_MOST_CURSOR = 4096
"""Bytes; a longer file is none of ours."""


@dataclass(frozen=True, slots=True)
class Cursor:
    """The last event of a trail that the collector acknowledged, and the number of the last connection."""

    trail: str = ""
    seq: int = 0
    hash: str = ""
    session: int = 0


class CursorFile:
    """The cursor in a small file; it saves asking, and nothing is lost with it: the collector knows better."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def load(self) -> Cursor:
        """Return the cursor; a new one when the file is missing or cannot be read."""
        try:
            with self._path.open("rb") as file:
                found = json.loads(file.read(_MOST_CURSOR))
            cursor = Cursor(str(found["trail"]), int(found["seq"]), str(found["hash"]), int(found["session"]))
        except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
            return Cursor()
        return cursor if 0 <= cursor.seq < 2**53 and 0 <= cursor.session < 2**53 else Cursor()

    def save(self, cursor: Cursor) -> None:
        """Replace the file as a whole; BadInput when the folder cannot be written."""
        aside = self._path.with_name(self._path.name + ".new")
        try:
            aside.write_text(json.dumps(asdict(cursor)), encoding="utf-8")
            aside.replace(self._path)
        except OSError as error:
            raise BadInput(f"{self._path} cannot be written: {error.strerror}.", "Make room in the folder.") from error
