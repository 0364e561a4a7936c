"""The tables of a trail, their version, and the way from each older version to this one.

Format 2, an SQLite file with the application id "EvHd":

- `meta(key, value)`: `format` ("2"), `trail` (the trail's id, 32 hex digits), `created` (RFC 3339, UTC), and, where an
  earlier trail lay in the same place, `follows` (its last known head, in the form of `anchor.as_text`).
- `events(seq, prev, hash, bytes)`: seq from 1 without gaps; `bytes` is canonical JSON that repeats `seq`;
  `hash` = SHA-256("evenhand-trail-1\\n" || prev || bytes); the first `prev` = SHA-256("evenhand-trail-1\\n" || id).
- `signatures(seq, hash, key, signature)`: Ed25519 over a head of the chain (`seal.message`); outside the chain.
- `job_events(seq, job)`: which job each event belongs to; a cache of the events, rebuilt when it is behind.

Format 1 had no `signatures`; it is read as it is, and becomes format 2 when it is next opened for writing. The chain is
never touched by a change of format: its own version is in the domain tag.
"""

import re
import secrets
import sqlite3

from logger.errors import TrailDamaged

APPLICATION_ID = int.from_bytes(b"EvHd", "big")
FORMAT = "2"

_SIGNATURES = """
CREATE TABLE signatures(
    seq INTEGER PRIMARY KEY, hash BLOB NOT NULL, key BLOB NOT NULL, signature BLOB NOT NULL);
CREATE TRIGGER signatures_stay BEFORE UPDATE ON signatures BEGIN SELECT RAISE(ABORT, 'a signature stays'); END;
CREATE TRIGGER signatures_last BEFORE DELETE ON signatures BEGIN SELECT RAISE(ABORT, 'a signature stays'); END;
"""
_GUARD_META = (
    "CREATE TRIGGER meta_stays BEFORE UPDATE ON meta BEGIN SELECT RAISE(ABORT, 'a trail keeps its identity'); END;"
)
_SCHEMA = f"""
BEGIN IMMEDIATE;
PRAGMA application_id = {APPLICATION_ID};
CREATE TABLE meta(key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE events(
    seq INTEGER PRIMARY KEY, prev BLOB NOT NULL UNIQUE, hash BLOB NOT NULL, bytes BLOB NOT NULL);
CREATE TABLE job_events(seq INTEGER PRIMARY KEY, job TEXT NOT NULL);
CREATE INDEX job_events_by_job ON job_events(job);
CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;
CREATE TRIGGER events_last BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END;
{_GUARD_META}
CREATE TRIGGER meta_lasts BEFORE DELETE ON meta BEGIN SELECT RAISE(ABORT, 'a trail keeps its identity'); END;
{_SIGNATURES}
"""
MIGRATIONS = {
    "1": f"""
BEGIN IMMEDIATE;
{_SIGNATURES}
DROP TRIGGER meta_stays;
UPDATE meta SET value = '2' WHERE key = 'format';
{_GUARD_META}
COMMIT;
"""
}
"""From each older format, the statements that lead to the next, each in one transaction."""
READABLE = (*MIGRATIONS, FORMAT)


def _plain(statement: str) -> str:
    """Return a statement as it is compared, whatever its blanks."""
    return " ".join(statement.rstrip(";").split())


def create(connection: sqlite3.Connection, created: str, follows: str = "") -> str:
    """Make the tables when the file is new, in one transaction; return the trail's id."""
    if connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0:
        trail_id = secrets.token_hex(16)
        connection.executescript(_SCHEMA)
        rows = [("format", FORMAT), ("trail", trail_id), ("created", created), ("follows", follows)]
        connection.executemany("INSERT INTO meta VALUES (?, ?)", [row for row in rows if row[1]])
        connection.execute("COMMIT")
    return trail_id_of(connection)


_MADE = re.compile(r"CREATE (TABLE|INDEX|TRIGGER) (\w+).*?(?:;$|END;)", re.DOTALL | re.MULTILINE)
_OWN = {(found[1].lower(), found[2]): _plain(found[0]) for found in _MADE.finditer(_SCHEMA)}
"""What SQLite keeps of each statement that made something of a trail: kind and name -> its text."""


def need_own(connection: sqlite3.Connection) -> None:
    """Raise TrailDamaged where a database holds what this program never made in it.

    A view or a computed column in the place of a table could answer without end, or with gigabytes.
    """
    for kind, name, made in connection.execute("SELECT type, name, sql FROM sqlite_master"):
        if made is None and kind == "index":  # SQLite's own, of a UNIQUE or a PRIMARY KEY
            continue
        if _OWN.get((str(kind), str(name))) != _plain(str(made)):
            raise TrailDamaged(
                f"The trail holds the {str(kind)[:16]} {str(name)[:32]!r} as this program never made it.",
                "Keep the file aside untouched and use a backup.",
            )


def migrate(connection: sqlite3.Connection) -> None:
    """Bring an older format up to this one, step by step; nothing changes when one fails."""
    while (found := meta_of(connection, "format")) in MIGRATIONS:
        try:
            connection.executescript(MIGRATIONS[found])
        except sqlite3.Error:
            if connection.in_transaction:
                connection.rollback()
            raise


def trail_id_of(connection: sqlite3.Connection) -> str:
    """Return the id of the trail; TrailDamaged when it is gone or misshapen."""
    found = meta_of(connection, "trail")
    if re.fullmatch("[0-9a-f]{32}", found) is None:
        raise TrailDamaged("The trail has lost its id.", "Keep the file aside untouched and use a backup.")
    return found


def meta_of(connection: sqlite3.Connection, key: str) -> str:
    """Return what the trail says of itself under a key; empty when it says nothing."""
    row = connection.execute("SELECT value FROM meta WHERE key = ?", (key,)).fetchone()
    return str(row[0]) if row else ""


def has_signatures(connection: sqlite3.Connection) -> bool:
    """Tell whether the trail's format has room for signatures."""
    return meta_of(connection, "format") != "1"
