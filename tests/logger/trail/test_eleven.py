"""What 21 CFR 11.10 asks of records and their audit trail, property by property, used as a model and not as a duty.

The text, 11.10(a), (b), (c) and (e), as printed in 2002: "the ability to discern invalid or altered records"; "the
ability to generate accurate and complete copies of records in both human readable and electronic form"; "protection of
records to enable their accurate and ready retrieval"; "secure, computer-generated, time-stamped audit trails to
independently record the date and time of operator entries and actions that create, modify, or delete electronic
records. Record changes shall not obscure previously recorded information", kept as long as the record.
"""

import contextlib
import json
import sqlite3
from pathlib import Path

import pytest

from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.record.record import make_record
from logger.sheets.file import load_sheet
from logger.shelf.shelf import records
from logger.trail.backup import backup
from logger.trail.file import connect
from logger.trail.keys import bench_key
from logger.trail.proof import prove
from logger.trail.read import read, verify
from logger.trail.seal import Seal, check_signatures
from logger.trail.trail import Trail
from tests.logger.trail.verifier import holds
from tests.logger.walk import SMALL
from tests.played import Ticking, lines_of
from tui.plain import Plain

SCRIPT = (
    "done",
    "45.0 mm",
    "36.5 mm",
    "37.9 mm",
    "back slipped off the face",
    "37.4 mm",
    "loosened",
    "turned 1 1",
    "done",
)
"""Sag high as found, one reading taken back and taken again, one adjustment; then the sag fits."""


@pytest.fixture
async def path(tmp_path: Path) -> Path:
    found, clock = tmp_path / "trail.sqlite", Ticking()
    with Trail.open(found, seal=lambda: Seal(bench_key(tmp_path / "bench.key"))) as trail:
        opening = Opening(load_sheet(SMALL, "small"), "Belt 7", "Robin", offset="+01:00")
        bench = await Bench.open(trail, clock, opening)
        await Plain(bench, clock, "Robin", lambda _: None).run(lines_of(SCRIPT))
        bench = await Bench.resume(trail, clock, "j1", "Sam")
        await bench.override("gap", "Alex", "the gauge is at the depot")
    return found


async def test_secure_nothing_stored_can_be_changed_or_removed(path: Path) -> None:
    with contextlib.closing(connect(path)) as db:
        for statement in (
            "UPDATE events SET bytes = x'00'",
            "DELETE FROM events",
            "REPLACE INTO events SELECT * FROM events",
        ):
            with pytest.raises(sqlite3.IntegrityError):
                db.execute(statement)


async def test_secure_what_was_altered_is_discerned(path: Path) -> None:
    """11.10(a)."""
    assert prove(path).wrong == ()
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TRIGGER events_stay")
        db.execute("UPDATE events SET bytes = replace(bytes, '45.0', '32.0')")
    assert "its bytes are not what was hashed" in prove(path).wrong[0]


async def test_computer_generated_a_person_gives_neither_number_nor_time(path: Path) -> None:
    with Trail.open(path) as trail, pytest.raises(Exception, match="already carries a number"):
        await trail.append({"seq": 7})
    assert [each.seq for each in read(path)] == list(range(1, verify(path).count + 1))


async def test_time_stamped_every_event_by_both_clocks(path: Path) -> None:
    found = list(records(path))
    assert all(each.utc.endswith("Z") and len(each.utc) == 27 for each in found)
    assert [each.mono_us for each in found] == sorted(each.mono_us for each in found)


async def test_who_stands_with_what_they_did(path: Path) -> None:
    opened, *_, resumed, overridden = (each.event for each in records(path))
    assert isinstance(opened, ev.JobOpened)
    assert isinstance(resumed, ev.JobResumed)
    assert isinstance(overridden, ev.Overridden)
    assert (opened.by, resumed.by, overridden.name) == ("Robin", "Sam", "Alex")


async def test_what_creates_modifies_and_deletes_is_recorded_itself(path: Path) -> None:
    """A reading is created by one event, taken back by another, and taken again by a third."""
    kinds = [each.event.kind for each in records(path)]
    assert kinds.count("reading_taken") == 4
    assert kinds.count("taken_back") == 1
    assert kinds.index("taken_back") > kinds.index("reading_taken")


async def test_changes_do_not_obscure_what_was_recorded_before(path: Path) -> None:
    """Also the values before an adjustment, outside the window, stay beside those after it."""
    record = make_record(path, "j1")
    values = [each.value for each in record.readings]
    assert values == ["45.0", "36.5", "37.9", "37.4"]
    (back,) = [each for each in record.readings if each.withdrawn is not None]
    assert back.value == "37.9"
    assert back.withdrawn is not None
    assert back.withdrawn.why == "slipped off the face"


async def test_independently_the_trail_is_written_before_anything_is_shown(path: Path) -> None:
    """No listener is told of an event that another reader of the file does not see."""
    clock, seen = Ticking(), list[bool]()
    with Trail.open(path) as trail:
        bench = await Bench.resume(trail, clock, "j1")
        bench.listeners.append(lambda moment: seen.append(max(each.seq for each in read(path)) == moment.record.seq))
        await bench.note("witnessed")
        await bench.note("and again")
    assert seen == [True, True]


async def test_copies_for_people_and_for_machines_are_accurate_and_complete(path: Path, tmp_path: Path) -> None:
    """11.10(b): the JSON holds every reading; the copy of the trail every byte of every event."""
    record = json.loads(make_record(path, "j1").model_dump_json())
    assert record["head"]["seq"] == verify(path).count
    assert backup(path, tmp_path / "copy.sqlite").found.head_hash == verify(path).head_hash
    assert [each.bytes for each in read(tmp_path / "copy.sqlite")] == [each.bytes for each in read(path)]
    assert holds(tmp_path / "copy.sqlite")


async def test_kept_as_long_as_the_record_since_they_are_one(path: Path) -> None:
    """11.10(c), (e): the record is made from the trail alone, so no record can outlive its trail."""
    assert make_record(path, "j1") == make_record(path, "j1")
    path.unlink()  # noqa: ASYNC240
    with pytest.raises(Exception, match="There is no trail"):
        make_record(path, "j1")


async def test_signed_the_head_is_bound_to_the_bench(path: Path, tmp_path: Path) -> None:
    found = check_signatures(path)
    assert found.keys == (bench_key(tmp_path / "bench.key").public,)
    assert found.wrong == ""
