"""The note beside a trail: a file that fell behind is told, a trail that was taken aside is followed."""

import contextlib
import shutil
import sqlite3
from pathlib import Path

import pytest

from logger.errors import TrailDamaged
from logger.trail.anchor import as_text
from logger.trail.head import note_path, read_note
from logger.trail.read import verify
from logger.trail.schema import meta_of
from logger.trail.trail import Trail

from .appended import append_now


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "home" / "trail.sqlite"
    with Trail.open(found) as trail:
        for n in range(40):
            append_now(trail, {"job": "j1", "n": n})
    return found


def cut(path: Path, after: int) -> None:
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TRIGGER events_last")
        db.execute(f"DELETE FROM events WHERE seq > {after}")
        db.execute(f"DELETE FROM job_events WHERE seq > {after}")


def test_a_copy_without_its_write_ahead_log_is_told(tmp_path: Path) -> None:
    """SQLite opens such a file without a word: what is only in the log is silently absent."""
    path, copy = tmp_path / "live" / "trail.sqlite", tmp_path / "copy" / "trail.sqlite"
    Trail.open(path).close()
    with Trail.open(path) as trail:
        for n in range(40):
            append_now(trail, {"job": "j1", "n": n})
        copy.parent.mkdir()
        shutil.copy(path, copy)
    assert verify(copy).count == 0
    shutil.copy(note_path(path), note_path(copy))
    found = verify(copy)
    assert not found.sound
    assert "it ends at event 0, but had reached event 40: its end is gone" in found.damaged()
    with pytest.raises(TrailDamaged, match="is not the whole trail") as caught:
        Trail.open(copy)
    assert "evenhand trail backup" in caught.value.remedy


def test_a_copy_of_file_and_note_while_a_session_writes_is_told(path: Path, tmp_path: Path) -> None:
    """What is only in the log so far is missing from the copy, and the note says so from the first event on."""
    copy = tmp_path / "copy" / "trail.sqlite"
    copy.parent.mkdir()
    with Trail.open(path) as trail:
        first = append_now(trail, {"job": "j1"}).seq
        append_now(trail, {"job": "j1"})
        shutil.copy(path, copy)
        shutil.copy(note_path(path), note_path(copy))
    assert f"had reached event {first}: its end is gone" in verify(copy).damaged()


def test_a_cut_end_is_told_at_open_and_by_a_check(path: Path) -> None:
    cut(path, 30)
    assert "had reached event 40" in verify(path).damaged()
    with pytest.raises(TrailDamaged, match="ends at event 30"):
        Trail.open(path)


def test_another_trail_in_its_place_is_told(path: Path, tmp_path: Path) -> None:
    with Trail.open(tmp_path / "other" / "trail.sqlite") as other:
        append_now(other, {"n": 1})
    shutil.copy(tmp_path / "other" / "trail.sqlite", path)
    assert "another trail" in verify(path).damaged()
    with pytest.raises(TrailDamaged, match="another trail"):
        Trail.open(path)


def test_an_older_copy_is_taken_when_the_note_is_taken_aside(path: Path) -> None:
    cut(path, 30)
    note_path(path).unlink()
    with Trail.open(path) as trail:
        assert append_now(trail, {"n": 1}).seq == 31
    assert verify(path).sound


def test_a_new_trail_names_the_one_that_was_taken_aside(path: Path) -> None:
    note = read_note(path)
    assert note is not None
    path.rename(path.with_name("damaged.sqlite"))
    for _ in range(2):
        Trail.open(path).close()
        assert verify(path).sound
    with Trail.open(path) as trail:
        append_now(trail, {"n": 1})
    assert verify(path).count == 1
    with contextlib.closing(sqlite3.connect(path)) as db:
        assert meta_of(db, "follows") == as_text(note)


@pytest.mark.parametrize("text", [b"", b"EVENHAND:1:", b"\xff", b"x" * 10_000])
def test_a_note_that_cannot_be_read_is_none(path: Path, text: bytes) -> None:
    note_path(path).write_bytes(text)
    assert read_note(path) is None
    assert verify(path).sound
    with Trail.open(path) as trail:
        append_now(trail, {"n": 1})
    note = read_note(path)
    assert note is not None
    assert note.seq == 41


def test_a_note_that_cannot_be_written_hinders_nobody(path: Path) -> None:
    note_path(path).with_name(note_path(path).name + ".new").mkdir()
    with Trail.open(path) as trail:
        assert append_now(trail, {"n": 1}).seq == 41
    note = read_note(path)
    assert note is not None
    assert note.seq == 40
    assert verify(path).sound
