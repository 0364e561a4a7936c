"""How fast the screen and the commands are: `python -m tests.bench.paint_speed [READINGS] [SECONDS]`.

The screen runs on a pseudo-terminal, with the real driver of the terminal and a real trail: from a reading on the
disk to the paint handed to the terminal, to the bell, and the share of a core that a wrench takes. Commands are
compared with `python -c pass`, which takes turns with them, by processor time.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pexpect

from .rows import Row, of_children, quantile, seconds, table

TOP = Path(__file__).parents[2]
START = ("start", "courier-chain", "--machine", "Depot motorcycle 7", "--by", "A. Mechanic", "--no-radio")
PASS = (sys.executable, "-c", "pass")
ENV = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
"""What is installed is compiled once, not at each start, whatever the developer's own shell says."""
PROGRAM = str(Path(sys.executable).with_name("evenhand"))
"""As a person starts it; `python -m tui.cli` would compile that file anew each time."""
HEADLESS = (
    ("--help", ("--help",), "<= 2.5"),
    ("jobs", ("jobs",), "<= 15"),
    ("verify", ("verify",), "<= 15"),
    ("sheets list", ("sheets", "list"), "<= 15"),
    ("tools list", ("tools", "list"), "<= 15"),
    ("history", ("history", "Depot"), "<= 15"),
    ("due", ("due",), "<= 15"),
    ("judge (units)", ("judge", "--window", "35mm", "37mm", "--value", "36.2mm"), "<= 30"),
)


def on_screen(readings: int, streamed_s: float) -> dict[str, Any]:
    """Run `painted` on a terminal of 80 × 24 and return what it found."""
    with tempfile.TemporaryDirectory() as folder:
        words = ["-m", "tests.bench.painted", folder, str(readings), str(streamed_s)]
        environment = {**ENV, "TERM": "xterm-256color"}
        child = pexpect.spawn(sys.executable, words, env=environment, dimensions=(24, 80), cwd=TOP, timeout=None)
        child.expect(pexpect.EOF)
        child.close()
        found: dict[str, Any] = json.loads((Path(folder) / "found.json").read_text(encoding="utf-8"))
        return found


def _run(*words: str) -> None:
    subprocess.run(words, env=ENV, capture_output=True, cwd=TOP, check=True)  # what fails looks fast


def begun(home: str) -> None:
    """Leave a trail with one job whose cautions are read."""
    words = [PROGRAM, "--home", home, *START, "--plain"]
    subprocess.run(words, env=ENV, input=b"read\nquit\n", capture_output=True, cwd=TOP, check=False)  # 3: left open


def first_paint(home: str) -> float:
    """Take the job up on the screen; return the seconds until its last row, its ending left out."""
    environment = {**ENV, "TERM": "xterm-256color", "EVENHAND_HOME": home}
    words = ["resume", "last", "--no-radio"]
    begun_at = time.perf_counter()
    child = pexpect.spawn(PROGRAM, words, env=environment, dimensions=(24, 80), cwd=TOP, timeout=60)
    child.expect("F12")
    took = time.perf_counter() - begun_at
    child.close(force=True)
    return took


def commands(rounds: int) -> list[Row]:
    """Return each command against a bare interpreter, round by round, by processor time; the paint by the clock."""
    with tempfile.TemporaryDirectory() as home, tempfile.TemporaryDirectory() as painted_home:
        begun(home)
        begun(painted_home)
        _run(PROGRAM, "--home", home, "jobs")  # its index is there from now on
        found: dict[str, list[float]] = {name: [] for name, *_ in HEADLESS}
        painted = []
        for _ in range(rounds):
            bare = statistics.median(seconds(lambda: _run(*PASS), of_children) for _ in range(3))
            for name, words, _ in HEADLESS:
                whole = (PROGRAM, "--home", home, *words)
                found[name].append(seconds(lambda whole=whole: _run(*whole), of_children) / bare)  # type: ignore[misc]
            waited = statistics.median(seconds(lambda: _run(*PASS)) for _ in range(3))
            painted.append(first_paint(painted_home) / waited)
    rows = [Row(f"evenhand {name}", "python -c pass", tuple(found[name]), aim) for name, _, aim in HEADLESS]
    return [*rows, Row("first paint of a job, from the command on", "python -c pass", tuple(painted), "<= 40")]


def screen(rounds: int, readings: int, streamed_s: float) -> list[Row]:
    """Return how long paints and bells take, and what they cost."""
    found = [on_screen(readings, streamed_s) for _ in range(rounds)]

    def spread(what: str, share: float) -> tuple[float, ...]:
        return tuple(quantile(each[what], share) for each in found)

    return [
        Row("reading stored to paint, p50, ms", "", spread("paint", 0.5), "<= 2"),
        Row("reading stored to paint, p99, ms", "", spread("paint", 0.99), "<= 5"),
        Row("processor time of it, p50, ms", "", spread("work", 0.5)),
        Row("reading stored to bell, p99, ms", "", spread("bell", 0.99), "<= 100"),
        Row("share of a core with a wrench at 10 Hz, %", "", tuple(100 * each["stream"] for each in found), "<= 3"),
        Row("share of a core with nothing to do, %", "", tuple(100 * each["idle"] for each in found)),
    ]


def rows(quick: bool) -> list[Row]:
    """Return every figure of this file."""
    return [*screen(3, 60 if quick else 200, 3 if quick else 10), *commands(3 if quick else 9)]


def main(words: Sequence[str]) -> int:
    """Measure the screen with so many readings and seconds, then the commands, and print a table."""
    readings, streamed_s = (int(given) for given in (*words, *("200", "10")[len(words) :]))
    sys.stdout.write(f"{table([*screen(3, readings, streamed_s), *commands(9)])}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:3]))
