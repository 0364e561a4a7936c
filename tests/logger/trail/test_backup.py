"""A copy is one file, whole, read back; and a good one is never replaced by a worse one."""

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from logger.errors import BadInput, EvenhandError, NotStored, TrailDamaged
from logger.trail import backup as backup_module
from logger.trail.backup import backup
from logger.trail.head import note_path
from logger.trail.read import verify
from logger.trail.trail import Trail

from .appended import append_now
from .forger import alter, spoil_root_page, write_anew
from .verifier import holds


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "home" / "trail.sqlite"
    with Trail.open(found) as trail:
        add(trail, 30)
    return found


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "copies" / "depot.sqlite"


@pytest.fixture(autouse=True)
def copies(out: Path) -> Path:
    out.parent.mkdir()
    return out.parent


def add(trail: Trail, count: int) -> None:
    for n in range(count):
        append_now(trail, {"job": "j1", "n": n})


def test_a_copy_of_a_trail_that_is_being_written_is_whole(path: Path, out: Path) -> None:
    with Trail.open(path) as trail:
        add(trail, 10)  # they lie in the write-ahead log alone
        made = backup(path, out)
        add(trail, 10)
    assert (made.found.count, verify(out).count, verify(path).count) == (40, 40, 50)
    assert holds(out)
    assert [each.name for each in out.parent.iterdir()] == ["depot.sqlite"]


def test_it_is_read_where_nothing_may_be_written(path: Path, out: Path) -> None:
    backup(path, out)
    out.parent.chmod(0o555)
    with contextlib.closing(sqlite3.connect(f"{out.as_uri()}?immutable=1", uri=True)) as db:
        assert db.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert verify(out).count == 30
    assert [each.name for each in out.parent.iterdir()] == ["depot.sqlite"]
    out.parent.chmod(0o755)


def test_a_later_state_replaces_an_earlier_one(path: Path, out: Path) -> None:
    backup(path, out)
    with Trail.open(path) as trail:
        add(trail, 5)
    assert backup(path, out).found.count == 35
    assert backup(path, out).found.count == 35


def test_a_copy_can_be_put_back(path: Path, out: Path) -> None:
    backup(path, out)
    shutil.copy(out, path)
    with Trail.open(path) as trail:
        add(trail, 1)
    assert verify(path).count == 31


def _cut(path: Path) -> None:
    alter(path, "DELETE FROM events WHERE seq > 20", "DELETE FROM job_events WHERE seq > 20")
    note_path(path).unlink()


def _anew(path: Path) -> None:
    write_anew(path, verify(path).trail, 40)
    note_path(path).unlink()


def _flip(path: Path) -> None:
    alter(path, "UPDATE events SET bytes = zeroblob(9) WHERE seq = 7")


def _page(path: Path) -> None:
    spoil_root_page(path, "job_events_by_job")


def _other(path: Path) -> None:
    path.unlink()
    note_path(path).unlink()
    with Trail.open(path) as trail:
        add(trail, 50)


@pytest.mark.parametrize(
    ("damage", "says"),
    [
        (_cut, "ends at event 20, but had reached event 30"),
        (_anew, "event 30 is not the one noted"),
        (_flip, "Event 7"),
        (_page, "is damaged"),
        (_other, "another trail"),
    ],
)
def test_a_good_copy_outlives_whatever_becomes_of_the_trail(
    path: Path, out: Path, damage: Callable[[Path], None], says: str
) -> None:
    backup(path, out)
    before = out.read_bytes()
    damage(path)
    with pytest.raises(TrailDamaged, match=says):
        backup(path, out)
    assert out.read_bytes() == before
    assert [each.name for each in out.parent.iterdir()] == ["depot.sqlite"]


def test_a_damaged_trail_gives_no_copy(path: Path, out: Path) -> None:
    _flip(path)
    with pytest.raises(TrailDamaged, match="Event 7"):
        backup(path, out)
    assert list(out.parent.iterdir()) == []


def test_a_damaged_copy_is_kept_for_who_repairs(path: Path, out: Path) -> None:
    backup(path, out)
    _flip(out)
    before = out.read_bytes()
    with pytest.raises(TrailDamaged, match="is damaged, and is kept"):
        backup(path, out)
    assert out.read_bytes() == before


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ("copies", "is a folder"),
        ("nowhere/depot.sqlite", "There is no folder"),
        ("home/trail.sqlite", "belongs to the trail itself"),
        ("home/trail.sqlite-wal", "belongs to the trail itself"),
        ("home/../home/trail.sqlite.head", "belongs to the trail itself"),
        ("letter.txt", "no whole copy"),
        ("loop", "cannot be written: Too many levels of symbolic links"),
        ("9" * 300, "cannot be written: File name too long"),
        ("9" * 300 + "/depot.sqlite", "cannot be written: File name too long"),
    ],
    ids=lambda each: each[:40],
)
def test_what_is_no_place_for_a_copy(path: Path, tmp_path: Path, place: str, says: str) -> None:
    (tmp_path / "letter.txt").write_text("Dear customer, " * 100)
    (tmp_path / "loop").symlink_to("loop")
    with pytest.raises(BadInput, match=says):
        backup(path, tmp_path / place)
    assert (tmp_path / "letter.txt").read_text() == "Dear customer, " * 100
    assert verify(path).count == 30


def test_a_folder_that_may_not_be_entered_is_told(path: Path, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.stat

    def closed(self: Path, *, follow_symlinks: bool = True) -> os.stat_result:
        if self == out:
            raise PermissionError(13, "Permission denied")
        return real(self, follow_symlinks=follow_symlinks)

    monkeypatch.setattr(Path, "stat", closed)
    with pytest.raises(BadInput, match=r"depot.* cannot be written: Permission denied"):
        backup(path, out)


def test_a_copy_may_have_the_longest_of_names(path: Path, tmp_path: Path) -> None:
    out = tmp_path / ("é" * 124 + ".sqlite")  # 255 octets
    assert backup(path, out).found.count == 30
    assert list(tmp_path.glob(".é*")) == []


def test_where_no_trail_is_none_is_copied(tmp_path: Path, out: Path) -> None:
    with pytest.raises(BadInput, match="no trail"):
        backup(tmp_path / "nothing.sqlite", out)


def test_a_disk_that_takes_no_copy_is_told(path: Path, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NotStored, match="No space left"):
        backup(path, out)
    assert list(out.parent.iterdir()) == []


def test_a_copy_that_reads_back_wrong_goes(path: Path, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = backup_module._copy

    def bad(source: Path, draft: Path, out: Path) -> None:
        real(source, draft, out)
        _flip(draft)

    monkeypatch.setattr(backup_module, "_copy", bad)
    with pytest.raises(EvenhandError, match="does not read back"):
        backup(path, out)
    assert list(out.parent.iterdir()) == []
