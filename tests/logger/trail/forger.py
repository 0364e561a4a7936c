"""A trail changed by somebody who knows how the file is made."""

import sqlite3
from contextlib import closing
from pathlib import Path

from logger.trail.canonical import digest, encode, genesis

END = {"job": "j1", "event": {"kind": "job_closed"}}
"""What is signed."""


def alter(path: Path, *statements: str, **values: object) -> None:
    """Run statements on a trail without what keeps its rows as they are."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for name in ("events_stay", "events_last", "signatures_stay", "signatures_last"):
            db.execute(f"DROP TRIGGER IF EXISTS {name}")
        for statement in statements:
            db.execute(statement, values)


def rehash(path: Path, seq: int, data: bytes) -> None:
    """Change an event and make its own hash fit."""
    with closing(sqlite3.connect(path)) as db:
        (prev,) = db.execute("SELECT prev FROM events WHERE seq = ?", (seq,)).fetchone()
    alter(path, f"UPDATE events SET bytes = :data, hash = :own WHERE seq = {seq}", data=data, own=digest(prev, data))


def write_anew(path: Path, trail: str, count: int) -> None:
    """Make another chain of `count` events in the same file, as a forger would."""
    alter(path, "DELETE FROM events", "DELETE FROM job_events")
    head = genesis(trail)
    with closing(sqlite3.connect(path)) as db:
        for seq in range(1, count + 1):
            data = encode({"job": "j1", "forged": True, "seq": seq})
            own = digest(head, data)
            db.execute("INSERT INTO events VALUES (?, ?, ?, ?)", (seq, head, own, data))
            db.execute("INSERT INTO job_events VALUES (?, 'j1')", (seq,))
            head = own
        db.commit()


def spoil_root_page(path: Path, of: str) -> None:
    """Overwrite the first page of a table or an index, as a bad sector would."""
    with closing(sqlite3.connect(path)) as db:
        (size,) = db.execute("PRAGMA page_size").fetchone()
        (root,) = db.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (of,)).fetchone()
    with path.open("r+b") as file:
        file.seek((root - 1) * size)
        file.write(b"\xff" * size)
