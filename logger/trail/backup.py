"""A copy of a trail: one file, whole, checked before and after; a good copy is never replaced by a worse one."""

import contextlib
import os
import secrets
import sqlite3
import stat
from dataclasses import dataclass
from pathlib import Path

from logger.errors import BadInput, NotStored, TrailDamaged

from .anchor import Anchor
from .file import SQLITE_ERRORS, is_there, reader, trouble
from .head import behind
from .read import Verified, need_sound, verify
from .schema import trail_id_of

_AFTER = ("", "-wal", "-shm", "-journal", ".lock", ".head")
"""What SQLite and the writer keep beside a trail."""


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy that was made and read back."""

    path: Path
    found: Verified


def backup(source: Path, out: Path) -> Copied:
    """Copy the trail at `source` to `out`, also while a job runs; what lies at `out` is replaced only by a later whole.

    TrailDamaged when the trail is not sound, or lacks what the copy at `out` still holds; BadInput where `out` is no
    place for a copy; NotStored when it cannot be written. In each case what lies at `out` stays as it is.
    """
    need_sound(source)
    _refuse(source, out)
    if is_there(out):
        _refuse_replacing(source, out)
    draft = out.with_name(f".{out.name[:50]}.{secrets.token_hex(4)}")  # 50 letters may be 200 octets, and 255 go
    try:
        _copy(source, draft, out)
        found = _read_back(draft, out)
        _put_in_place(draft, out)
    finally:
        for ending in ("", "-journal", "-wal", "-shm"):
            with contextlib.suppress(OSError):
                draft.with_name(draft.name + ending).unlink(missing_ok=True)
    return Copied(out, found)


def quick_check(path: Path) -> str:
    """Return the first thing SQLite finds wrong with a file (its `quick_check`); empty when it finds nothing."""
    with reader(path) as connection:
        (found,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    return "" if found == "ok" else str(found)


def _refuse(source: Path, out: Path) -> None:
    own = {os.path.realpath(source.with_name(source.name + ending)) for ending in _AFTER}
    if os.path.realpath(out) in own:
        raise BadInput(f"{out} belongs to the trail itself.", "Name another file with --out.")
    if _is_folder(out, out):
        raise BadInput(f"{out} is a folder.", "Name a file with --out.")
    if not _is_folder(out.parent, out):
        raise BadInput(f"There is no folder {out.parent}.", "Make it, or name another file with --out.")
    if wrong := quick_check(source):
        raise TrailDamaged(f"{source} is damaged ({wrong}); no copy was made.", "Keep the file and all copies.")


def _is_folder(path: Path, out: Path) -> bool:
    """Tell whether `path` is a folder; BadInput where a name is too long, goes round, or none may look."""
    try:
        return stat.S_ISDIR(path.stat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError as error:
        raise BadInput(f"{out} cannot be written: {error.strerror}.", "Name another file with --out.") from error


def _refuse_replacing(source: Path, out: Path) -> None:
    """Raise unless what lies at `out` is a sound, earlier state of this very trail."""
    try:
        there = verify(out)
    except (BadInput, TrailDamaged) as error:
        raise BadInput(f"What lies at {out} is no whole copy of a trail.", "Name another file with --out.") from error
    if not there.sound:
        raise TrailDamaged(f"The copy at {out} is damaged, and is kept as it is.", "Name another file with --out.")
    with reader(source) as connection:
        head = Anchor(there.head_seq, bytes.fromhex(there.head_hash), there.trail)
        gone = behind(connection, trail_id_of(connection), head)
    if gone:
        raise TrailDamaged(
            f"The copy at {out} is kept: held against it, the trail is not whole ({gone}).",
            "Keep both files, and find out which is the true one; copy to another file with --out.",
        )


def _copy(source: Path, draft: Path, out: Path) -> None:
    try:
        with reader(source) as connection, contextlib.closing(sqlite3.connect(draft, isolation_level=None)) as copy:
            connection.backup(copy)  # in one step: one moment of the trail, whatever its writer does
            copy.execute("PRAGMA journal_mode = DELETE")  # so that it can be read where nothing may be written
    except SQLITE_ERRORS as error:
        raise trouble(out, error) from error


def _read_back(draft: Path, out: Path) -> Verified:
    found = verify(draft)
    if not found.sound or quick_check(draft):
        raise NotStored(f"The copy for {out} does not read back as it was written.", "Check that disk; use another.")
    return found


def _put_in_place(draft: Path, out: Path) -> None:
    try:
        for path in (draft, draft.parent):
            opened = os.open(path, os.O_RDONLY)
            try:
                os.fsync(opened)
            finally:
                os.close(opened)
            if path is draft:
                draft.replace(out)
    except OSError as error:
        raise NotStored(f"{out} cannot be written: {error.strerror}.", "Name another file with --out.") from error
