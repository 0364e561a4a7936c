"""Nothing of a job is handed on from a trail that is not sound as a whole."""

import contextlib
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from logger import events as ev
from logger.errors import BadInput, TrailDamaged
from logger.record.record import make_record
from logger.shelf.shelf import job_as_left, job_records, load_job, records, resolve
from logger.trail.trail import Trail
from tests.played import AS_FOUND, SLACK_HIGH, WHOLE, play


@pytest.fixture
async def path(tmp_path: Path) -> Path:
    """A closed job, and an open one after it."""
    path = tmp_path / "trail.sqlite"
    await play(path, WHOLE)
    await play(path, [*AS_FOUND, *SLACK_HIGH])
    return path


def _change(path: Path, *statements: str) -> None:
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        for trigger in ("events_stay", "events_last"):
            db.execute(f"DROP TRIGGER {trigger}")
        for statement in statements:
            db.execute(statement)


def _pull(path: Path) -> int:
    return next(each.seq for each in records(path, "j1") if isinstance(each.event, ev.PullTaken))


def _row(path: Path) -> None:
    seq = _pull(path)
    _change(path, f"DELETE FROM events WHERE seq = {seq}", f"DELETE FROM job_events WHERE seq = {seq}")


def _index(path: Path) -> None:
    _change(path, f"DELETE FROM job_events WHERE seq = {_pull(path)}")


def _whole_index(path: Path) -> None:
    _change(path, "DELETE FROM job_events")


def _other_job(path: Path) -> None:
    _change(path, "UPDATE job_events SET job = 'j999' WHERE seq = (SELECT max(seq) - 1 FROM events)")


@pytest.mark.parametrize("damage", [_row, _index, _whole_index, _other_job])
async def test_a_trail_that_lacks_something_hands_on_nothing(path: Path, damage: Callable[[Path], None]) -> None:
    assert make_record(path, "j1").pulls
    damage(path)
    for use in (make_record, load_job, job_records, job_as_left):
        with pytest.raises(TrailDamaged, match=r"^Event \d+: .* before it are sound\. Keep the file aside"):
            use(path, "j1")
    with pytest.raises(TrailDamaged):
        resolve(path, "last")


async def test_an_index_beside_the_checked_table_hides_nothing(path: Path) -> None:
    before = make_record(path, "j1")
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA writable_schema = ON")
        index = "CREATE INDEX job_events_by_job ON job_events(job)"
        db.execute("UPDATE sqlite_master SET sql = ? WHERE name = 'job_events_by_job'", (f"{index} WHERE 0",))
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("REINDEX job_events_by_job")
        db.execute("PRAGMA writable_schema = ON")
        db.execute("UPDATE sqlite_master SET sql = ? WHERE name = 'job_events_by_job'", (index,))
    assert make_record(path, "j1") == before


async def test_a_job_as_left_is_the_job_folded_to_its_end_and_its_last_record(path: Path) -> None:
    for job in {each.job for each in records(path)}:
        folded, kept = load_job(path, job)
        assert job_as_left(path, job) == (folded, kept[-1])


async def test_a_job_that_is_not_there_is_bad_input(path: Path, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="There is no job j777"):
        job_records(path, "j777")
    with pytest.raises(BadInput, match="There is no job j777"):
        job_as_left(path, "j777")
    with pytest.raises(BadInput, match="There is no trail"):
        job_records(tmp_path / "none", "j1")
    with pytest.raises(BadInput, match="There is no open job"):
        resolve(tmp_path / "none", "last", state="open")


async def test_the_last_is_the_newest_of_the_wanted_state(path: Path) -> None:
    last = resolve(path, "last")
    assert last == resolve(path, "last", state="open") != "j1"
    assert resolve(path, "last", state="closed") == "j1"
    Trail.open(path).close()
