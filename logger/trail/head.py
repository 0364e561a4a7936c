"""What the writer keeps of a head beside the chain: a signature in the trail, and a note of it next to the file.

The note (`trail.sqlite.head`, one line in the form of `anchor.as_text`) tells later that the file fell behind: it was
copied without its write-ahead log, put back from an older copy, or cut. It is no proof against a person, who can change
both; it is written after the event is on the disk, so it is never ahead of a trail that is whole.
"""

import contextlib
import os
import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import Protocol

from logger.errors import BadInput

from .anchor import Anchor, as_text, from_text
from .schema import meta_of


class Sealing(Protocol):
    """What the writer of a trail asks of a seal."""

    def wants(self, seq: int, record: Mapping[str, object]) -> bool:
        """Tell whether the head is to be signed after this event."""
        ...

    def sign(self, trail: str, seq: int, digest: bytes) -> tuple[bytes, bytes]:
        """Return the public key and the signature over a head."""
        ...


def put_signature(connection: sqlite3.Connection, seal: Sealing, trail: str, seq: int, digest: bytes) -> None:
    """Sign a head, within the transaction that stores its event."""
    key, signature = seal.sign(trail, seq, digest)
    connection.execute("INSERT OR IGNORE INTO signatures VALUES (?, ?, ?, ?)", (seq, digest, key, signature))


def note_path(trail: Path) -> Path:
    """Return where the note of a trail lies."""
    return trail.with_name(trail.name + ".head")


def read_note(trail: Path) -> Anchor | None:
    """Return the head noted beside a trail; None when there is no note that can be read."""
    try:
        with note_path(trail).open("rb") as file:
            return from_text(file.read(256).decode("ascii"))
    except (OSError, UnicodeDecodeError, BadInput):
        return None


def write_note(trail: Path, trail_id: str, seq: int, digest: bytes) -> None:
    """Note a head that is on the disk. Where it cannot be written, the older note stays: it shows less, never wrong."""
    path = note_path(trail)
    draft = path.with_name(path.name + ".new")
    try:
        with draft.open("w", encoding="ascii") as file:
            file.write(as_text(Anchor(seq, digest, trail_id)) + "\n")
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    except OSError:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def behind(connection: sqlite3.Connection, trail_id: str, anchor: Anchor) -> str:
    """Say in what a trail falls behind a head that was noted of it, or contradicts it; empty when it holds it."""
    if anchor.trail and anchor.trail != trail_id:
        return f"this is another trail ({trail_id}) than the one noted ({anchor.trail})"
    if anchor.seq == 0:
        return ""
    row = connection.execute("SELECT hash FROM events WHERE seq = ?", (anchor.seq,)).fetchone()
    if row is None:
        (last,) = connection.execute("SELECT ifnull(max(seq), 0) FROM events").fetchone()
        return f"it ends at event {last}, but had reached event {anchor.seq}: its end is gone"
    if not isinstance(row[0], bytes) or row[0][: len(anchor.hash)] != anchor.hash:
        return f"event {anchor.seq} is not the one noted: the trail was written anew, at that event or before it"
    return ""


def lost(connection: sqlite3.Connection, trail_id: str, note: Anchor | None) -> str:
    """Say what the note beside a trail shows to be gone; a trail that follows the one noted has lost nothing."""
    if note is None or meta_of(connection, "follows") == as_text(note):
        return ""
    return behind(connection, trail_id, note)
