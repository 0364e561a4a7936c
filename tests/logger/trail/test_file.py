"""Which files and places a trail accepts, and what it says of the others."""

import contextlib
import os
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from logger.errors import BadInput, EvenhandError, NotStored, TrailBusy, TrailDamaged
from logger.trail.file import WriterLock, connect, is_there, refuse_remote, trouble
from logger.trail.read import read, verify
from logger.trail.trail import Trail

from .appended import append_now

MOUNTS = r"""22 27 0:21 / /proc rw - proc proc rw
27 1 254:0 / / rw,relatime shared:1 - ext4 /dev/vda rw
30 27 0:40 / /mnt/shop rw,relatime shared:7 - nfs4 box:/shop rw
31 27 0:41 / /mnt/my\040share rw - cifs //box/share rw
32 27 0:42 / /home/a/remote rw - fuse.sshfs a@box:/ rw
33 27 0:43 / /host rw - virtiofs host rw
34 30 0:44 / /mnt/shop/local rw - ext4 /dev/vdb rw
35 27 0:45 / /layers rw - fuse.fuse-overlayfs fuse-overlayfs rw
36 27 0:46 / /mnt/c rw - 9p C: rw"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/mnt/shop/trail.sqlite", "nfs4"),
        ("/mnt/my share/evenhand/trail.sqlite", "cifs"),
        ("/home/a/remote/trail.sqlite", "fuse.sshfs"),
        ("/host/trail.sqlite", "virtiofs"),
        ("/mnt/c/trail.sqlite", "9p"),
    ],
)
def test_a_network_or_fuse_mount_is_refused_with_the_reason(path: str, kind: str) -> None:
    with pytest.raises(NotStored, match=f"{kind} mount") as caught:
        refuse_remote(Path(path), MOUNTS)
    with pytest.raises(NotStored):
        refuse_remote(Path(path), "\n".join(reversed(MOUNTS.splitlines())))
    assert "disk of this machine" in caught.value.remedy


@pytest.mark.parametrize(
    "path", ["/home/a/trail.sqlite", "/mnt/shopping/trail.sqlite", "/mnt/shop/local/t", "/layers/trail.sqlite"]
)
def test_a_local_disk_is_taken_whatever_the_order_of_mounts(path: str) -> None:
    refuse_remote(Path(path), MOUNTS)
    refuse_remote(Path(path), "\n".join(reversed(MOUNTS.splitlines())))


def test_a_refused_mount_leaves_no_file(tmp_path: Path) -> None:
    with pytest.raises(NotStored, match="nfs4"):
        Trail.open(tmp_path / "trail.sqlite", mounts=f"30 27 0:40 / {tmp_path} rw - nfs4 box:/ rw")
    assert list(tmp_path.iterdir()) == []


def test_the_writer_is_set_to_lose_nothing(tmp_path: Path) -> None:
    with contextlib.closing(connect(tmp_path / "trail.sqlite")) as connection:
        names = ("journal_mode", "synchronous", "recursive_triggers", "wal_autocheckpoint")
        found = [connection.execute(f"PRAGMA {name}").fetchone()[0] for name in names]
    assert found == ["wal", 2, 1, 1000]


def _other_database(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE meta(key, value)")
        other.commit()


def _other_format(path: Path) -> None:
    Trail.open(path).close()
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("DROP TRIGGER meta_stays")
        other.execute("UPDATE meta SET value = '3' WHERE key = 'format'")


def _without_id(path: Path) -> None:
    Trail.open(path).close()
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("DROP TRIGGER meta_lasts")
        other.execute("DELETE FROM meta WHERE key = 'trail'")


@pytest.mark.parametrize(
    ("make", "error", "says"),
    [
        (lambda path: path.write_text("a letter, long enough to be no header " * 9), BadInput, "is not a trail"),
        (_other_database, BadInput, "another program's database"),
        (_other_format, BadInput, "trail format 3; this program knows 1 to 2"),
        (_without_id, TrailDamaged, "lost its id"),
    ],
)
def test_what_is_no_trail_of_ours_is_refused_and_left_alone(
    tmp_path: Path, make: object, error: type[EvenhandError], says: str
) -> None:
    path = tmp_path / "trail.sqlite"
    assert callable(make)
    make(path)
    before = path.read_bytes()
    with pytest.raises(error, match=says):
        Trail.open(path)
    with pytest.raises(error, match=says):
        verify(path)
    assert path.read_bytes() == before


def test_reading_where_nothing_is_says_so(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="There is no trail at"):
        list(read(tmp_path / "trail.sqlite"))
    (tmp_path / "trail.sqlite").touch()
    with pytest.raises(BadInput, match="holds no trail"):
        verify(tmp_path / "trail.sqlite")


def test_a_file_made_but_not_yet_filled_becomes_a_trail(tmp_path: Path) -> None:
    """A process killed between making the file and making its tables leaves this."""
    connect(tmp_path / "trail.sqlite").close()
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        assert append_now(trail, {"v": 1}).seq == 1


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(NotStored, match="cannot be written"):
        Trail.open(tmp_path / "file" / "trail.sqlite")


def test_the_lock_names_who_holds_it_and_is_free_afterwards(tmp_path: Path) -> None:
    lock = WriterLock(tmp_path / "trail.sqlite")
    with pytest.raises(TrailBusy, match=r"by process \d+"):
        WriterLock(tmp_path / "trail.sqlite")
    lock.release()
    WriterLock(tmp_path / "trail.sqlite").release()


def test_the_job_index_is_a_cache_that_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    with Trail.open(path) as trail:
        for n in range(6):
            append_now(trail, {"job": f"job-{n % 2}", "n": n})
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("DELETE FROM job_events")
    Trail.open(path).close()
    assert [event.seq for event in read(path, "job-1")] == [2, 4, 6]
    assert verify(path).sound


@pytest.mark.parametrize("name", ["loop", "loop/trail.sqlite", "n" * 300, "n" * 300 + "/trail.sqlite"])
def test_a_place_that_cannot_be_is_bad_input(tmp_path: Path, name: str) -> None:
    (tmp_path / "loop").symlink_to("loop")
    for use in (Trail.open, verify, is_there):
        with pytest.raises(BadInput, match="cannot be a trail"):
            use(tmp_path / name)


def _error(name: str) -> sqlite3.OperationalError:
    error = sqlite3.OperationalError("as SQLite says it")
    error.sqlite_errorname = name
    return error


@pytest.mark.parametrize(
    ("error", "room", "expected", "says"),
    [
        (_error("SQLITE_FULL"), 1 << 30, NotStored, "The disk of .* is full"),
        (_error("SQLITE_IOERR_SHMSIZE"), 0, NotStored, "The disk of .* is full"),
        (_error("SQLITE_IOERR_READ"), 1 << 30, NotStored, "does not let"),
        (_error("SQLITE_READONLY_DIRECTORY"), 0, NotStored, "cannot be opened"),
        (_error("SQLITE_BUSY_SNAPSHOT"), 0, TrailBusy, "held by another"),
        (_error("SQLITE_CORRUPT"), 0, TrailDamaged, "cannot be read"),
        (sqlite3.OperationalError("Could not decode"), 0, TrailDamaged, "cannot be read"),
        (UnicodeDecodeError("utf-8", b"\xff", 0, 1, "invalid"), 0, TrailDamaged, "cannot be read"),
    ],
)
def test_a_full_or_failing_disk_is_not_told_as_damage(
    monkeypatch: pytest.MonkeyPatch, error: Exception, room: int, expected: type[EvenhandError], says: str
) -> None:
    monkeypatch.setattr("logger.trail.file._room", lambda _: room)
    told = trouble(Path("trail.sqlite"), error)
    assert type(told) is expected
    with pytest.raises(expected, match=says):
        raise told


def test_a_disk_too_small_for_a_new_trail_is_full(tmp_path: Path) -> None:
    def tiny(path: Path) -> sqlite3.Connection:
        connection = connect(path)
        connection.execute("PRAGMA max_page_count = 2")
        return connection

    with pytest.raises(NotStored, match="is full"):
        Trail.open(tmp_path / "trail.sqlite", connect=tiny)
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        assert append_now(trail, {"n": 1}).seq == 1


def test_a_schema_that_is_no_text_is_damage(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    Trail.open(path).close()
    data = path.read_bytes()
    assert b"CREATE TABLE meta" in data
    for place in range(data.index(b"CREATE TABLE meta"), data.index(b"CREATE TABLE meta") + 17):
        path.write_bytes(data[:place] + b"\xff" + data[place + 1 :])
        for use in (verify, Trail.open):
            with pytest.raises(TrailDamaged):
                use(path)


def test_a_schema_that_loses_the_numbers_is_damage(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    with Trail.open(path) as trail:
        for n in range(40):
            append_now(trail, {"n": n})
    data = path.read_bytes()
    start = data.index(b"seq INTEGER PRIMARY KEY, prev") + 4
    for place in range(start, start + len("INTEGER")):
        path.write_bytes(data[:place] + b"_" + data[place + 1 :])
        for use in (verify, Trail.open):
            with pytest.raises(TrailDamaged, match="the table 'events' as this program never made it"):
                use(path)


@pytest.mark.parametrize("job_index", [True, False])
def test_a_hash_that_is_no_blob_is_damage_at_open(tmp_path: Path, job_index: bool) -> None:
    path = tmp_path / "trail.sqlite"
    with Trail.open(path) as trail:
        for n in range(20):
            append_now(trail, {"n": n})
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("DROP TRIGGER events_stay")
        other.execute("UPDATE events SET hash = 7, bytes = 7 WHERE seq = 4")
        if not job_index:
            other.execute("DELETE FROM job_events")
    with pytest.raises(TrailDamaged):
        Trail.open(path)


@pytest.fixture
def shelved() -> Iterator[Path]:
    """A sound trail in a folder that this process cannot write."""
    with tempfile.TemporaryDirectory() as folder:  # not tmp_path: another user must get in
        path = Path(folder) / "trail.sqlite"
        with Trail.open(path) as trail:
            append_now(trail, {"job": "a", "n": 1})
        Path(folder).chmod(0o555)
        me = os.geteuid()
        os.seteuid(65534 if me == 0 else me)  # what root may not write is on no common disk
        yield path
        os.seteuid(me)
        Path(folder).chmod(0o755)


def test_a_trail_in_a_folder_that_cannot_be_written_is_read(shelved: Path) -> None:
    assert [path.name for path in shelved.parent.iterdir() if "-" in path.name] == []
    assert verify(shelved).sound
    assert [event.seq for event in read(shelved, "a")] == [1]
    with pytest.raises(NotStored, match="cannot be written"):
        Trail.open(shelved)
