"""A stored job told again from the command line: anywhere the same, paced, stepped, and held against what was shown."""

import asyncio
import contextlib
import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from drivers.clock import SystemClock
from logger.shelf.shelf import records
from logger.trail.trail import Trail
from tests.logger.trail.appended import append_now
from tests.played import AS_FOUND, WHOLE, play
from tui.exits import Exit

PLACES = (
    {"TZ": "UTC", "LC_ALL": "C"},
    {"TZ": "Asia/Kathmandu", "LC_ALL": "C.UTF-8"},
    {"TZ": "America/St_Johns", "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"},
    {"TZ": ":nowhere", "LC_ALL": "tr_TR.UTF-8", "LANGUAGE": "tr"},
)


def _run(
    home: Path, *words: str, given: str = "", place: dict[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "tui.cli", "--home", str(home), *words]
    return subprocess.run(
        command, input=given.encode(), capture_output=True, timeout=60, env={**os.environ, **(place or {})}
    )


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("replayed")
    asyncio.run(play(folder / "trail.sqlite", WHOLE, offset="+05:45"))
    return folder


@pytest.mark.parametrize(
    "words",
    [("replay", "j1", "--plain"), ("jobs",), ("record", "j1"), ("record", "j1", "--format", "csv")],
    ids="-".join,
)
def test_what_is_told_is_the_same_under_any_time_zone_and_locale(home: Path, words: tuple[str, ...]) -> None:
    told = [_run(home, *words, place=place) for place in PLACES]
    assert {each.returncode for each in told} == {Exit.DONE}
    assert len({each.stdout for each in told}) == 1
    assert told[0].stdout


def test_the_page_is_the_same_under_any_time_zone_and_locale(home: Path) -> None:
    told = [_run(home, "record", "j1", "--format", "html", place=place).stdout for place in PLACES[:3:2]]
    assert told[0] == told[1]
    assert b"2026-01-06 05:15+05:45" in told[0]


def test_every_event_is_told_in_words(tmp_path: Path) -> None:
    """A review, a comment, a suspicion, a tool that was described or named: none leaves a blank line."""
    asyncio.run(play(tmp_path / "trail.sqlite", ["with tape", *WHOLE]))
    assert _run(tmp_path, "recall", "tape", "--error", "+1 mm").returncode == Exit.DONE
    told = _run(tmp_path, "replay", "j1", "--plain").stdout.decode().splitlines()
    events = [line.split("  ", 2) for line in told if line[:1].isdigit()]
    assert len(events) == len(list(records(tmp_path / "trail.sqlite")))
    assert all(len(parts) == 3 and parts[2].strip() for parts in events)
    said = [parts[2] for parts in events]
    assert "Stated of tape by the program: resolution 1 mm" in said
    assert said[-1].startswith("Reviewed: tape was found to read wrong by +1 mm: ")


def test_pace_changes_no_line(home: Path) -> None:
    at_once = _run(home, "replay", "j1", "--plain")
    paced = _run(home, "replay", "j1", "--plain", "--speed", "9999")
    assert paced.stdout == at_once.stdout
    assert (paced.returncode, at_once.returncode) == (Exit.DONE, Exit.DONE)


def test_stepping_goes_one_event_at_each_enter(home: Path) -> None:
    whole = _run(home, "replay", "j1", "--plain").stdout
    three = _run(home, "replay", "j1", "--plain", "--step", given="\n\nq\n").stdout
    assert whole.startswith(three)
    events = [line for line in three.splitlines() if line[:1].isdigit()]
    assert [int(line.split()[0]) for line in events] == [each.seq for each in records(home / "trail.sqlite")][:3]


@pytest.mark.parametrize("speed", ["0", "-1", "nan", "fast", "1e9"])
def test_a_speed_that_is_none_is_refused(home: Path, speed: str) -> None:
    ran = _run(home, "replay", "j1", f"--speed={speed}")
    assert ran.returncode == Exit.BAD_INPUT
    assert b"is no speed" in ran.stderr


def test_stepping_has_no_speed(home: Path) -> None:
    assert _run(home, "replay", "j1", "--step", "--speed", "2").returncode == Exit.BAD_INPUT


def test_a_verdict_that_was_shown_otherwise_is_explained(tmp_path: Path) -> None:
    """A trail, sound in itself, that was written with another verdict shown."""
    asyncio.run(play(tmp_path / "true.sqlite", AS_FOUND))
    with Trail.open(tmp_path / "trail.sqlite", clock=SystemClock()) as trail:
        for record in records(tmp_path / "true.sqlite"):
            stored = record.model_dump(mode="json", exclude={"seq"})
            shown = stored["shown"]["verdicts"]
            if shown.get("wear") == "inside":
                shown["wear"] = "high"
            append_now(trail, stored)
    ran = _run(tmp_path, "replay", "j1", "--plain", "--check")
    assert ran.returncode == Exit.DAMAGED
    assert "DIFFERS: wear was shown as high, now it is inside: inside, 101.8 mm, margin +0.5 mm" in ran.stdout.decode()
    said = ran.stderr.decode()
    assert "1 difference from what was shown." in said
    assert "a rule was changed and the number was not" in said


def test_the_schema_fits_the_record(home: Path) -> None:
    schema = json.loads(_run(home, "record", "--schema").stdout)
    made = json.loads(_run(home, "record", "j1").stdout)
    assert schema["$id"] == "urn:evenhand-record:4"
    assert set(made) == set(schema["properties"]) == set(schema["required"])
    assert made["version"] == schema["properties"]["version"]["const"]


def test_a_record_wants_a_job_or_the_schema(home: Path) -> None:
    ran = _run(home, "record")
    assert ran.returncode == Exit.BAD_INPUT
    assert b"Say which job" in ran.stderr


def test_the_trail_is_not_touched(home: Path) -> None:
    with contextlib.closing(sqlite3.connect(home / "trail.sqlite")) as db:
        before = db.execute("SELECT count(*), max(hash) FROM events").fetchone()
        _run(home, "replay", "j1", "--check")
        assert db.execute("SELECT count(*), max(hash) FROM events").fetchone() == before
