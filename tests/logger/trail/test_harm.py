"""What becomes of a trail when the world turns on it: full disks, torn logs, flipped bytes, several processes, clocks.

Every case ends in a trail that is a true beginning of what was acknowledged, or in a sentence that says what is wrong.
"""

import contextlib
import random
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from logger.errors import EvenhandError, NotStored
from logger.trail.file import little_room, need_room
from logger.trail.head import note_path
from logger.trail.proof import prove
from logger.trail.read import read, verify
from logger.trail.trail import Trail

from .appended import append_now
from .verifier import holds

# --- a disk that fills up -------------------------------------------------------------------------------------------

FILL = """
import pathlib, resource, sys
from logger.errors import NotStored
from logger.trail.trail import Trail
from tests.logger.trail.appended import append_now
if sys.argv[2] != "-":
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), int(sys.argv[2])))
with Trail.open(pathlib.Path(sys.argv[1])) as trail:
    event = {"kind": "reading_taken", "value": "36.20", "unit": "mm", "tool": "DC-1", "raw": "x" * 400}
    for n in range(10_000):
        try:
            print(append_now(trail, {"job": "j1", "event": event}).seq, flush=True)
        except NotStored as error:
            print(error, file=sys.stderr)
            break
    for attempt in range(3):
        try:
            append_now(trail, {"job": "j1", "event": {"kind": "confirmed"}})
        except NotStored as error:
            print(error, file=sys.stderr)
"""
MAY_MOUNT = shutil.which("unshare") and not subprocess.run(["unshare", "-m", "true"], capture_output=True).returncode
ON_A_SMALL_DISK = 'mount -t tmpfs -o size=300k none "$1" && "$2" -c "$3" "$1/trail.sqlite" -; cp "$1"/* "$4"'


def _by_limit(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", FILL, folder / "trail.sqlite", "200000"], capture_output=True, text=True
    )


def _by_disk(folder: Path) -> subprocess.CompletedProcess[str]:
    disk = folder.with_name("disk")
    disk.mkdir()
    words = ["unshare", "-m", "sh", "-c", ON_A_SMALL_DISK, "sh", str(disk), sys.executable, FILL, str(folder)]
    return subprocess.run(words, capture_output=True, text=True)


@pytest.mark.parametrize("how", [_by_limit, *([_by_disk] if MAY_MOUNT else [])])
def test_a_full_disk_stops_measuring_and_names_what_was_not_stored(tmp_path: Path, how: object) -> None:
    """In a process of its own, on a disk of 300 KiB where one can be mounted, else with a limit on the file's size."""
    folder = tmp_path / "home"
    folder.mkdir()
    assert callable(how)
    ran = how(folder)
    told = [int(line) for line in ran.stdout.split()]
    first, *later = ran.stderr.splitlines()
    assert first.startswith("NOT STORED: the reading 36.20 mm of DC-1. ")
    assert "take the last reading again then" in first
    assert ("is full. Make room" in first) or ("could not be written" in first)
    assert [line.split(". ")[0] for line in later] == ["NOT STORED: the event confirmed"] * 3
    path = folder / "trail.sqlite"
    assert prove(path).wrong == ()
    assert verify(path).count == told[-1] == len(told) > 5
    with Trail.open(path) as trail:
        assert append_now(trail, {"job": "j1"}).seq == told[-1] + 1
    assert holds(path)


def test_a_disk_that_is_nearly_full_is_told_before_a_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "trail.sqlite"
    for mib, says, refused in (
        (600, "", False),
        (400, "400 MiB left: make room soon", False),
        (99, "99 MiB", True),
    ):
        monkeypatch.setattr("logger.trail.file._room", lambda _, mib=mib: mib << 20)
        assert says in little_room(path)
        assert bool(little_room(path)) is bool(says)
        with pytest.raises(NotStored, match="too little to begin a job") if refused else contextlib.nullcontext():
            need_room(path)


# --- a log that is torn, a byte that is flipped ---------------------------------------------------------------------


@pytest.fixture(scope="module")
def cut_short(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A trail as a power cut leaves it: 40 events, the last of them in the write-ahead log alone."""
    folder = tmp_path_factory.mktemp("cut")
    Trail.open(folder / "live.sqlite").close()
    with Trail.open(folder / "live.sqlite") as trail:
        for n in range(40):
            append_now(trail, {"job": "j1", "n": n})
        for ending in ("", "-wal"):
            shutil.copy(folder / f"live.sqlite{ending}", folder / f"trail.sqlite{ending}")
    return folder / "trail.sqlite"


def _lay_out(cut_short: Path, folder: Path, log: bytes) -> Path:
    folder.mkdir()
    path = Path(shutil.copy(cut_short, folder / "trail.sqlite"))
    path.with_name("trail.sqlite-wal").write_bytes(log)
    return path


def test_a_torn_log_leaves_a_true_beginning(cut_short: Path, tmp_path: Path) -> None:
    log = cut_short.with_name("trail.sqlite-wal").read_bytes()
    whole = [event.bytes for event in read(cut_short)]
    chance, counts = random.Random(11), set()
    for number in range(60):
        torn = bytearray(log[: chance.randrange(len(log) + 1)])
        if number % 2 and torn:
            torn[chance.randrange(len(torn))] ^= 1 << chance.randrange(8)
        path = _lay_out(cut_short, tmp_path / str(number), bytes(torn))
        with Trail.open(path) as trail:
            count = trail.head.seq
            append_now(trail, {"job": "j1", "after": True})
        found = verify(path)
        assert (found.sound, found.count) == (True, count + 1)
        assert [event.bytes for event in read(path)][:count] == whole[:count]
        assert holds(path)
        counts.add(count)
    assert min(counts) < 10
    assert max(counts) > 30


def test_events_that_a_torn_log_lost_are_told_where_they_were_noted(cut_short: Path, tmp_path: Path) -> None:
    """After a clean end the note beside the file says how far the trail had come."""
    path = _lay_out(cut_short, tmp_path / "torn", b"")
    shutil.copy(note_path(cut_short.with_name("live.sqlite")), note_path(path))
    assert "had reached event 40: its end is gone" in prove(path).wrong[0]


def test_a_byte_flipped_anywhere_in_the_file_changes_nothing_unnoticed(cut_short: Path, tmp_path: Path) -> None:
    """Wherever it is flipped: it is told, or it lies where nothing is written and every event reads as it did."""
    source = tmp_path / "trail.sqlite"
    with contextlib.closing(sqlite3.connect(cut_short)) as db:
        db.execute("VACUUM INTO ?", (str(source),))
    data, whole = source.read_bytes(), [event.bytes for event in read(source)]
    chance, noticed = random.Random(12), 0
    for _ in range(150):
        place = chance.randrange(len(data))
        source.write_bytes(data[:place] + bytes([data[place] ^ 1 << chance.randrange(8)]) + data[place + 1 :])
        try:
            is_wrong = bool(prove(source).wrong)
        except EvenhandError as error:
            is_wrong = bool(error.message)
        noticed += is_wrong
        assert is_wrong or [event.bytes for event in read(source)] == whole
    assert noticed > 20


# --- several processes ----------------------------------------------------------------------------------------------

CONTEND = """
import pathlib, sys
from logger.errors import TrailBusy
from logger.trail.trail import Trail
from tests.logger.trail.appended import append_now
stored = 0
while stored < 50:
    try:
        with Trail.open(pathlib.Path(sys.argv[1])) as trail:
            for _ in range(5):
                append_now(trail, {"job": sys.argv[2]})
                stored += 1
    except TrailBusy as error:
        assert "replay" in error.remedy
"""


def test_four_processes_that_contend_for_a_trail_never_fork_it(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    running = [
        subprocess.Popen([sys.executable, "-c", CONTEND, path, f"j{n}"], stderr=subprocess.PIPE) for n in range(4)
    ]
    for process in running:
        _, said = process.communicate()
        assert (process.returncode, said) == (0, b"")
    assert (verify(path).sound, verify(path).count) == (True, 200)
    assert [len(list(read(path, f"j{n}"))) for n in range(4)] == [50] * 4
    assert holds(path)
