"""A trail of another, its chain right and its events not: read back in every way, it is told as damage or taken."""

import asyncio
import itertools
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.bench.replay import differences, local_time, moments, opening, origin, pause, retold
from logger.errors import EvenhandError
from logger.record.record import make_record
from logger.record.table import as_csv
from logger.shelf.index import Wanted, job_sums
from logger.shelf.machines import machine_of
from logger.shelf.shelf import every_job, job_records, load_job, resolve
from logger.shelf.sums import number_of
from logger.trail.clocks import jump, moment_of
from logger.trail.proof import prove
from logger.trail.read import read
from tests.forged import forged
from tests.fuzz import NUMBERS, ends, fuzzed, misfilled, told, within
from tests.played import WHOLE, play
from tui.asjson import as_json


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("forged")


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    path = tmp_path_factory.mktemp("played") / "trail.sqlite"
    asyncio.run(play(path, WHOLE))
    return [stored.record() for stored in read(path)]


def told_of(path: Path) -> Iterator[str]:
    """Read a job back in every way the commands do."""
    yield told(lambda: prove(path).told)
    yield told(lambda: job_sums(path, Wanted()))
    yield told(lambda: every_job(path))
    yield told(lambda: load_job(path, "j1"))
    yield told(lambda: list(_replayed(path)))
    yield told(lambda: _recorded(path))


def _replayed(path: Path) -> Iterator[object]:
    records = job_records(path, resolve(path, "last"))
    yield origin(opening(records[0]), "another")
    before = None
    for moment in moments(records):
        yield differences(before, moment)
        yield retold(moment.record.event)
        yield local_time(moment.record.utc, "+01:00")
        yield pause(before.record, moment.record) if before else 0.0
        before = moment


def _recorded(path: Path) -> None:
    record = make_record(path, "j1")
    assert as_json(record.model_dump(mode="json"))
    assert as_csv(record)


@fuzzed(25)
@given(st.data())
def test_fuzz_a_job_of_another_with_other_values(folder: Path, job: list[dict[str, Any]], data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(job) - 1))
    record = data.draw(misfilled(st.just(job[at])))
    records = [*job[:at], record if isinstance(record, dict) else {}, *job[at + 1 :]]
    try:
        path = forged(folder, records)
    except EvenhandError:  # what no record can hold
        return
    for _ in told_of(path):
        pass


@fuzzed(12)
@given(st.data())
def test_fuzz_a_job_of_another_in_another_order(folder: Path, job: list[dict[str, Any]], data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 3))
    records = list(job)
    for _ in range(count):
        at, to = (data.draw(st.integers(0, len(records) - 1)) for _ in range(2))
        records.insert(to, records[at] if data.draw(st.booleans()) else records.pop(at))
    for _ in told_of(forged(folder, records)):
        pass


@pytest.mark.parametrize(
    "harm",
    [
        {"shown": {"prompt": "x", "verdicts": {"mileage": None}}},
        {"shown": {"prompt": "x", "verdicts": {"mileage": []}}},
        {"shown": {"prompt": "x", "verdicts": ["mileage"]}},
        {"shown": []},
        {"utc": 7},
    ],
)
def test_an_event_that_is_none_is_damage_to_a_list_of_jobs(
    folder: Path, job: list[dict[str, Any]], harm: dict[str, object]
) -> None:
    path = forged(folder, [*job[:5], job[5] | harm, *job[6:]])
    assert "is not one this version can read" in told(lambda: job_sums(path, Wanted()))
    assert "is not one this version can read" in told(lambda: load_job(path, "j1"))


def test_a_day_that_is_none_is_damage_to_a_list_of_jobs(folder: Path, job: list[dict[str, Any]]) -> None:
    path = forged(folder, [each | {"utc": "9999-99-99T00:00:00Z"} for each in job])
    assert "is not one this version can read" in told(lambda: job_sums(path, Wanted()))


@pytest.mark.parametrize("text", [*NUMBERS, "1e-9999999", " 12480 ", "sNaN", "x", ""])
def test_a_mileage_of_any_digits_is_a_number_of_few_or_none(text: str) -> None:
    with ends(), within(32 << 20):
        found = number_of(text)
    assert found is None or (abs(found) < 10**9 and found.denominator <= 10**9)


@pytest.mark.parametrize("after", ["9999999 years", "9999999.999 weeks", "0.001 days", "1 year", "0 km", "9999999 km"])
@pytest.mark.parametrize("mileage", [None, "12480", "999999999", "0.000000001"])
def test_what_is_due_beyond_the_calendar_is_told_in_its_own_words(
    folder: Path, job: list[dict[str, Any]], after: str, mileage: str | None
) -> None:
    due = {"kind": "due_opened", "what": "Chain", "after": after}
    noted = {"kind": "noted", "step": "mileage", "text": mileage or "x"}
    last = len(job) - 1
    path = forged(folder, [job[0], job[1] | {"event": noted}, *job[2:last], job[last - 1] | {"event": due}, job[last]])
    sums, _ = job_sums(path, Wanted())
    (item,) = [each for each in machine_of(sums).due if each.after == after]
    assert item.day is None or item.day <= "9999-12-31"


@fuzzed(60)
@given(st.data())
def test_fuzz_the_clocks_of_any_record(job: list[dict[str, Any]], data: st.DataObject) -> None:
    found: list[Mapping[str, object]] = [
        each if isinstance(each, dict) else {} for each in data.draw(st.lists(misfilled(st.just(job[0])), max_size=3))
    ]
    with ends():
        moments_ = [moment_of(each) for each in found]
        for before, after in itertools.pairwise(moments_):
            assert (told_jump := jump(before, after)) is None or told_jump.sentence()
        for each in found:
            utc, offset = str(each.get("utc")), str(each.get("boot"))
            assert local_time(utc, offset)
            assert local_time(utc, "+23:59")
