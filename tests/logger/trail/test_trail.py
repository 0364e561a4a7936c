"""The writer: one at a time, in order, on the disk before it is told, and loud when it cannot."""

import asyncio
import contextlib
import random
import signal
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from drivers.reading import Stamp
from logger.errors import BadInput, NotStored, TrailBusy
from logger.trail import file as trail_file
from logger.trail.read import read, verify
from logger.trail.trail import Trail
from logger.trail.writer import Stored

from .appended import append_now
from .verifier import holds


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "home" / "trail.sqlite"


@pytest.fixture
def trail(path: Path) -> Iterator[Trail]:
    with Trail.open(path) as opened:
        yield opened


def test_the_first_event_is_number_one_and_carries_it(trail: Trail, path: Path) -> None:
    stored = append_now(trail, {"v": 1, "job": "a", "event": {"kind": "note_written", "text": "Jose\u0301"}})
    (event,) = read(path)
    assert (event.seq, event.hash) == (stored.seq, stored.hash) == (1, trail.head.hash)
    assert event.bytes == '{"event":{"kind":"note_written","text":"José"},"job":"a","seq":1,"v":1}'.encode()


def test_the_chain_goes_on_after_opening_again(path: Path) -> None:
    for n in range(3):
        with Trail.open(path) as trail:
            assert trail.head.seq == 2 * n
            append_now(trail, {"n": n})
            last = append_now(trail, {"n": n})
    assert verify(path).head_hash == last.hash.hex()
    assert verify(path).count == 6
    assert holds(path)


def test_when_it_was_made_is_told_by_the_clock_given(path: Path) -> None:
    class Noon:
        def now(self) -> Stamp:
            return Stamp(utc_ns=1_762_000_000_000_001_000, mono_ns=0)

    with Trail.open(path, clock=Noon()) as trail:
        assert len(trail.trail_id) == 32
    with contextlib.closing(sqlite3.connect(path)) as db:
        assert dict(db.execute("SELECT key, value FROM meta")) == {
            "format": "2",
            "trail": trail.trail_id,
            "created": "2025-11-01T12:26:40.000001Z",
        }


async def test_many_appends_wait_together_and_keep_their_order(trail: Trail, path: Path) -> None:
    found = await asyncio.gather(*(trail.append({"n": n}) for n in range(1000)))
    assert [stored.seq for stored in found] == list(range(1, 1001))
    assert [event.record()["n"] for event in read(path)] == list(range(1000))


async def test_an_append_is_on_the_disk_when_it_is_told(trail: Trail, path: Path) -> None:
    for n in range(1, 6):
        stored = await trail.append({"n": n})
        assert [event.seq for event in read(path)][-1] == stored.seq == n


async def test_a_cancelled_wait_does_not_take_the_event_back(trail: Trail, path: Path) -> None:
    chance = random.Random(7)

    async def press(n: int) -> Stored:
        return await trail.append({"n": n})

    async with asyncio.TaskGroup() as group:
        tasks = [group.create_task(press(n)) for n in range(200)]
        await asyncio.sleep(0)
        for task in tasks:
            if chance.random() < 0.5:
                task.cancel()
    told = [task.result() for task in tasks if not task.cancelled()]
    last = await trail.append({"n": 200})
    assert 50 < len(told) < 150
    assert last.seq == 201
    assert [event.record()["n"] for event in read(path)] == list(range(201))


async def test_a_record_that_cannot_be_stored_fails_alone(trail: Trail, path: Path) -> None:
    bad: list[dict[str, object]] = [{"text": 36.2}, {"seq": 7}, {"text": "\ud800"}]
    found = await asyncio.gather(
        trail.append({"n": 1}),
        *(trail.append(record) for record in bad),
        trail.append({"n": 2}),
        return_exceptions=True,
    )
    assert [type(item) for item in found] == [Stored, BadInput, BadInput, BadInput, Stored]
    assert [event.record() for event in read(path)] == [{"n": 1, "seq": 1}, {"n": 2, "seq": 2}]
    assert verify(path).sound


def test_four_threads_append_without_a_fork(trail: Trail, path: Path) -> None:
    def work(name: int) -> None:
        for n in range(50):
            append_now(trail, {"job": f"job-{name}", "n": n})

    threads = [threading.Thread(target=work, args=(name,)) for name in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert verify(path).count == 200
    assert holds(path)
    for name in range(4):
        assert [event.record()["n"] for event in read(path, f"job-{name}")] == list(range(50))


def test_reading_goes_on_while_the_writer_writes(trail: Trail, path: Path) -> None:
    for n in range(300):
        append_now(trail, {"n": n})
    reader = read(path)
    first = next(reader)
    for n in range(300, 600):
        append_now(trail, {"n": n})
    assert [first.seq, *(event.seq for event in reader)] == list(range(1, 601))
    assert verify(path).count == 600


def test_a_reader_cannot_write(path: Path, trail: Trail) -> None:
    append_now(trail, {"n": 1})
    with trail_file.reader(path) as connection, pytest.raises(sqlite3.OperationalError, match="readonly"):
        connection.execute("INSERT INTO job_events VALUES (9, 'x')")


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET bytes = x'00'",
        "DELETE FROM events",
        "INSERT OR REPLACE INTO events SELECT seq, prev, hash, x'00' FROM events WHERE seq = 1",
        "REPLACE INTO events SELECT 9, prev, hash, bytes FROM events WHERE seq = 1",
        "INSERT INTO events SELECT 9, prev, hash, bytes FROM events WHERE seq = 1",
        "UPDATE meta SET value = '2'",
        "DELETE FROM meta",
    ],
)
def test_the_tables_guard_against_our_own_mistakes(path: Path, statement: str) -> None:
    with Trail.open(path) as trail:
        append_now(trail, {"n": 1})
    with contextlib.closing(trail_file.connect(path)) as connection, pytest.raises(sqlite3.IntegrityError):
        connection.execute(statement)
    assert verify(path).count == 1


def test_a_second_writer_is_refused_in_this_process_and_in_another(path: Path, trail: Trail) -> None:
    with pytest.raises(TrailBusy, match="is being written by process"):
        Trail.open(path)
    code = "import sys, pathlib; from logger.trail.trail import Trail; Trail.open(pathlib.Path(sys.argv[1]))"
    other = subprocess.run([sys.executable, "-c", code, path], capture_output=True, text=True, check=False)
    assert other.returncode == 1
    assert "TrailBusy" in other.stderr
    assert append_now(trail, {"n": 1}).seq == 1


def test_two_names_of_one_file_are_one_trail(path: Path, trail: Trail) -> None:
    alias = path.parent.parent / "alias"
    alias.symlink_to(path.parent)
    with pytest.raises(TrailBusy):
        Trail.open(alias / path.name)


def _small_disk(path: Path) -> sqlite3.Connection:
    connection = trail_file.connect(path)
    connection.execute("PRAGMA max_page_count = 24")
    return connection


async def test_a_full_disk_stops_everything_loudly_until_opened_again(path: Path) -> None:
    with Trail.open(path, connect=_small_disk) as trail:
        found = [await asyncio.wait([trail.append({"text": "x" * 1000})]) for _ in range(200)]
        outcomes = [task.exception() for done, _ in found for task in done]
        stored = outcomes.count(None)
        refusal = outcomes[stored]
        assert outcomes[:stored] == [None] * stored
        assert None not in outcomes[stored:]
        assert isinstance(refusal, NotStored)
        assert "is full" in refusal.message
        assert "Make room" in refusal.remedy
        with pytest.raises(NotStored):
            await trail.append({"n": 1})
        assert trail.head.seq == stored > 0
    assert verify(path).count == stored
    with Trail.open(path) as trail:
        assert (await trail.append({"n": 1})).seq == stored + 1
    assert holds(path)


def test_closing_stores_what_is_queued_and_ends_the_rest(path: Path) -> None:
    async def session() -> list[Stored]:
        trail = Trail.open(path)
        waiting = [trail.append({"n": n}) for n in range(700)]
        trail.close()
        trail.close()
        with pytest.raises(NotStored, match="closed"):
            trail.append({"n": 700})
        return await asyncio.gather(*waiting)

    assert len(asyncio.run(session())) == 700
    assert verify(path).count == 700


def test_an_append_survives_the_loop_that_asked_for_it(path: Path) -> None:
    trail = Trail.open(path)

    async def ask() -> None:
        trail.append({"n": 1})

    asyncio.run(ask())
    assert append_now(trail, {"n": 2}).seq == 2
    trail.close()
    assert verify(path).count == 2


WRITE_UNTIL_KILLED = """
import pathlib, sys
from logger.trail.trail import Trail
from tests.logger.trail.appended import append_now
trail = Trail.open(pathlib.Path(sys.argv[1]))
while True:
    print(append_now(trail, {"job": "a", "text": "36.20"}).seq, flush=True)
"""


@pytest.mark.kill
def test_a_killed_writer_loses_nothing_it_has_told(path: Path) -> None:
    chance, told = random.Random(2611), 0
    for _ in range(5):
        with subprocess.Popen(
            [sys.executable, "-c", WRITE_UNTIL_KILLED, path], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            for _ in range(chance.randrange(1, 120)):
                told = int(writer.stdout.readline())
            writer.send_signal(signal.SIGKILL)
            told = int(([str(told)] + [line for line in writer.stdout if line.endswith("\n")])[-1])
        found = verify(path)
        assert found.sound, found.damaged()
        assert found.count >= told
        assert holds(path)
    assert [event.seq for event in read(path, "a")] == list(range(1, found.count + 1))
