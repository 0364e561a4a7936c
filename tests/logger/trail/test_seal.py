"""Signatures over the head: made with the event that ends a job, and a cut or a rewrite shows against them."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from logger.trail.anchor import Anchor
from logger.trail.head import note_path, read_note
from logger.trail.keys import BenchKey, bench_key, holds
from logger.trail.read import read, verify
from logger.trail.seal import Seal, check_signatures, message, signed
from logger.trail.trail import Trail

from .appended import append_now
from .forger import END, alter, write_anew


@pytest.fixture
def path(tmp_path: Path, key: BenchKey) -> Path:
    found = tmp_path / "trail.sqlite"
    with Trail.open(found, seal=lambda: Seal(key)) as trail:
        for n in range(30):
            append_now(trail, {"job": "j1", "n": n} if n % 10 else END)
    return found


def test_each_end_of_a_job_is_signed_by_the_key(path: Path, key: BenchKey) -> None:
    found = check_signatures(path)
    assert (found.count, found.last, found.keys, found.wrong) == (3, 21, (key.public,), "")
    with closing(sqlite3.connect(path)) as db:
        rows = db.execute("SELECT seq, hash, key, signature FROM signatures").fetchall()
    events = {event.seq: event.hash for event in read(path)}
    assert [row[0] for row in rows] == [1, 11, 21]
    for seq, own, public, signature in rows:
        assert own == events[seq]
        assert holds(public, message(verify(path).trail, seq, own), signature)


def test_the_chain_is_the_same_with_and_without_a_key(path: Path) -> None:
    assert verify(path).count == 30


def test_a_head_is_signed_for_a_record(key: BenchKey) -> None:
    head = Anchor(41, b"\x07" * 32, "ab" * 16)
    found = signed(head, key)
    assert (found.seq, found.hash, found.trail, found.key) == (41, head.hash, head.trail, key.public)
    assert holds(found.key, message(head.trail, 41, head.hash), found.signature)


def test_a_long_job_is_signed_on_the_way(tmp_path: Path, key: BenchKey) -> None:
    with Trail.open(tmp_path / "long" / "trail.sqlite", seal=lambda: Seal(key)) as trail:
        for n in range(600):
            append_now(trail, {"job": "j1", "n": n})
    found = check_signatures(tmp_path / "long" / "trail.sqlite")
    assert (found.count, found.last) == (2, 512)


def test_a_cut_end_that_leaves_the_signatures_shows(path: Path) -> None:
    note_path(path).unlink()
    alter(path, "DELETE FROM events WHERE seq > 15", "DELETE FROM job_events WHERE seq > 15")
    assert verify(path).sound
    assert check_signatures(path).wrong == "event 21 was signed and is gone: the end of the trail was cut off"


def test_a_rewrite_that_leaves_the_signatures_shows(path: Path) -> None:
    note_path(path).unlink()
    write_anew(path, verify(path).trail, 30)
    assert verify(path).sound
    assert "written anew" in check_signatures(path).wrong


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("signature = zeroblob(64)", "does not hold"),
        ("key = zeroblob(32)", "does not hold"),
        ("hash = zeroblob(32)", "does not hold"),
        ("signature = 'x'", "is none"),
    ],
)
def test_a_changed_signature_shows(path: Path, change: str, says: str) -> None:
    alter(path, f"UPDATE signatures SET {change} WHERE seq = 11")
    found = check_signatures(path)
    assert (found.count, found.wrong) == (1, f"the signature over event 11 {says}")


def test_the_note_beside_the_file_tells_what_was_reached(path: Path) -> None:
    note = read_note(path)
    assert note is not None
    found = verify(path)
    assert (note.trail, note.seq, note.hash.hex()) == (found.trail, 30, found.head_hash)


def test_what_cannot_be_signed_is_not_stored_half(tmp_path: Path) -> None:
    class Broken(Seal):
        def sign(self, trail: str, seq: int, digest: bytes) -> tuple[bytes, bytes]:
            raise RuntimeError("no key any more")

    path = tmp_path / "trail.sqlite"
    with Trail.open(path, seal=lambda: Broken(bench_key(tmp_path / "bench.key"))) as trail:
        append_now(trail, {"job": "j1"})
        with pytest.raises(Exception, match="NOT STORED"):
            append_now(trail, END)
    assert verify(path).count == 1
