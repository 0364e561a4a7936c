import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from logger.shelf.index import job_sums
from logger.shelf.shelf import records
from logger.toolbook.file import write_toolbook
from logger.toolbook.toolbook import Tool, Toolbook
from logger.trail.read import verify
from logger.units import unit_names
from tests.played import WHOLE, play
from tui.exits import Exit


def _run(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "tui.cli", "--home", str(home), *words]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    import asyncio

    folder = tmp_path_factory.mktemp("whole")
    asyncio.run(play(folder / "trail.sqlite", WHOLE))
    return folder


@pytest.fixture
def home(whole: Path, tmp_path: Path) -> Path:
    shutil.copytree(whole, tmp_path / "home")
    return tmp_path / "home"


def test_a_recall_tells_whom_to_call_back_and_writes_it_down(home: Path) -> None:
    ran = _run(home, "recall", "typed", "--since", "2026-01-01", "--error", "+10 %")
    assert ran.returncode == Exit.DONE
    assert "CALL BACK" in ran.stdout
    assert "evenhand due names a call-back until a new job of its sheet is closed on that machine." in ran.stderr
    assert "axle_nut: ■ inside 98 N·m -> " in ran.stdout
    last = list(records(home / "trail.sqlite"))[-1]
    assert last.event.kind == "reviewed"
    assert last.event.call_back
    assert verify(home / "trail.sqlite").sound
    again = _run(home, "replay", "j1", "--plain", "--check")
    assert (again.returncode, again.stderr.strip()) == (Exit.DONE, "0 differences from what was shown.")


def test_a_recall_made_again_calls_nobody_back_anew(home: Path) -> None:
    trail = home / "trail.sqlite"
    for error in ("+10 %", "+11 %"):
        assert _run(home, "recall", "typed", "--since", "2026-01-01", "--error", error).returncode == Exit.DONE
    first = next(record.seq for record in records(trail) if record.event.kind == "reviewed")
    assert [(job.call_back, job.called_back_at) for job in job_sums(trail)[0]] == [(("typed",), first)]


def test_only_looking_writes_nothing(home: Path) -> None:
    before = len(list(records(home / "trail.sqlite")))
    ran = _run(home, "recall", "typed", "--error", "+0.05 mm", "--look", "--json")
    found = json.loads(ran.stdout)
    assert [(job["job"], job["call_back"]) for job in found["jobs"]] == [("j1", False)]
    assert [check["check"] for check in found["jobs"][0]["checks"]] == ["wear"]
    assert len(list(records(home / "trail.sqlite"))) == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("recall", "typed", "--error", "much"), "much"),
        (
            ("recall", "typed", "--error", "0.1"),
            f"Allowed: mm, {', '.join(unit_names(('length', 'torque'))[1:])}, %.",
        ),
        (("recall", "typed", "--error", "2 km"), "An error of 2 km cannot be."),
        (("recall", "jwas", "--error", "0.2mm"), "nor the toolbook knows a tool 'jwas'. Known are: typed."),
        (("recall", "typed", "--error", "3 %", "--since", "last week"), '"last week" is not a day'),
        (("rejudge", "j1"), "nothing to judge by"),
        (("rejudge", "--decision", "guarded"), "which job"),
        (("rejudge", "j9", "--decision", "guarded"), "no job j9"),
    ],
)
def test_what_cannot_be_done_is_told(home: Path, words: tuple[str, ...], said: str) -> None:
    ran = _run(home, *words)
    assert ran.returncode == Exit.BAD_INPUT
    assert said in ran.stderr
    assert "Traceback" not in ran.stderr


def test_a_tool_of_the_toolbook_that_read_nothing_is_recalled_without_a_fault(home: Path) -> None:
    added = {"added": "2025-01-01T00:00:00Z", "added_by": "Robin"}
    jaws = Tool.model_validate({"id": "jaws", "kind": "caliper", **added})
    write_toolbook(home / "toolbook.toml", Toolbook(tool=(jaws,)))
    ran = _run(home, "recall", "jaws", "--error", "0.2mm")
    assert (ran.returncode, "has a reading of jaws." in ran.stderr) == (Exit.DONE, True)
    assert "Known are: jaws, typed." in _run(home, "recall", "jwas", "--error", "0.2mm").stderr


def test_of_many_tools_a_slip_names_the_first_and_counts_the_others(home: Path) -> None:
    added = {"added": "2025-01-01T00:00:00Z", "added_by": "Robin"}
    tools = [Tool.model_validate({"id": f"jaws-{at:02}", "kind": "caliper", **added}) for at in range(40)]
    write_toolbook(home / "toolbook.toml", Toolbook(tool=tuple(tools)))
    said = _run(home, "recall", "jwas", "--error", "0.2mm").stderr
    assert said.rstrip().endswith("Known are: " + ", ".join(f"jaws-{at:02}" for at in range(12)) + " and 29 more.")


def test_all_jobs_are_judged_again_as_data(home: Path) -> None:
    ran = _run(home, "rejudge", "--all", "--decision", "guarded", "--json")
    (job,) = json.loads(ran.stdout)
    assert (job["job"], job["sheet"]) == ("j1", "courier-chain")
    slack = next(each for each in job["checks"] if each["check"] == "slack.tightest")
    assert slack["was"]["value"] == slack["now"]["value"] == "31.5"


async def test_an_error_of_a_kind_the_tool_never_read_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    script = ["with caliper", *WHOLE[:4], "101.8 mm", "quit"]
    await play(tmp_path / "trail.sqlite", script)
    before = len(list(records(tmp_path / "trail.sqlite")))
    ran = _run(tmp_path, "recall", "caliper", "--error", "2 N·m")
    assert (ran.returncode, ran.stdout) == (Exit.BAD_INPUT, "")
    assert "caliper read mm, and 2 N·m is no length." in ran.stderr
    assert len(list(records(tmp_path / "trail.sqlite"))) == before
    ran = _run(tmp_path, "recall", "caliper", "--error", "+0.1 mm")
    assert ran.stdout.splitlines()[0].endswith(": 1 reading of it, 1 check: open: measure again")
    assert ran.stdout.splitlines()[1:] == [
        "  wear: ■ inside 101.8 mm -> ■ inside 101.7 mm",
        "1 job touched, 0 to call back.",
    ]
    assert ran.stderr.strip() == "The review is on the trail of 1 job."


def test_a_corrected_value_has_the_digits_that_were_read(home: Path) -> None:
    ran = _run(home, "recall", "typed", "--error", "-4 N·m", "--look")
    assert "axle_nut: ■ inside 98 N·m -> ■ inside 102 N·m" in ran.stdout
    assert "lock_nuts.left: ■ inside 21 N·m -> ▲ high 25 N·m" in ran.stdout
