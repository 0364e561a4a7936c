"""What a check of the trail finds, beside a verifier of a few lines that shares no code with it."""

import contextlib
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from logger.errors import TrailDamaged
from logger.trail.canonical import encode
from logger.trail.read import read, sound_job, verify
from logger.trail.trail import Trail

from .appended import append_now
from .forger import alter, rehash, spoil_root_page
from .verifier import holds


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("whole") / "trail.sqlite"
    with Trail.open(path) as trail:
        for n in range(1, 41):
            append_now(
                trail,
                {"v": 1, "job": f"job-{n % 3}", "event": {"kind": "reading_taken", "unit": "N·m", "text": f"{n}.50"}},
            )
    return path


@pytest.fixture
def trail_path(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(whole, tmp_path / "trail.sqlite"))


def change(path: Path, seq: int) -> None:
    """Change one digit of one event and nothing else."""
    bytes_ = f"CAST(replace(CAST(bytes AS TEXT), '{seq}.50', '{seq}.40') AS BLOB)"
    alter(path, f"UPDATE events SET bytes = {bytes_} WHERE seq = {seq}")


def test_an_untouched_trail_is_sound_to_both_verifiers(trail_path: Path) -> None:
    found = verify(trail_path)
    assert holds(trail_path)
    assert (found.sound, found.count, found.head_seq) == (True, 40, 40)
    assert found.head_hash == list(read(trail_path))[-1].hash.hex()
    assert "none was changed" in found.shown()


Damager = Callable[[Path], None]


def _sql(*statements: str) -> Damager:
    return lambda path: alter(path, *statements)


def _data(seq: int, data: bytes) -> Damager:
    return lambda path: rehash(path, seq, data)


DAMAGES: list[tuple[str, Damager, int, str]] = [
    ("a changed digit", lambda path: change(path, 17), 17, "not what was hashed"),
    ("a changed hash", _sql("UPDATE events SET hash = zeroblob(32) WHERE seq = 9"), 9, "not what was hashed"),
    ("a changed link", _sql("UPDATE events SET prev = zeroblob(32) WHERE seq = 9"), 9, "does not follow"),
    ("a removed event", _sql("DELETE FROM events WHERE seq = 20"), 20, "missing (the next one there is 21)"),
    ("a removed beginning", _sql("DELETE FROM events WHERE seq = 1"), 1, "missing"),
    ("a change, rehashed", _data(5, encode({"v": 2, "seq": 5, "job": "job-2"})), 6, "does not follow"),
    ("another number", _data(40, encode({"v": 1, "seq": 41, "job": "job-1"})), 40, "another number"),
    ("other spacing", _data(40, b'{"job":"job-1", "seq":40}'), 40, "canonical"),
    ("no record", _data(40, b"[40]"), 40, "cannot be read"),
    ("text for bytes", _sql("UPDATE events SET bytes = CAST(bytes AS TEXT) WHERE seq = 3"), 3, "not what was hashed"),
    ("a moved number", _sql("UPDATE events SET seq = 50 WHERE seq = 40"), 40, "missing"),
    (
        "another id",
        _sql("DROP TRIGGER meta_stays", f"UPDATE meta SET value = '{'0' * 32}' WHERE key = 'trail'"),
        1,
        "does not follow",
    ),
    ("a hiding index", _sql("UPDATE job_events SET job = 'x' WHERE seq = 8"), 8, "index of jobs"),
]


@pytest.mark.parametrize(("damage", "seq", "what"), [case[1:] for case in DAMAGES], ids=[case[0] for case in DAMAGES])
def test_damage_is_found_and_told(trail_path: Path, damage: Damager, seq: int, what: str) -> None:
    damage(trail_path)
    found = verify(trail_path)
    assert found.damage is not None
    assert found.damage.seq == seq
    assert what in found.damage.what
    assert found.count == seq - 1
    assert f"Event {seq}: " in found.damaged()
    if "index" not in what and "cannot be read" not in what:
        assert not holds(trail_path)


def test_every_single_flipped_bit_of_an_event_is_found(trail_path: Path) -> None:
    with contextlib.closing(sqlite3.connect(trail_path)) as db:
        (data,) = db.execute("SELECT bytes FROM events WHERE seq = 30").fetchone()
    alter(trail_path)
    for place in range(len(data)):
        changed = bytearray(data)
        changed[place] ^= 1 << place % 8
        with contextlib.closing(sqlite3.connect(trail_path, isolation_level=None)) as db:
            db.execute("UPDATE events SET bytes = ? WHERE seq = 30", (bytes(changed),))
        found = verify(trail_path)
        assert found.damage is not None
        assert found.damage.seq == 30


def test_a_broken_page_is_told_not_thrown(trail_path: Path) -> None:
    spoil_root_page(trail_path, "events")
    found = verify(trail_path)
    assert found.damage is not None
    assert "cannot be read here" in found.damage.what
    with pytest.raises(TrailDamaged):
        list(read(trail_path))


def test_a_damaged_event_is_never_handed_on(trail_path: Path) -> None:
    change(trail_path, 17)
    events = read(trail_path)
    assert [next(events).seq for _ in range(16)] == list(range(1, 17))
    with pytest.raises(TrailDamaged, match="Event 17 "):
        next(events)


def test_damage_near_the_end_is_found_at_open(trail_path: Path) -> None:
    change(trail_path, 38)
    with pytest.raises(TrailDamaged, match="Event 38 of the trail"):
        Trail.open(trail_path)
    with pytest.raises(TrailDamaged, match="Event 38 of the trail"):
        Trail.open(trail_path)  # the lock was let go the first time


def test_reading_a_job_gives_its_events_in_order_with_their_records(trail_path: Path) -> None:
    found = list(read(trail_path, "job-2"))
    assert [event.seq for event in found] == list(range(2, 41, 3))
    assert found[0].record() == {
        "v": 1, "job": "job-2", "seq": 2, "event": {"kind": "reading_taken", "unit": "N·m", "text": "2.50"},
    }  # fmt: skip
    assert [event.seq for event in read(trail_path, after=38)] == [39, 40]
    assert [event.seq for event in read(trail_path, "job-2", after=30)] == [32, 35, 38]
    assert list(read(trail_path, "nobody")) == []


def test_a_sound_trail_gives_number_and_bytes_of_one_job_and_a_damaged_one_none(trail_path: Path) -> None:
    assert sound_job(trail_path, "job-2") == tuple((each.seq, each.bytes) for each in read(trail_path, "job-2"))
    assert len(sound_job(trail_path, "job-2")) == 13
    assert sound_job(trail_path, "job-9") == ()
    alter(trail_path, "DELETE FROM events WHERE seq = 40", "DELETE FROM events WHERE seq = 7")
    with pytest.raises(TrailDamaged, match=r"^Event 7: it is missing"):
        sound_job(trail_path, "job-2")
