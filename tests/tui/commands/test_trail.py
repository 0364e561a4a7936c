"""`verify` and `trail backup` from the command line: what they say, and with which exit code."""

import contextlib
import io
import os
import sqlite3
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from logger.bench.bench import Bench, Opening
from logger.settings.settings import Home
from logger.sheets.store import open_sheet
from logger.trail.keys import bench_key
from logger.trail.proof import noted
from logger.trail.read import read
from logger.trail.seal import Seal
from logger.trail.trail import Trail
from tests.logger.trail.forger import alter
from tests.played import Ticking, lines_of
from tui.cli import main
from tui.plain import Plain

START = ["start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--plain", "--no-radio"]


@dataclass(frozen=True, slots=True)
class Ran:
    """What a command did."""

    returncode: int
    stdout: str
    stderr: str


def run(*words: str | Path) -> Ran:
    """Run a command within this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([str(word) for word in words])
    return Ran(code, out.getvalue(), err.getvalue())


def session(*words: str | Path) -> subprocess.CompletedProcess[str]:
    """Play a session in a process of its own, which ends at once."""
    return subprocess.run([sys.executable, "-m", "tui.cli", *words], input="quit\n", capture_output=True, text=True)


@pytest.fixture
async def home(own_home: Path) -> Home:
    """A home with a job of four events, left open."""
    home, clock = Home(own_home), Ticking()
    with Trail.open(home.trail, seal=lambda: Seal(bench_key(home.key))) as trail:
        bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", "Robin"))
        await Plain(bench, clock, "Robin", lambda _: None).run(lines_of(["note 12480", "note fleet 7", "quit"]))
    return home


def test_a_session_makes_a_key_of_its_own_and_signs(own_home: Path) -> None:
    home = Home(own_home)
    assert session(*START).returncode == 3
    assert home.key.stat().st_mode & 0o777 == 0o600
    ran = run("verify")
    assert ran.returncode == 0
    assert "1 signature holds, the last over event 2, by the key" in ran.stdout
    assert "(this bench)" in ran.stdout
    assert ran.stdout.count("Not shown: ") == 3


def test_a_key_that_others_may_read_stops_a_session_before_it_begins(home: Home) -> None:
    home.key.chmod(0o644)
    ran = session(*START)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "can be read or changed by others (mode 0644). If nobody did, run: chmod 600" in ran.stderr
    checked = run("verify")
    assert checked.returncode == 0
    assert "not the key of this bench" in checked.stdout
    assert "chmod 600" in checked.stderr


def test_a_cut_end_that_verify_alone_misses_is_caught_against_a_record_and_words(home: Home, tmp_path: Path) -> None:
    record, words = tmp_path / "depot-7.json", run("verify").stdout.splitlines()[-1].partition(": ")[2]
    assert run("record", "j1", "--out", record).returncode == 0
    assert run("verify", "--against", record).returncode == run("verify", "--against", words).returncode == 0
    with contextlib.closing(sqlite3.connect(home.trail, isolation_level=None)) as db:
        db.execute("DROP TRIGGER signatures_last")
        db.execute("DELETE FROM signatures")
    alter(home.trail, "DELETE FROM events WHERE seq > 2", "DELETE FROM job_events WHERE seq > 2")
    home.trail.with_name("trail.sqlite.head").unlink()
    assert run("verify").returncode == 0
    for against in (record, words):
        ran = run("verify", "--against", against)
        assert ran.returncode == 4
        assert "WRONG: It is not the trail that" in ran.stdout
        assert "it ends at event 2, but had reached event 4: its end is gone." in ran.stdout
        assert "Not shown" not in ran.stdout


def test_a_copy_without_its_log_is_told(home: Home) -> None:
    cut_back = home.trail.read_bytes()
    assert session("resume", "j1", "--plain", "--no-radio").returncode == 3
    home.trail.write_bytes(cut_back)
    for words in (["verify"], ["resume", "j1", "--plain", "--no-radio"], ["record", "j1"], ["trail", "backup"]):
        ran = run(*words)
        assert ran.returncode == 4, words
        assert "its end is gone" in ran.stdout + ran.stderr


def test_the_head_as_a_code_is_the_head(home: Home) -> None:
    text, *code = run("verify", "--qr").stdout.splitlines()[-22:]
    assert noted(text).anchor.seq == 4
    assert len({len(line) for line in code}) == 1


@pytest.mark.parametrize(
    ("against", "says"),
    [
        ("41 acorn", "one number and nine words"),
        ("nowhere.json", "There is no record nowhere.json"),
        ("", "one number"),
    ],
)
def test_what_is_no_head_is_bad_input(home: Home, against: str, says: str) -> None:
    ran = run("verify", "--against", against)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert says in ran.stderr


def test_a_backup_is_one_file_that_can_be_the_trail_of_another_home(home: Home, tmp_path: Path) -> None:
    ran = run("trail", "backup")
    assert (ran.returncode, ran.stdout.splitlines()[0]) == (
        0,
        f"4 events copied and read back: {home.folder / 'trail-backup.sqlite'}",
    )
    assert "It lies on the disk of the trail itself" in ran.stderr
    other = tmp_path / "trail.sqlite"
    assert run("trail", "backup", "--out", other).returncode == 0
    assert [each.name for each in tmp_path.iterdir()] == ["trail.sqlite"]
    assert run("jobs", "--home", tmp_path).stdout == run("jobs").stdout


def test_a_backup_that_would_be_worse_is_refused(home: Home, tmp_path: Path) -> None:
    out = tmp_path / "depot.sqlite"
    assert run("trail", "backup", "--out", out).returncode == 0
    before = out.read_bytes()
    alter(home.trail, "UPDATE events SET bytes = zeroblob(9) WHERE seq = 2")
    ran = run("trail", "backup", "--out", out)
    assert ran.returncode == 4
    assert ran.stderr.startswith("Event 2: its bytes are not what was hashed.")
    assert out.read_bytes() == before


def test_a_folder_that_may_not_be_written_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "shelf"
    folder.mkdir()
    folder.chmod(0o555)
    if os.geteuid() == 0:
        folder = Path("/proc")
    ran = session("--home", folder, *START)
    assert ran.returncode == 74
    assert "cannot be" in ran.stderr
    assert "Traceback" not in ran.stderr


def test_a_full_disk_in_the_middle_of_a_job_stops_it_loudly(own_home: Path) -> None:
    """By a limit on the size of files; what was told is on the trail, the one that was not is named."""
    words = " ".join(f"'{word}'" for word in (sys.executable, "-m", "tui.cli", *START))
    typed = "\n".join(["note 12480", "note fleet 7", *("note " + "x" * 280,) * 400, "quit"]) + "\n"
    ran = subprocess.run(["bash", "-c", f"ulimit -f 150; exec {words}"], input=typed, capture_output=True, text=True)
    assert ran.returncode == 74
    assert ran.stderr.startswith("NOT STORED: the event noted. ")
    assert "Nothing more is recorded until the program is started again" in ran.stderr
    assert "Traceback" not in ran.stderr
    home = Home(own_home)
    assert run("verify").returncode == 0
    kept = len(list(read(home.trail)))
    assert 5 < kept < 400
    assert session("resume", "last", "--plain", "--no-radio").returncode == 3
    assert len(list(read(home.trail))) == kept + 2
