"""The real command line as a process of its own: typed jobs, kills, signals, and what the trail says after them."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from logger import events as ev
from logger.shelf.shelf import records
from tests.played import AS_FOUND, WHOLE

EVENHAND = (sys.executable, "-m", "tui.cli")
START = ("start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--plain", "--no-radio")
LIMIT_S = 30


def run(*words: str, typed: bytes | str = "", env: dict[str, str] | None = None) -> subprocess.CompletedProcess[bytes]:
    data = typed if isinstance(typed, bytes) else typed.encode()
    return subprocess.run(
        [*EVENHAND, *words], input=data, capture_output=True, timeout=LIMIT_S, env={**os.environ, **(env or {})}
    )


def _script(lines: tuple[str, ...] | list[str]) -> str:
    return "".join(f"{line}\n" for line in lines)


@pytest.fixture
def talking() -> Iterator["subprocess.Popen[bytes]"]:
    """A session that waits for typed lines."""
    with subprocess.Popen(
        [*EVENHAND, *START], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        yield process
        process.kill()


def _say(process: "subprocess.Popen[bytes]", line: str, until: str) -> None:
    """Type a line and read until the session has answered."""
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(f"{line}\n".encode())
    process.stdin.flush()
    while not (said := process.stdout.readline().decode()).startswith(until):
        assert said, "the session ended"


def test_a_whole_typed_job_with_a_reading_outside_a_refused_closing_and_an_override(own_home: Path) -> None:
    script = list(WHOLE)
    script[4:5] = ["103.0 mm", "close", "override wear chain is ordered"]
    ran = run(*START, typed=_script(script))
    said = ran.stdout.decode()
    assert (ran.returncode, ran.stderr) == (0, b"")
    for expected in ("▲ high       Chain wear", "Closing refused: 11 open", "Overridden by Robin", "Job closed"):
        assert expected in said
    listed = run("jobs", "--json")
    (job,) = json.loads(listed.stdout)
    assert {key: job[key] for key in ("job", "sheet", "machine", "by", "state", "simulated")} == {
        "job": "j1",
        "sheet": "courier-chain",
        "machine": "Depot 7",
        "by": "Robin",
        "state": "closed",
        "simulated": False,
    }
    verified = run("verify")
    assert verified.returncode == 0
    assert b"Not shown: that its end was not cut off" in verified.stdout
    assert (own_home / "trail.sqlite").exists()


def test_the_end_of_input_leaves_the_job_open_and_it_is_taken_up_again() -> None:
    assert run(*START, typed=_script(AS_FOUND[:3])).returncode == 3
    ran = run("resume", "--plain", "--no-radio", typed=_script(WHOLE[3:]))
    assert ran.returncode == 0
    assert ran.stdout.decode().splitlines()[:2] == ["Taken up again by Robin", "Next: Chain and sprockets sound"]
    again = run("resume", "j1", "--plain", "--no-radio")
    assert again.returncode == 2
    assert b"Job j1 is closed." in again.stderr


def test_jobs_are_listed_newest_first() -> None:
    run(*START)
    run(*START[:3], "Depot 8", *START[4:])
    assert [job["machine"] for job in json.loads(run("jobs", "--json").stdout)] == ["Depot 8", "Depot 7"]
    lines = run("jobs").stdout.decode().splitlines()
    assert [line.split()[1] for line in lines] == ["open", "open"]
    assert "Depot 8" in lines[0]
    assert run("resume", "last", "--plain", "--no-radio").stdout.startswith(b"Taken up again")


@pytest.mark.kill
def test_a_kill_between_two_readings_loses_nothing(talking: "subprocess.Popen[bytes]", own_home: Path) -> None:
    for line in AS_FOUND:
        _say(talking, line, "Next: ")
    _say(talking, "100 mm", "Next: Chain slack, middle of lower run, tightest: taut up")
    talking.kill()
    talking.wait()
    *_, last = records(own_home / "trail.sqlite")
    assert isinstance(last.event, ev.ReadingTaken)
    assert last.event.value == "100"
    assert run("verify").returncode == 0
    ran = run("resume", "--plain", "--no-radio", typed="145.0 mm\n")
    said = ran.stdout.decode().splitlines()
    assert ran.returncode == 3
    assert said[1] == "Next: Chain slack, middle of lower run, tightest: taut up"
    assert any(line.startswith("▲ high       Chain slack, middle of lower run, tightest 45.0 mm") for line in said)


@pytest.mark.kill
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_ends_it_with_the_job_open(
    talking: "subprocess.Popen[bytes]", own_home: Path, number: signal.Signals
) -> None:
    _say(talking, "note 12480", "Next: Which machine")
    talking.send_signal(number)
    assert talking.wait(LIMIT_S) == 128 + number
    assert talking.stderr is not None
    assert talking.stderr.read() == b""
    *_, last = records(own_home / "trail.sqlite")
    assert last.event == ev.Interrupted(why=f"ended by {number.name}")
    assert run("verify").returncode == 0
    ran = run("resume", "--plain", "--no-radio")
    assert ran.stdout.decode().splitlines()[1] == "Next: Which machine is it"


@pytest.mark.kill
def test_a_signal_ends_it_although_nobody_reads_what_it_says(
    talking: "subprocess.Popen[bytes]", own_home: Path
) -> None:
    assert talking.stdin is not None
    _say(talking, "note 12480", "Next: Which machine")
    talking.stdin.write(b"status\n" * 400)  # far more than a pipe holds
    talking.stdin.flush()
    talking.send_signal(signal.SIGTERM)
    assert talking.wait(LIMIT_S) == 128 + signal.SIGTERM
    assert run("verify").returncode == 0


def test_a_second_session_on_the_same_trail_is_refused(talking: "subprocess.Popen[bytes]") -> None:
    _say(talking, "note 12480", "Next: Which machine")
    ran = run(*START)
    assert ran.returncode == 75
    assert b"is being written by process" in ran.stderr
    assert run("replay", "last", "--plain").returncode == 0


def test_a_reader_that_goes_away_is_no_fault(own_home: Path) -> None:
    run(*START, typed=_script(WHOLE))
    with subprocess.Popen([*EVENHAND, "replay", "j1"], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.wait(LIMIT_S) == 128 + signal.SIGPIPE
        assert process.stderr.read() == b""
    assert not list(own_home.glob("crash-*"))


PLACES = (
    {"TZ": "UTC", "LC_ALL": "C", "PYTHONIOENCODING": "ascii"},
    {"TZ": "Pacific/Chatham", "LC_ALL": "C.UTF-8", "LANG": "de_DE.UTF-8"},
)


def test_replay_is_the_same_anywhere() -> None:
    run(*START, typed=_script(WHOLE), env={"TZ": "Asia/Kathmandu"})
    first, second = (run("replay", "j1", "--plain", env=place) for place in PLACES)
    assert first.returncode == 0
    assert first.stdout == second.stdout
    said = first.stdout.decode().splitlines()
    assert "+05:45  Job j1 opened by Robin" in said[0]
    assert any(line.startswith("  ▲ high") for line in said)
    assert said[-1].endswith("Job closed")
    assert run("record", "j1", env=PLACES[0]).stdout == run("record", "j1", env=PLACES[1]).stdout


def test_replay_checks_what_was_shown() -> None:
    run(*START, typed=_script(WHOLE))
    ran = run("replay", "last", "--plain", "--check")
    assert (ran.returncode, ran.stderr) == (0, b"0 differences from what was shown.\n")


def test_a_record_never_replaces_a_file_unasked(tmp_path: Path) -> None:
    run(*START, typed=_script(WHOLE))
    out = tmp_path / "record.json"
    assert run("record", "j1", "--format", "json", "--out", str(out)).returncode == 0
    kept = out.read_bytes()
    assert json.loads(kept)["state"] == "closed"
    assert kept == run("record", "j1").stdout
    out.write_text("mine")
    ran = run("record", "j1", "--out", str(out))
    assert ran.returncode == 2
    assert b"is there already. Name another file, or add --force" in ran.stderr
    assert out.read_text() == "mine"
    assert run("record", "j1", "--out", str(out), "--force").returncode == 0
    assert out.read_bytes() == kept
    assert run("record", "j1", "--out", str(tmp_path / "none" / "record.json")).returncode == 2


def test_a_flipped_byte_is_damage(own_home: Path) -> None:
    run(*START, typed=_script(WHOLE))
    with closing(sqlite3.connect(own_home / "trail.sqlite")) as connection, connection:
        connection.execute("DROP TRIGGER events_stay")
        connection.execute("UPDATE events SET bytes = replace(bytes, '12480', '12481') WHERE seq = 2")
    ran = run("verify")
    assert ran.returncode == 4
    assert b"Event 2: its bytes are not what was hashed. The 1 events before it are sound." in ran.stdout
    for words in (("replay", "j1"), ("jobs",), ("record", "j1"), ("resume", "j1", "--plain")):
        told = run(*words)
        assert told.returncode == 4, words
        assert b"Traceback" not in told.stderr


def test_the_demo_runs_without_a_screen_and_never_overrides(own_home: Path) -> None:
    ran = run("demo", "--auto", "--plain", "--seed", "7")
    assert ran.returncode == 0
    assert ran.stdout.decode().splitlines()[-2] == "Job closed"
    found = list(records(own_home / "trail.sqlite"))
    assert not any(isinstance(each.event, ev.Overridden) for each in found)
    opened = found[0].event
    assert isinstance(opened, ev.JobOpened)
    assert (opened.simulated, opened.seed) == (True, 7)
    assert b"Traceback" not in ran.stderr


def test_a_scan_without_an_adapter_is_told_in_a_sentence() -> None:
    ran = run("tools", "scan", "--seconds", "1", env={"DBUS_SYSTEM_BUS_ADDRESS": "unix:path=/nonexistent"})
    assert ran.returncode == 5
    assert ran.stderr.decode().count("\n") == 1
    assert b"Traceback" not in ran.stderr


def test_without_an_adapter_it_says_so_once_and_typed_readings_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", "unix:path=/nonexistent")
    advice = "No Bluetooth adapter is found"
    with subprocess.Popen([*EVENHAND, *START[:-1]], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        _say(process, WHOLE[0], advice)
        rest, _ = process.communicate(_script(WHOLE[1:]).encode(), LIMIT_S)
    assert process.returncode == 0
    assert rest.decode().splitlines()[-2] == "Job closed"
    assert advice not in rest.decode()


def _without(home: Path, *statements: str) -> None:
    with closing(sqlite3.connect(home / "trail.sqlite", isolation_level=None)) as db:
        db.execute("DROP TRIGGER events_last")
        for statement in statements:
            db.execute(statement)


@pytest.mark.parametrize(
    "statements",
    [
        ("DELETE FROM events WHERE seq = 5", "DELETE FROM job_events WHERE seq = 5"),
        ("DELETE FROM job_events WHERE seq = 5",),
    ],
    ids=["an event", "its place in the job alone"],
)
@pytest.mark.parametrize("job", ["last", "j1"])
def test_a_trail_with_something_taken_out_hands_on_nothing(
    own_home: Path, statements: tuple[str, ...], job: str
) -> None:
    assert run(*START, typed=_script(WHOLE[:-1])).returncode == 3
    _without(own_home, *statements)
    for words in (("record", job), ("replay", job), ("resume", job, "--plain", "--no-radio")):
        ran = run(*words)
        assert (ran.returncode, ran.stdout) == (4, b"")
        assert ran.stderr.startswith(b"Event 5")
        assert ran.stderr.count(b"\n") == 1


def test_a_line_that_is_too_long_is_no_reading(own_home: Path) -> None:
    ran = run(*START, typed=_script([*AS_FOUND[:4], "101.8 mm" + " " * 2045 + "inches really"]))
    assert b"Not taken: The line is too long." in ran.stdout
    assert not [each for each in records(own_home / "trail.sqlite") if isinstance(each.event, ev.ReadingTaken)]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="only Linux has a device that is always full")
@pytest.mark.parametrize(
    "words", [("jobs",), ("sheets", "list"), ("--help",), ("--version",), ("demo", "--auto", "--plain", "--seed", "7")]
)
def test_a_full_disk_behind_stdout_is_a_sentence(words: tuple[str, ...]) -> None:
    run(*START)
    with Path("/dev/full").open("wb") as full:
        ran = subprocess.run([*EVENHAND, *words], stdout=full, stderr=subprocess.PIPE, timeout=LIMIT_S, check=False)
    *_, last = ran.stderr.splitlines()
    assert last == b"stdout cannot be written: No space left on device. Give it a place with room."
    assert ran.stderr.count(b"\n") == (2 if words[0] == "demo" else 1)  # the seed was told before
    assert ran.returncode == 74


def _shell(command: str) -> subprocess.CompletedProcess[bytes]:
    line = f'exec "$0" -m tui.cli {command}'
    return subprocess.run(["/bin/sh", "-c", line, sys.executable], capture_output=True, timeout=LIMIT_S, check=False)


def test_closed_standard_streams_are_told_and_never_taken_for_the_trail(own_home: Path) -> None:
    closed = _shell("sheets list >&-")
    assert (closed.returncode, closed.stderr) == (
        74,
        b"stdout is closed, so nothing could be said. Run it with stdout open.\n",
    )
    silent = _shell("record nope 2>&-")
    assert (silent.returncode, silent.stdout) == (2, b"")
    begun = _shell("start courier-chain --machine m --by b --plain --no-radio <&-")
    assert begun.returncode == 3
    *_, last = records(own_home / "trail.sqlite")
    assert last.event == ev.Interrupted(why="end of input")


def test_a_mileage_below_that_of_the_job_before_is_told_and_can_be_corrected(own_home: Path) -> None:
    assert run(*START, typed="note 13000\nquit\n").returncode == 3
    ran = run(*START, typed="note 12000\nnote fleet 7\nnote mileage 13120\nquit\n")
    said = ran.stdout.decode() + ran.stderr.decode()
    assert (
        "12000 km is less than the 13000 km of job j1: check it; note mileage and the right number correct it." in said
    )
    assert "13120 km is less" not in said
    noted = [each.event for each in records(own_home / "trail.sqlite") if isinstance(each.event, ev.Noted)]
    assert noted[-1] == ev.Noted(step="mileage", text="13120")
    other = run("start", "courier-chain", "--machine", "Depot 8", *START[4:], typed="note 5\nquit\n")
    assert b"is less than" not in other.stdout + other.stderr
    assert run("start", "courier-chain", "--machine", "Depot", *START[4:], typed="note 5\nquit\n").returncode == 3


def test_a_job_that_is_taken_up_without_a_name_says_as_whom_it_goes_on() -> None:
    run(*START, typed="note 13000\nquit\n")
    assert run("resume", "--plain", "--no-radio").stderr.decode() == "Goes on as Robin; --by NAME for another.\n"
    assert run("resume", "--plain", "--no-radio", "--by", "Sam").stderr == b""
