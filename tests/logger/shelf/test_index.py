"""The index: what it tells is what the trail holds, whatever became of the index meanwhile."""

import contextlib
import shutil
import sqlite3
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from logger import events as ev
from logger.advice.wear import wear_of
from logger.errors import BadInput, TrailDamaged
from logger.job.rules import judge
from logger.sheets.sheet import MeasureStep
from logger.sheets.store import shipped_text
from logger.shelf.index import Wanted, ask, index_path, job_sums
from logger.shelf.shelf import job_records, load_job
from logger.shelf.sums import JobSum, MachineSum, key_of
from tests.bench.manyjobs import Depot, fill
from tests.played import AS_FOUND, LAST, SLACK_HIGH, WHOLE, play

LET = [*WHOLE[: -len(LAST)], "override pin the new pin is at the depot", "done", "done", "close"]


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve jobs on four machines."""
    path = tmp_path_factory.mktemp("many") / "trail.sqlite"
    fill(path, Depot(4), range(12))
    return path


@pytest.fixture
def path(many: Path, tmp_path: Path) -> Path:
    copied = tmp_path / "trail.sqlite"
    with contextlib.closing(sqlite3.connect(many)) as source, contextlib.closing(sqlite3.connect(copied)) as target:
        source.backup(target)
    return copied


def _told(path: Path) -> tuple[list[JobSum], list[MachineSum]]:
    return ask(path, lambda index: (index.jobs()[0], index.machines()))


async def test_a_job_is_summed_up_as_the_fold_and_the_rules_tell_it(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, LET)
    await play(path, [*AS_FOUND[:4], "101.8 mm", "back the wrong pin", "102.1 mm", "done", *SLACK_HIGH, "quit"])
    for found in job_sums(path)[0]:
        job, records = load_job(path, found.job)
        assert found.events == len(records)
        assert found.verdicts == {check: judged.verdict for check, judged in judge(job).items()}
        assert {each.check for each in found.standing} == set(job.overrides)
        assert found.state == ("closed" if job.closed else "open")
        step = job.sheet.by_id["wear"]
        assert isinstance(step, MeasureStep)
        wear = wear_of(job, step)
        assert wear is not None
        assert found.wear is not None
        assert abs(wear.share - Fraction(found.wear.share)) < Fraction("0.00000001")
        assert found.mileage == "12480"
        assert found.tools == ("typed",)


@pytest.mark.parametrize("read", [("101.8 mm", "102.2 mm"), ("102.2 mm", "101.8 mm")])
async def test_of_several_places_the_longest_is_the_wear_of_a_job(tmp_path: Path, read: tuple[str, str]) -> None:
    sheet, path = tmp_path / "two.toml", tmp_path / "trail.sqlite"
    text = shipped_text("courier-chain").decode().replace("pitches = 8\n", 'pitches = 8\nplaces = ["upper", "lower"]\n')
    sheet.write_text(text, encoding="utf-8")
    await play(path, [*AS_FOUND[:4], *read, "quit"], sheet=str(sheet))
    (found,) = job_sums(path)[0]
    assert found.wear is not None
    assert found.wear.share == "0.00590551"  # 102.2 mm over 8 pitches of 12.7 mm: (102.2 - 101.6) / 101.6


def test_what_narrows(path: Path) -> None:
    everything = job_sums(path)[0]
    assert [each.first for each in everything] == sorted((each.first for each in everything), reverse=True)
    assert len(everything) == 12
    cases: tuple[tuple[Wanted, Callable[[JobSum], bool]], ...] = (
        (Wanted(machine=" depot  2"), lambda job: job.machine == "Depot 2"),
        (Wanted(sheet="courier-chain"), lambda _: True),
        (Wanted(sheet="other"), lambda _: False),
        (Wanted(tool="TW-2"), lambda job: "TW-2" in job.tools),
        (Wanted(by="ROBIN"), lambda job: "Robin" in job.people),
        (Wanted(tool="TW-2", machine="Depot 1"), lambda job: "TW-2" in job.tools and job.machine == "Depot 1"),
        (Wanted(tool="TW-1", by="Robin"), lambda job: "TW-1" in job.tools and job.by == "Robin"),
        (Wanted(verdict="inside"), lambda _: True),
        (Wanted(verdict="high"), lambda job: "high" in job.verdicts.values()),
        (Wanted(since="2025-01-08"), lambda job: job.opened[:10] >= "2025-01-08"),
        (Wanted(until="2025-01-08"), lambda job: job.opened[:10] <= "2025-01-08"),
        (Wanted(overridden=True), lambda job: bool(job.standing)),
    )
    for wanted, holds in cases:
        found, more = job_sums(path, wanted)
        assert list(found) == [job for job in everything if holds(job)], wanted
        assert not more
    assert [each.job for each in job_sums(path, most=3)[0]] == [each.job for each in everything[:3]]
    assert job_sums(path, most=3)[1]
    assert not job_sums(path, most=12)[1]


async def test_an_override_is_found(tmp_path: Path) -> None:
    await play(tmp_path / "trail.sqlite", WHOLE)
    await play(tmp_path / "trail.sqlite", LET)
    (found,), _ = job_sums(tmp_path / "trail.sqlite", Wanted(overridden=True))
    assert [(each.check, each.name, each.note) for each in found.standing] == [
        ("pin", "Robin", "the new pin is at the depot")
    ]
    assert job_sums(tmp_path / "trail.sqlite", Wanted(verdict="overridden"))[0] == [found]


# --- a cache and nothing more ---------------------------------------------------------------------------------------


def _gone(place: Path) -> None:
    place.unlink()


def _no_database(place: Path) -> None:
    place.write_bytes(b"not a database" * 1000)


def _cut(place: Path) -> None:
    place.write_bytes(place.read_bytes()[: place.stat().st_size // 2])


def _sql(statement: str) -> Callable[[Path], None]:
    def change(place: Path) -> None:
        with contextlib.closing(sqlite3.connect(place, isolation_level=None)) as db:
            db.execute(statement)

    return change


@pytest.mark.parametrize(
    "harm",
    [
        _gone,
        _no_database,
        _cut,
        _sql("UPDATE jobs SET doc = replace(doc, '\"closed\"', '\"open\"') WHERE job = 'j1'"),
        _sql("UPDATE machines SET doc = '{}'"),
        _sql("UPDATE meta SET trail = 'another'"),
        _sql("UPDATE meta SET form = '0'"),
        _sql("UPDATE meta SET hash = x'00'"),
        _sql("DELETE FROM meta"),
        _sql("DROP TABLE marks"),
        _sql("UPDATE jobs SET sum = x'00'"),
        _sql("PRAGMA user_version = 9"),
    ],
)
def test_a_harmed_index_is_made_anew_and_nobody_notices(path: Path, harm: Callable[[Path], None]) -> None:
    before = _told(path)
    harm(index_path(path))
    assert _told(path) == before
    assert _told(path) == before
    assert index_path(path).exists()


def test_what_the_trail_got_since_is_added(path: Path) -> None:
    before = _told(path)[0]
    fill(path, Depot(4, seed=5), [12])
    after = _told(path)
    assert after[0][1:] == before
    index_path(path).unlink()
    assert _told(path) == after


async def test_an_open_job_goes_on_where_the_index_left_it(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, [*WHOLE[:8], "quit"])
    ((found,), _) = job_sums(path)
    assert (found.state, found.wear is not None) == ("open", True)
    await play(path, WHOLE[8:], resume="j1")
    after = _told(path)
    assert after[0][0].state == "closed"
    index_path(path).unlink()
    assert _told(path) == after


def test_another_trail_in_its_place_is_told_and_not_the_old_one(path: Path, tmp_path: Path) -> None:
    _told(path)
    other = tmp_path / "other" / "trail.sqlite"
    other.parent.mkdir()
    fill(other, Depot(1), range(2))
    path.unlink()
    shutil.copy(other, path)
    assert [job.machine for job in _told(path)[0]] == ["Depot 1", "Depot 1"]


def test_where_it_cannot_be_kept_it_is_made_in_memory(path: Path) -> None:
    before = _told(path)
    index_path(path).unlink()
    index_path(path).mkdir()
    assert _told(path) == before


def test_a_harmed_event_is_damage_and_not_skipped(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TRIGGER events_stay")
        db.execute("UPDATE events SET bytes = replace(bytes, 'Depot 1', 'Depot 9') WHERE seq = 1")
    with pytest.raises(TrailDamaged, match="Event 1 is not what was written"):
        _told(path)


def test_an_event_that_is_missing_is_damage(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TRIGGER events_last")
        db.execute("DELETE FROM events WHERE seq = 20")
    with pytest.raises(TrailDamaged, match="Event 21 does not follow the one before it"):
        _told(path)


def test_no_record_is_made_by_the_index(path: Path) -> None:
    """A job hidden from the index is still handed on; the trail alone says what there is."""
    _told(path)
    _sql("DELETE FROM jobs WHERE job = 'j1'")(index_path(path))
    assert isinstance(job_records(path, "j1")[0].event, ev.JobOpened)


def test_without_a_trail_there_is_nothing_to_list(tmp_path: Path) -> None:
    assert job_sums(tmp_path / "trail.sqlite") == ((), False)
    with pytest.raises(BadInput, match="There is no trail"):
        _told(tmp_path / "trail.sqlite")
    assert not index_path(tmp_path / "trail.sqlite").exists()


@pytest.mark.parametrize("name", ["Depot 7", " depot  7 ", "DEPOT\u00a07", "\uff24epot 7"])
def test_a_name_is_one_however_it_is_typed(name: str) -> None:
    assert key_of(name) == "depot 7"
