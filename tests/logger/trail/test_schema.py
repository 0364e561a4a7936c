"""A trail of an older format is read as it is, and becomes one of this format when it is next written."""

import contextlib
import re
import sqlite3
from pathlib import Path

import pytest

from logger.trail import schema as trail_schema
from logger.trail.canonical import digest, encode, genesis
from logger.trail.read import read, verify
from logger.trail.schema import FORMAT, MIGRATIONS
from logger.trail.seal import check_signatures
from logger.trail.trail import Trail

from .appended import append_now
from .verifier import holds

FIRST = """
PRAGMA application_id = 1165379684;
CREATE TABLE meta(key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE events(
    seq INTEGER PRIMARY KEY, prev BLOB NOT NULL UNIQUE, hash BLOB NOT NULL, bytes BLOB NOT NULL);
CREATE TABLE job_events(seq INTEGER PRIMARY KEY, job TEXT NOT NULL);
CREATE INDEX job_events_by_job ON job_events(job);
CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;
CREATE TRIGGER events_last BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END;
CREATE TRIGGER meta_stays BEFORE UPDATE ON meta BEGIN SELECT RAISE(ABORT, 'a trail keeps its identity'); END;
CREATE TRIGGER meta_lasts BEFORE DELETE ON meta BEGIN SELECT RAISE(ABORT, 'a trail keeps its identity'); END;
INSERT INTO meta VALUES ('format', '1'), ('trail', '0123456789abcdef0123456789abcdef');
"""
"""The tables exactly as format 1 had them: this text never changes."""


@pytest.fixture
def old(tmp_path: Path) -> Path:
    path = tmp_path / "trail.sqlite"
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.executescript(FIRST)
        head = genesis("0123456789abcdef0123456789abcdef")
        for seq in range(1, 31):
            data = encode({"job": "j1", "seq": seq})
            own = digest(head, data)
            db.execute("INSERT INTO events VALUES (?, ?, ?, ?)", (seq, head, own, data))
            db.execute("INSERT INTO job_events VALUES (?, 'j1')", (seq,))
            head = own
        db.commit()
    return path


def _schema(path: Path) -> set[str]:
    with contextlib.closing(sqlite3.connect(path)) as db:
        texts = [row[0] for row in db.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")]
    return {re.sub(r"\s+", " ", text) for text in texts}


def test_the_first_format_is_read_without_being_changed(old: Path) -> None:
    before = old.read_bytes()
    assert verify(old).sound
    assert len(list(read(old, "j1"))) == 30
    assert check_signatures(old).count == 0
    assert old.read_bytes() == before


def test_writing_brings_it_to_this_format_and_the_chain_goes_on(old: Path, tmp_path: Path) -> None:
    before = verify(old)
    with Trail.open(old) as trail:
        assert trail.trail_id == before.trail
        assert (trail.head.seq, trail.head.hash.hex()) == (30, before.head_hash)
        append_now(trail, {"job": "j1"})
    assert verify(old).count == 31
    assert holds(old)
    Trail.open(tmp_path / "new" / "trail.sqlite").close()
    assert _schema(old) == _schema(tmp_path / "new" / "trail.sqlite")
    with contextlib.closing(sqlite3.connect(old)) as db:
        assert db.execute("SELECT value FROM meta WHERE key = 'format'").fetchone() == (FORMAT,)


def test_a_migration_that_fails_changes_nothing(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = MIGRATIONS["1"].replace("COMMIT;", "INSERT INTO nowhere VALUES (1); COMMIT;")
    monkeypatch.setitem(trail_schema.MIGRATIONS, "1", broken)
    before = _schema(old)
    with contextlib.closing(sqlite3.connect(old)) as db, pytest.raises(sqlite3.OperationalError, match="nowhere"):
        trail_schema.migrate(db)
    assert _schema(old) == before
    assert verify(old).sound


def test_there_is_a_way_from_every_format_to_this_one() -> None:
    assert list(MIGRATIONS) == [str(number) for number in range(1, int(FORMAT))]
