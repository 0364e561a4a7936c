"""Trail files, notes, heads, keys and records from anyone: read or refused, soon and in little room.

A trail whose chain is right and whose events are not is the door of `tests.logger.shelf`.
"""

import contextlib
import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.shelf.shelf import resolve
from logger.shop.outboxtrail import CursorFile, TrailSource
from logger.trail.anchor import from_text
from logger.trail.anchorfile import from_record
from logger.trail.canonical import decode, encode
from logger.trail.head import note_path, read_note
from logger.trail.keys import load_key
from logger.trail.proof import noted, prove
from logger.trail.read import read, verify
from logger.trail.trail import Trail
from tests.fuzz import VALUES, fuzzed, misfilled, spoiled, spoiled_octets, told, within

from .appended import append_now
from .canonically import is_canonical

ROOM = 32 << 20


def looked_at(path: Path) -> list[str]:
    """Look at a trail in every way that only reads; return what was said."""
    uses: list[Callable[[], object]] = [
        lambda: verify(path).damaged(),
        lambda: prove(path).wrong,
        lambda: list(read(path)),
        lambda: list(read(path, "j1")),
        lambda: resolve(path, "last"),
        lambda: TrailSource(path).head(),
        lambda: read_note(path),
    ]
    return [told(use) for use in uses]


# --- any octets -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fuzzed")


@pytest.fixture(scope="module")
def true(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("true") / "trail.sqlite"
    with Trail.open(path) as trail:
        for n in range(12):
            append_now(trail, {"job": f"j{1 + n % 2}", "n": n})
    return path.read_bytes()


def laid(folder: Path, data: bytes) -> Path:
    """Lay a file in a folder with nothing else in it."""
    shutil.rmtree(folder)
    folder.mkdir()
    path = folder / "trail.sqlite"
    path.write_bytes(data)
    return path


@fuzzed(25)
@given(st.binary(max_size=300), st.booleans())
def test_fuzz_any_file(folder: Path, true: bytes, data: bytes, headed: bool) -> None:
    path = laid(folder, true[:100] + data if headed else data)
    looked_at(path)
    told(lambda: Trail.open(path).close())


@fuzzed(40)
@given(st.data())
def test_fuzz_a_trail_with_octets_changed(folder: Path, true: bytes, data: st.DataObject) -> None:
    path = laid(folder, data.draw(spoiled_octets(st.just(true)).filter(bool)))
    looked_at(path)
    told(lambda: Trail.open(path).close())


# --- tables that are not ours ---------------------------------------------------------------------------------------

ENDLESS = "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c)"
HOSTILE = {
    "a view of gigabytes": "DROP TABLE events; CREATE VIEW events AS SELECT 1 AS seq, x'00' AS prev, x'00' AS hash, "
    "zeroblob(900000000) AS bytes",
    "a view without end": f"DROP TABLE events; CREATE VIEW events AS {ENDLESS} SELECT x AS seq, x'00' AS prev, "
    "x'00' AS hash, x'00' AS bytes FROM c",
    "a name without end": f"DROP TABLE meta; CREATE VIEW meta AS {ENDLESS} SELECT 'format' AS key, '2' AS value FROM c",
    "a long name": "DROP TABLE meta; CREATE VIEW meta AS SELECT 'format' AS key, hex(zeroblob(400000000)) AS value",
    "an index without end": f"DROP TABLE job_events; CREATE VIEW job_events AS {ENDLESS} SELECT 1 AS seq, 'j1' AS job "
    "FROM c",
    "a computed column": "DROP TABLE events; CREATE TABLE events(seq INTEGER PRIMARY KEY, prev BLOB, hash BLOB, "
    "bytes BLOB GENERATED ALWAYS AS (zeroblob(900000000)) VIRTUAL); INSERT INTO events(seq, prev, hash) VALUES "
    "(1, x'00', x'00')",
    "numbers that are text": "DROP TABLE events; CREATE TABLE events(seq, prev, hash, bytes); "
    "INSERT INTO events VALUES ('a', x'00', x'00', x'00'), (NULL, 1, 2, 3)",
    "a trigger": "CREATE TRIGGER evil AFTER INSERT ON events BEGIN INSERT INTO events SELECT NEW.seq + 1, "
    "randomblob(32), randomblob(32), x'00'; END",
    "an index on what is computed": "CREATE INDEX evil ON events(length(zeroblob(900000000)))",
    "a table of another": "CREATE TABLE evil(x)",
    "signatures of anything": "DROP TABLE signatures; CREATE TABLE signatures(seq, hash, key, signature); "
    "INSERT INTO signatures VALUES ('x', 1, 2, 3)",
    "a row of 50 MB": "DROP TRIGGER events_stay; UPDATE events SET bytes = zeroblob(50000000) WHERE seq = 3",
    "a job of 50 MB": "UPDATE job_events SET job = zeroblob(50000000) WHERE seq = 3",
    "a name of 50 MB": "DROP TRIGGER meta_stays; UPDATE meta SET value = zeroblob(50000000) WHERE key = 'trail'",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_told_in_little_room(folder: Path, true: bytes, name: str) -> None:
    path = laid(folder, true)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.executescript(HOSTILE[name])
    note_path(path).unlink(missing_ok=True)
    with within(ROOM):
        said = looked_at(path)
        assert any(said) or verify(path).damage is not None
        assert told(lambda: Trail.open(path).close())


def test_a_note_without_end_is_read_no_further_than_a_note_goes(folder: Path, true: bytes) -> None:
    path = laid(folder, true)
    note_path(path).symlink_to("/dev/zero")
    with within(ROOM):
        assert read_note(path) is None
        assert verify(path).sound


# --- heads, records, notes, keys, cursors ---------------------------------------------------------------------------

HASH = "ab" * 32
RECORD = {
    "format": "evenhand-record",
    "head": {"trail": "0" * 32, "seq": 7, "sha256": HASH, "key": "", "signature": ""},
}
HEADS = [f"7:{HASH}", f"EVENHAND:1:{'0' * 32}:7:{HASH}", "7 acorn adobe agate album alder angle anvil apron arbor"]


@fuzzed(60)
@given(st.binary(max_size=200) | spoiled(st.just(json.dumps(RECORD))).map(lambda text: text.encode("utf-8", "replace")))
def test_fuzz_any_record_to_verify_against(folder: Path, data: bytes) -> None:
    path = folder / "record.json"
    path.write_bytes(data)
    told(lambda: noted(str(path)))
    told(lambda: from_record(data, "record.json"))


@fuzzed(60)
@given(misfilled(st.just(RECORD)))
def test_fuzz_a_record_with_other_values(tree: object) -> None:
    said = told(lambda: from_record(json.dumps(tree).encode(), "record.json"))
    assert not said or said.startswith("record.json")


@pytest.mark.parametrize("data", [b"[" * 200_000, b'{"a":' * 200_000, b'{"format": ' + b"9" * 5000, b"\xff\xfe[\0"])
def test_a_bomb_is_no_record(data: bytes) -> None:
    assert told(lambda: from_record(data, "record.json"))


@fuzzed(60)
@given(st.text(max_size=120) | spoiled(st.sampled_from(HEADS)))
def test_fuzz_any_head(text: str) -> None:
    told(lambda: from_text(text))
    told(lambda: noted(text))


@fuzzed(40)
@given(st.binary(max_size=300) | spoiled_octets(st.sampled_from([head.encode() for head in HEADS])))
def test_fuzz_any_note_or_key_beside_a_trail(folder: Path, true: bytes, data: bytes) -> None:
    path = laid(folder, true)
    note_path(path).write_bytes(data)
    (folder / "bench.key").touch(mode=0o600)
    (folder / "bench.key").write_bytes(data)
    looked_at(path)
    told(lambda: load_key(folder / "bench.key"))


CURSOR = {"trail": "0" * 32, "seq": 3, "hash": HASH, "session": 1}


@fuzzed(60)
@given(st.binary(max_size=100) | (misfilled(st.just(CURSOR)) | VALUES).map(lambda tree: json.dumps(tree).encode()))
def test_fuzz_any_cursor_is_one_that_can_be_asked_with(folder: Path, data: bytes) -> None:
    path = folder / "cursor.json"
    path.write_bytes(data)
    cursor = CursorFile(path).load()
    assert 0 <= cursor.seq < 2**53
    assert 0 <= cursor.session < 2**53


@pytest.mark.parametrize("seq", ["1e400", "Infinity", "-1", "NaN", "9" * 40, "9" * 5000, "[" * 100_000, '"x"', "null"])
def test_a_cursor_of_no_number_is_a_new_one(tmp_path: Path, seq: str) -> None:
    (tmp_path / "c").write_text(f'{{"trail": "a", "seq": {seq}, "hash": "", "session": 1}}', encoding="utf-8")
    assert CursorFile(tmp_path / "c").load().seq == 0


@fuzzed(60)
@given(st.binary(max_size=200) | spoiled(st.just('{"a":1,"seq":2}')).map(lambda text: text.encode("utf-8", "replace")))
def test_fuzz_any_octets_are_a_record_that_can_be_written_again_or_none(data: bytes) -> None:
    if not told(lambda: decode(data)) and is_canonical(data):
        assert encode(decode(data)) == data


@fuzzed(60)
@given(VALUES)
def test_fuzz_any_tree_is_written_strictly_or_refused(tree: object) -> None:
    if not told(lambda: encode({"event": tree})):
        assert is_canonical(encode({"event": tree}))
