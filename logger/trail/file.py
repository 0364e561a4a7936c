"""The file of a trail: its connections, the one lock of its one writer, and where it may not lie."""

import contextlib
import errno
import fcntl
import os
import re
import sqlite3
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from logger.errors import BadInput, EvenhandError, NotStored, TrailBusy, TrailDamaged

from .canonical import MAX_BYTES, decode
from .schema import APPLICATION_ID, FORMAT, READABLE, migrate, need_own
from .schema import trail_id_of as trail_id_of  # noqa: PLC0414  (whoever reads a trail asks for its id)

_REMOTE = frozenset(
    ("nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "virtiofs", "afs", "ceph", "glusterfs", "lustre", "vboxsf", "prl_fs")
)
SQLITE_ERRORS = (sqlite3.Error, UnicodeDecodeError)
"""What SQLite raises; its text about a damaged schema may itself be no text."""
_LONGEST = 2 * MAX_BYTES
"""Bytes: no row is longer, and whatever claims to be ends as damage before room is made for it."""
_BY_EFFECTIVE_IDS = os.access in os.supports_effective_ids
_LEAST_ROOM = 64 * 1024
"""Bytes: the shared memory of a write-ahead log takes 32 KiB, even for reading."""
_ROOM_FOR_A_JOB = 100 << 20
_ROOM_TO_WORK = 500 << 20
"""Bytes: a job takes well under one MiB; the rest is for what else fills a disk meanwhile."""
_ON_A_LOCAL_DISK = "Choose a folder on a disk of this machine with --home, and hand on copies instead."


def connect(path: Path) -> sqlite3.Connection:
    """Return the writer's connection, made so that a commit is on the disk; the file is created when missing."""
    connection = sqlite3.connect(path, isolation_level=None, timeout=5)
    try:
        is_new = not _is_trail(connection, path)
        _set(connection, "journal_mode", "WAL", "wal")
        _set(connection, "synchronous", "FULL", 2)
        _set(connection, "recursive_triggers", "ON", 1)  # else INSERT OR REPLACE walks past the delete trigger
        _set(connection, "wal_autocheckpoint", "1000", 1000)
        if sys.platform == "darwin":  # FULL alone leaves the bytes in the drive's cache there
            _set(connection, "fullfsync", "ON", 1)
            _set(connection, "checkpoint_fullfsync", "ON", 1)
        if not is_new:
            migrate(connection)
            catch_up_jobs(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _set(connection: sqlite3.Connection, name: str, value: str, expected: object) -> None:
    """Set a pragma and read it back: SQLite ignores silently what it cannot do."""
    connection.execute(f"PRAGMA {name} = {value}")
    found = connection.execute(f"PRAGMA {name}").fetchone()[0]
    if found != expected:
        raise NotStored(f"This disk or SQLite refuses {name} = {value} (it stays {found}).", _ON_A_LOCAL_DISK)


@contextlib.contextmanager
def reader(path: Path) -> Iterator[sqlite3.Connection]:
    """Yield a read-only connection, also while a writer is at work; BadInput when there is no trail at `path`.

    What SQLite raises inside is told as `trouble` tells it.
    """
    if not is_there(path) or not path.is_file():
        raise BadInput(f"There is no trail at {path}.", "Begin a job first, or name another folder with --home.")
    try:
        with contextlib.closing(_connect_to_read(path.resolve())) as connection:
            if not _is_trail(connection, path):
                raise BadInput(f"{path} holds no trail.", "Name the folder of a trail with --home.")
            yield connection
    except SQLITE_ERRORS as error:
        raise trouble(path, error) from error


def is_there(path: Path) -> bool:
    """Tell whether something lies at `path`; BadInput when it is no possible place, NotStored when none may look."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.ENAMETOOLONG):
            raise BadInput(f"{path} cannot be a trail: {error.strerror}.", "Name a folder with --home DIR.") from error
        raise NotStored(f"{path} cannot be read: {error.strerror}.", "Check the folder and who may read it.") from error
    return True


def _connect_to_read(path: Path) -> sqlite3.Connection:
    how = "immutable=1" if _lies_still(path) else "mode=ro"
    return sqlite3.connect(f"{path.as_uri()}?{how}", uri=True, isolation_level=None, timeout=5)


def _lies_still(path: Path) -> bool:
    """Whether the folder cannot be written and all events are in the one file.

    SQLite would want to make the shared memory of its write-ahead log there, and fail, though nobody writes.
    """
    log = path.with_name(path.name + "-wal")
    return not os.access(path.parent, os.W_OK, effective_ids=_BY_EFFECTIVE_IDS) and not (
        log.exists() and log.stat().st_size
    )


def _is_trail(connection: sqlite3.Connection, path: Path) -> bool:
    """Tell a trail (True) from an empty file (False); BadInput on any other file or another format."""
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _LONGEST)
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if application == 0 and tables == 0:
        return False
    if application != APPLICATION_ID:
        raise BadInput(f"{path} is another program's database, not a trail.", "Name the folder of a trail.")
    need_own(connection)
    versions = [str(row[0]) for row in connection.execute("SELECT value FROM meta WHERE key = 'format'")]
    if len(versions) != 1 or versions[0] not in READABLE:
        found = ", ".join(versions) or "none"
        raise BadInput(f"{path} has trail format {found}; this program knows 1 to {FORMAT}.", "Use a newer program.")
    return True


def trouble(path: Path, error: Exception) -> EvenhandError:
    """Return what to tell when SQLite fails on the trail at `path`: the place, another program, or damage."""
    name = getattr(error, "sqlite_errorname", "")  # what is raised while a text is decoded has none
    if name == "SQLITE_NOTADB":
        return BadInput(f"{path} is not a trail.", "Name the folder of a trail with --home.")
    if name.startswith(("SQLITE_FULL", "SQLITE_IOERR")):
        if name == "SQLITE_FULL" or _room(path) < _LEAST_ROOM:
            return NotStored(f"The disk of {path} is full ({error}).", "Make room, then try again.")
        return NotStored(f"The disk does not let {path} be read or written: {error}.", "Check the disk.")
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return TrailBusy(f"{path} is held by another program ({error}).", "End that program first.")
    if name.startswith(("SQLITE_CANTOPEN", "SQLITE_READONLY")):
        return NotStored(f"{path} cannot be opened: {error}.", "Check the folder and who may write in it.")
    return TrailDamaged(f"{path} cannot be read: {error}.", "Keep the file aside untouched and use a backup.")


def need_room(path: Path) -> None:
    """Raise NotStored where the disk has too little room left to begin a job on."""
    if (room := _room(path)) < _ROOM_FOR_A_JOB:
        raise NotStored(
            f"The disk of {path} has {room >> 20} MiB left: too little to begin a job that must not break off.",
            f"Make room for {_ROOM_FOR_A_JOB >> 20} MiB, or choose another disk with --home.",
        )


def little_room(path: Path) -> str:
    """Say that the disk will be full before long; empty while there is room."""
    room = _room(path)
    return f"The disk of {path} has {room >> 20} MiB left: make room soon." if room < _ROOM_TO_WORK else ""


def _room(path: Path) -> int:
    """Bytes that can still be written beside `path`."""
    disk = os.statvfs(path.parent)
    return disk.f_bavail * disk.f_frsize


def catch_up_jobs(connection: sqlite3.Connection) -> None:
    """Rebuild the cache of which event belongs to which job, when it is behind the events.

    TrailDamaged where an event cannot be read.
    """
    heads = "SELECT (SELECT max(seq) FROM events) IS (SELECT max(seq) FROM job_events)"
    if connection.execute(heads).fetchone()[0]:
        return
    connection.execute("BEGIN IMMEDIATE")
    connection.execute("DELETE FROM job_events")
    for seq, data in connection.execute("SELECT seq, bytes FROM events"):
        try:
            job = job_of(decode(data if isinstance(data, bytes) else b""))
        except BadInput as error:
            raise TrailDamaged(f"Event {seq}: {error.message}", "Keep the file aside and use a backup.") from error
        connection.execute("INSERT INTO job_events VALUES (?, ?)", (seq, job))
    connection.execute("COMMIT")


def job_of(record: Mapping[str, object]) -> str:
    """Return the job a record belongs to; empty when it belongs to none."""
    job = record.get("job")
    return job if isinstance(job, str) else ""


class WriterLock:
    """The operating system's lock that makes one process the writer; it ends with the process, however that dies."""

    def __init__(self, trail: Path) -> None:
        path = trail.with_name(trail.name + ".lock")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        except OSError as error:
            raise _cannot_lock(path, error) from error
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            holder = os.read(self._file, 20).decode("ascii", "replace").strip()
            os.close(self._file)
            raise TrailBusy(
                f"{trail} is being written by process {holder or 'unknown'}.",
                "End that session first; until then its jobs can be read all the same, as with: "
                "evenhand replay last --plain",
            ) from None
        try:
            os.truncate(self._file, 0)
            os.write(self._file, f"{os.getpid()}\n".encode())
        except OSError as error:
            os.close(self._file)
            raise _cannot_lock(path, error) from error

    def release(self) -> None:
        """Let the next writer in; the file stays, since removing it would let two writers hold two locks."""
        os.truncate(self._file, 0)
        os.close(self._file)


def _cannot_lock(path: Path, error: OSError) -> NotStored:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return NotStored(f"The disk of {path} is full.", "Make room, then try again.")
    return NotStored(f"{path} cannot be written: {error.strerror}.", "Check the folder and who may write in it.")


def mount_table() -> str:
    """Return the kernel's table of mounts (proc(5), mountinfo), or nothing where there is none."""
    table = Path("/proc/self/mountinfo")
    return table.read_text(errors="surrogateescape") if table.exists() else ""


def refuse_remote(path: Path, mounts: str) -> None:
    """Raise NotStored when `path` lies on a network or FUSE mount: locks and flushes do not hold there."""
    best = ("", "")
    for line in mounts.splitlines():
        left, _, right = line.partition(" - ")
        point = re.sub(r"\\([0-7]{3})", lambda octal: chr(int(octal[1], 8)), left.split(" ")[4])
        if path.is_relative_to(point) and len(point) >= len(best[0]):
            best = (point, right.split(" ")[0])
    point, kind = best
    # fuse-overlayfs is the local root of some containers: both its layers lie on a disk of this machine
    if kind in _REMOTE or (kind.startswith("fuse") and kind != "fuse.fuse-overlayfs"):
        raise NotStored(f"{path} lies on a {kind} mount ({point}), where a trail can be damaged.", _ON_A_LOCAL_DISK)
