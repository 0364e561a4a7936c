"""`jobs`, `history` and `due` from the command line."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from logger.toolbook.file import write_toolbook
from logger.toolbook.toolbook import Tool, Toolbook
from logger.trail.read import verify
from tests.bench.manyjobs import Depot, fill
from tests.played import AS_FOUND, play
from tui.exits import Exit
from tui.textplot import textplot


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twenty jobs on four machines, and a toolbook of two tools."""
    home = tmp_path_factory.mktemp("depot")
    fill(home / "trail.sqlite", Depot(4), range(20))
    added = {"added": "2025-01-01T00:00:00Z", "added_by": "Robin"}
    tools = (
        Tool.model_validate({"id": "TW-2", "kind": "torque wrench", "due": "2099-01-01", **added}),
        Tool.model_validate({"id": "TW-1", "kind": "torque wrench", "due": "2025-02-01", **added}),
        Tool.model_validate({"id": "RULE", "kind": "rule", **added}),
    )
    write_toolbook(home / "toolbook.toml", Toolbook(tool=tools))
    return home


@pytest.fixture
def home(filled: Path, tmp_path: Path) -> Path:
    shutil.copytree(filled, tmp_path / "home")
    return tmp_path / "home"


def _run(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "tui.cli", "--home", str(home), *words]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)


def test_jobs_are_listed_as_they_are_wanted(home: Path) -> None:
    everything = json.loads(_run(home, "jobs", "--json").stdout)
    assert [job["first"] for job in everything] == [1 + 36 * place for place in reversed(range(20))]
    for words, holds in (
        (("--machine", "depot 2"), lambda job: job["machine"] == "Depot 2"),
        (("--machine", "DEPOT"), lambda _: True),
        (("--machine", "pot  3"), lambda job: job["machine"] == "Depot 3"),
        (("--machine", "depot", "--tool", "TW-3"), lambda job: "TW-3" in job["tools"]),
        (("--tool", "TW-3"), lambda job: "TW-3" in job["tools"]),
        (("--by", "kim"), lambda job: job["by"] == "Kim"),
        (("--since", "2025-01-09", "--until", "2025-01-10"), lambda job: job["opened"][:10] in _DAYS),
        (("--verdict", "uneven"), lambda job: "uneven" in job["verdicts"].values()),
        (("--sheet", "parcel-conveyor"), lambda _: False),
        (("--overridden",), lambda job: bool(job["standing"])),
    ):
        found = json.loads(_run(home, "jobs", *words, "--json").stdout)
        assert found == [job for job in everything if holds(job)], words


_DAYS = ("2025-01-09", "2025-01-10")


def test_the_newest_are_listed_and_it_is_said_that_there_are_more(home: Path) -> None:
    ran = _run(home, "jobs", "--last", "2")
    assert [line.split()[0] for line in ran.stdout.splitlines()] == ["j685", "j649"]
    assert "There are older ones; --last 20 shows more." in ran.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("jobs", "--since", "yesterday"), '"yesterday" is not a day'),
        (("jobs", "--until", "2025-02-30"), '"2025-02-30" is not a day'),
        (("jobs", "--verdict", "fine"), '"fine" is no verdict'),
        (("jobs", "--last", "0"), "no number of jobs"),
        (("jobs", "--last", "-1"), "no number of jobs"),
        (("jobs", "--last", "99999999999999999999"), "Give 1 to 1000000."),
        (("record", "j1", "--out", "."), ". is a folder. Name a file with --out."),
        (("record", "j1", "--out", ""), ". is a folder. Name a file with --out."),
        (("record", "j1", "--out", "/"), "/ is a folder. Name a file with --out."),
        (("history", "Depot 9"), "of a machine 'Depot 9'"),
    ],
)
def test_what_cannot_be_asked_is_told(home: Path, words: tuple[str, ...], said: str) -> None:
    ran = _run(home, *words)
    assert (ran.returncode, ran.stdout) == (Exit.BAD_INPUT, "")
    assert said in ran.stderr
    assert "Traceback" not in ran.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("jobs", "--machine", "bakery"), "Machines there are: Depot 1, Depot 2, Depot 3, Depot 4."),
        (("jobs", "--by", "nobody"), "matches. List all of them with: evenhand jobs"),
        (("jobs", "--machine", "depot 2", "--until", "2020-01-01"), "matches. List all"),
    ],
)
def test_finding_no_job_names_what_there_is(home: Path, words: tuple[str, ...], said: str) -> None:
    ran = _run(home, *words)
    assert (ran.returncode, ran.stdout) == (Exit.DONE, "")
    assert said in ran.stderr
    assert "Start one" not in ran.stderr


def test_the_machines_there_are_are_told_where_a_history_has_none(home: Path) -> None:
    assert "Machines there are: Depot 1, Depot 2" in _run(home, "history", "bakery").stderr
    assert "Machines there are: Depot 1, Depot 2" in _run(home, "history", "depot").stderr
    assert _run(home, "history", "pot 3").stdout.startswith("Depot 3: ")


async def test_one_job_has_no_plot_and_an_open_one_is_named_once(tmp_path: Path) -> None:
    await play(tmp_path / "trail.sqlite", [*AS_FOUND, "quit"])
    told = _run(tmp_path, "history", "Depot 7").stdout
    assert "●" not in told
    assert "┤" not in told
    assert "Chain wear:\n0.20 % longer than new at 12480 km (job j1), worn out at 0.98 %." in told
    assert "One mileage alone shows no rate." in told
    assert told.rstrip().endswith("NOW: Job j1 is open")
    assert re.search(r"^NOW +Depot 7: Job j1 is open$", _run(tmp_path, "due").stdout, re.MULTILINE)


@pytest.mark.parametrize("where", ["there is none/record.json", "sealed/record.json", "sealed"])
def test_a_record_that_cannot_be_written_is_told(home: Path, tmp_path: Path, where: str) -> None:
    sealed = tmp_path / "sealed"
    sealed.mkdir()
    sealed.chmod(0o500)
    if os.access(sealed, os.W_OK):  # who may write everywhere: a file stands in the folder's place
        sealed.rmdir()
        sealed.write_text("a file")
    ran = _run(home, "record", "j1", "--out", str(tmp_path / where))
    assert (ran.returncode, ran.stdout) == (Exit.BAD_INPUT, "")
    assert str(tmp_path / where) in ran.stderr
    assert "Traceback" not in ran.stderr
    assert len(ran.stderr.splitlines()) == 1


def test_the_history_of_a_machine_is_told_and_drawn(home: Path) -> None:
    told = _run(home, "history", "DEPOT 3").stdout
    assert told.startswith("Depot 3: 5 jobs, the last on ")
    assert len(re.findall(r"^j\d+ .* km  closed  courier-chain  by \w+  wear 0\.\d\d %$", told, re.MULTILINE)) == 5
    assert told.count("●") == 1 + 5
    assert "worn out at 0.98 %." in told
    assert re.search(r"^0\.\d{3} % per 1000 km, standard uncertainty 0\.\d{3} %, from 5 jobs\.$", told, re.MULTILINE)
    assert re.search(r"between \d+ and \d+ km \(about 95 %\)\.$", told, re.MULTILINE)
    data = json.loads(_run(home, "history", "Depot 3", "--json").stdout)
    assert data["machine"]["jobs"] == len(data["jobs"]) == 5
    assert all("kept" not in job for job in data["jobs"])


def test_the_page_of_a_record_tells_how_the_chain_wore_up_to_that_job(home: Path) -> None:
    third = _run(home, "record", "j325", "--format", "html").stdout  # the third job of Depot 2
    assert "Chain wear over mileage" in third
    assert "from 3 jobs." in third
    first = _run(home, "record", "j37", "--format", "html").stdout
    assert "One mileage alone shows no rate." in first
    assert "Chain wear over mileage" not in first


def test_due_tells_machines_by_what_is_next_and_tools_by_calibration(home: Path) -> None:
    lines = _run(home, "due").stdout.splitlines()
    days = [found[1] for line in lines if (found := re.match(r"past, about (\d{4}-\d\d-\d\d)", line))]
    assert len(days) >= 4
    assert days == sorted(days)
    assert [line.split("tool ")[1] for line in lines[-3:]] == [
        "TW-1, torque wrench: calibration due 2025-02-01",
        "TW-2, torque wrench: calibration due 2099-01-01",
        "RULE, rule",
    ]
    assert lines[-3].startswith("overdue by ")


def test_a_recall_is_due_first(home: Path) -> None:
    assert _run(home, "recall", "TW-2", "--error", "+12 %").returncode == Exit.DONE
    lines = _run(home, "due").stdout.splitlines()
    assert lines[0].startswith("NOW")
    assert "Called back after the recall of TW-2" in lines[0]
    called = [job["job"] for job in json.loads(_run(home, "jobs", "--json").stdout) if job["call_back"]]
    assert called
    assert all(any(line.startswith("NOW") and f"(job {job})" in line for line in lines) for job in called)
    assert "CALL BACK: TW-2" in _run(home, "jobs").stdout
    record = json.loads(_run(home, "record", called[0]).stdout)
    assert record["warnings"][0].startswith("CALLED BACK: TW-2 was found to read wrong by +12%")
    assert record["reviews"][0]["call_back"]


def test_asking_leaves_the_trail_as_it_is(home: Path) -> None:
    before = verify(home / "trail.sqlite")
    for words in (("jobs",), ("history", "Depot 1"), ("due",), ("due", "--json")):
        assert _run(home, *words).returncode == Exit.DONE
    assert verify(home / "trail.sqlite") == before


def test_an_empty_home_has_nothing_due(tmp_path: Path) -> None:
    ran = _run(tmp_path, "due")
    assert (ran.returncode, ran.stdout) == (Exit.DONE, "")
    assert "There is no job" in ran.stderr
    assert not list(tmp_path.glob("*.index"))


# --- the plot -------------------------------------------------------------------------------------------------------


def test_a_plot_puts_points_limit_and_ends_where_they_belong() -> None:
    drawn = textplot([(0, 0), (50, 5)], lambda x: x / 10, 10, 100, (11, 11))
    assert drawn[-1].split() == ["0", "100"]
    assert drawn[-2] == " " * 9 + "└" + "─" * 11
    rows = [line[10:] for line in drawn[:-2]]
    assert rows[-1].startswith("●")
    assert rows[-6][5] == "●"
    assert rows[0] == "─" * 11


@pytest.mark.parametrize(("top", "limit"), [(0.4, 0.9843), (2.0, 0.9843), (9.0, 0.2), (0.9, -0.5), (1.0, 1.0)])
def test_a_limit_is_drawn_at_its_own_height(top: float, limit: float) -> None:
    drawn = textplot([(0, 0.1), (50, top)], None, limit, 100)
    (line,) = [line for line in drawn if "───" in line and "┤" in line]
    assert float(line.split("┤")[0]) == pytest.approx(limit, abs=0.006)
    assert sum(line.count("●") for line in drawn) == 2


def test_one_point_is_drawn() -> None:
    assert sum(line.count("●") for line in textplot([(1000, 0.2)], None, None, 1000)) == 1
