"""The screen on a real pseudo-terminal: what no stage shows, bytes in and bytes out."""

import os
import pty
import re
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pexpect
import pytest

from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.sheets.store import open_sheet
from logger.shelf.shelf import records
from logger.toolbook.file import write_toolbook
from logger.toolbook.toolbook import Toolbook
from logger.trail.trail import Trail
from tests.logger.toolbook.made import tool
from tests.played import WHOLE, play
from tui.replay.haste import OPENED_NS

from .hand import HAND_S, Hand, StillClock, at
from .hostile import HOSTILE

pytestmark = pytest.mark.pty

F2, F3, F4, F8, F9, F12 = "\x1bOQ", "\x1bOR", "\x1bOS", "\x1b[19~", "\x1b[20~", "\x1b[24~"
_START = ["start", "courier-chain", "--machine", "Depot motorcycle 7", "--by", "A. Mechanic", "--no-radio"]
Spawn = Callable[..., "pexpect.spawn[Any]"]


@pytest.fixture
def spawn(own_home: Path) -> Iterator[Spawn]:
    """Start the program on a terminal of its own."""
    started: list[pexpect.spawn[Any]] = []

    def begin(*words: str, **environment: str) -> "pexpect.spawn[Any]":
        child = pexpect.spawn(
            sys.executable,
            ["-m", "tui.cli", *(words or _START)],
            env={**os.environ, "TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none", **environment},
            dimensions=(24, 80),
            timeout=20,
            cwd=Path(__file__).parents[2],
        )
        child.delaybeforesend = None
        started.append(child)
        if not words:
            _acknowledged(child)
        child.expect("F12")
        return child

    yield begin
    for child in started:
        child.close(force=True)


def _press(child: "pexpect.spawn[Any]", key: str, seen: str = "") -> None:
    """Press a key as a hand that reads what is on the screen first, to `seen` where that is given."""
    if seen:
        child.expect(seen)
    child.delaybeforesend = HAND_S
    child.send(key)
    child.delaybeforesend = None


def _acknowledged(child: "pexpect.spawn[Any]", *pages: str) -> None:
    """Go through the pages before a job, as far as they are only to be read."""
    for page in pages or ("All laid out", "Read, begin"):
        _press(child, F2, page)
    child.expect("Mileage")


def _events(home: Path) -> list[ev.Event]:
    return [record.event for record in records(home / "trail.sqlite")]


def _before(child: "pexpect.spawn[Any]") -> str:
    """What was written up to what was expected."""
    return bytes(child.before or b"").decode("utf-8", "replace")


def _exit_code(child: "pexpect.spawn[Any]") -> int | None:
    child.expect(pexpect.EOF)
    child.close()
    return child.exitstatus


def test_a_burst_of_200_lines_is_200_exact_readings(spawn: Spawn, own_home: Path) -> None:
    child = spawn()
    child.send("".join(f"{number}.25 mm\r" for number in range(200)))
    child.expect("199.25 mm typed")
    taken = [event for event in _events(own_home) if isinstance(event, ev.ReadingTaken)]
    assert [event.value for event in taken] == [f"{number}.25" for number in range(200)]
    assert {(event.source, event.key_gap_ms is None) for event in taken} == {("typed", False)}


def test_pasted_lines_are_refused_and_are_no_readings(spawn: Spawn, own_home: Path) -> None:
    child = spawn()
    child.send("\x1b[200~101.8 mm\r102.1 mm\r\x1b[201~")
    child.expect("Pasting is not taken")
    child.send("36.2 mm\r")
    child.expect("36.2 mm typed")
    values = [event.value for event in _events(own_home) if isinstance(event, ev.ReadingTaken)]
    assert values == ["36.2"]


@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGHUP, 129), (signal.SIGINT, 130)])
def test_a_signal_leaves_the_job_open_with_its_name(spawn: Spawn, own_home: Path, number: int, code: int) -> None:
    child = spawn()
    child.kill(number)
    assert _exit_code(child) == code
    assert _events(own_home)[-1] == ev.Interrupted(why=f"ended by {signal.Signals(number).name}")
    assert "\x1b[?1049l" in _before(child), "the terminal is given back"


def test_a_terminal_that_is_closed_leaves_the_job_open(own_home: Path) -> None:
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(Path(__file__).parents[2])
        os.environ["TERM"] = "xterm-256color"
        os.execv(sys.executable, [sys.executable, "-m", "tui.cli", *_START])
    shown = b""
    for page, answer in ((b"All laid out", F2), (b"Read, begin", F2), (b"Mileage", "")):
        while page not in shown:
            shown += os.read(terminal, 65536)
        time.sleep(HAND_S)  # as long as a hand waits: a key that comes sooner is held to be unread
        os.write(terminal, answer.encode())
    os.close(terminal)
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) == 129
    assert isinstance(_events(own_home)[-1], ev.Interrupted)


def test_ctrl_c_asks_first_and_ctrl_z_does_nothing(spawn: Spawn, own_home: Path) -> None:
    child = spawn()
    child.send("\x1a\x03")
    child.expect("evenhand resume j1")
    child.send("\x03")
    assert _exit_code(child) == 3
    left = _before(child).rpartition("\x1b[?1049l")[2]
    assert "The job stays open. Take it up again with: evenhand resume j1" in left
    assert _events(own_home)[-1] == ev.Interrupted(why="left by the person")


def test_keys_that_still_come_while_leaving_reach_no_shell(spawn: Spawn) -> None:
    child = spawn()
    child.send(F12)
    child.expect("evenhand resume j1")
    child.send(F12 + "77.34\r" * 5)
    assert _exit_code(child) == 3
    assert "77.34" not in _before(child)


def test_a_dialog_is_not_answered_by_a_burst(spawn: Spawn, own_home: Path) -> None:
    child = spawn()
    child.send(F4)
    child.expect("The number")
    child.send("12.01\r9.50\r")
    child.expect("Enter and Tab do nothing here")
    assert not any(isinstance(event, ev.Noted) for event in _events(own_home))


async def _brought_to(home: Path, step: str) -> None:
    """Bring a job on the trail to a step."""
    clock = StillClock()
    with Trail.open(home / "trail.sqlite") as trail:
        bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", "A. Mechanic"))
        await bench.cautions_read()
        await Hand(bench, clock).until(at(step))


async def test_a_burst_of_one_key_confirms_one_prompt(spawn: Spawn, own_home: Path) -> None:
    await _brought_to(own_home, "pin")
    child = spawn("resume", "last", "--no-radio")
    _press(child, F2 * 4)
    child.expect("Confirmed|Read it first")
    child.send("x")  # what was pressed before it is answered
    child.expect("typing: x")
    confirmed = [event.step for event in _events(own_home) if isinstance(event, ev.Confirmed)]
    assert confirmed[-1] == "pin"
    _press(child, F2 * 3)
    child.expect("Lubricated")
    child.send("y")
    child.expect("typing: ")
    confirmed = [event.step for event in _events(own_home) if isinstance(event, ev.Confirmed)]
    assert confirmed[-2:] == ["pin", "brake"]


async def test_keys_pressed_while_the_program_stalls_answer_nothing_that_came_later(
    spawn: Spawn, own_home: Path
) -> None:
    await _brought_to(own_home, "pin")
    child = spawn("resume", "last", "--no-radio")
    _press(child, "\x1b[5~")
    child.kill(signal.SIGSTOP)
    _press(child, F2)
    _press(child, F2)
    child.kill(signal.SIGCONT)
    _press(child, "x")
    child.expect("typing: x")
    confirmed = [event.step for event in _events(own_home) if isinstance(event, ev.Confirmed)]
    assert confirmed[-1] == "pin"


def test_a_burst_reads_no_pages_before_a_job(spawn: Spawn, own_home: Path) -> None:
    child = spawn(*_START)
    _press(child, F2 * 6, "All laid out")
    child.expect("Read, begin")
    child.send(F12)
    assert _exit_code(child) == 0
    assert not (own_home / "trail.sqlite").exists()


async def test_no_hostile_byte_reaches_the_terminal(own_home: Path, spawn: Spawn) -> None:
    payloads = [text for text in HOSTILE if re.search(r"[\x00-\x1f\x9b\u202e\u2066\u200b\u2028]", text)]
    with Trail.open(own_home / "trail.sqlite") as trail:
        opening = Opening(open_sheet("courier-chain"), "\x1b[2J\x1b[31mM7", "\x1b]52;c;QQ==\x07")
        bench = await Bench.open(trail, StillClock(), opening)
        for number, check in enumerate([check for check in bench.moment.verdicts if check != "finish"]):
            text = payloads[number % len(payloads)]
            await bench.override(check, f"x{text}", f"y{text}")
    child = spawn("resume", "last", "--no-radio")
    _press(child, F2, "Read, begin")
    child.expect("F12")
    written = _before(child)
    child.expect("Lubricated")
    written += _before(child)
    _press(child, F2)
    child.expect("Confirmed: Lubricated")
    written += _before(child)
    _press(child, F9)
    child.expect("not to be ridden or run")
    written += _before(child)
    child.send("\x1b[6~" * 3)
    child.expect("Brake firm")
    written += _before(child)
    child.send(F12)
    assert _exit_code(child) == 0
    written += _before(child)
    assert "Job j1 is closed. Its record: evenhand record j1" in written.rpartition("\x1b[?1049l")[2]
    assert "overridden" in written
    assert not [text for text in payloads if f"x{text}" in written or f"y{text}" in written]
    assert "\x1b]52" not in written
    assert "\x1b[2J\x1b[31m" not in written


async def test_a_replay_is_stepped_signed_off_and_left(own_home: Path, spawn: Spawn) -> None:
    await play(own_home / "trail.sqlite", WHOLE)
    child = spawn("replay", "j1")
    child.expect("all as recorded")
    child.send(F3)
    child.expect("HIGH")
    child.send(F4)
    child.expect("not measured yet")
    child.send(F8)
    child.expect("Sign the job off")
    child.delaybeforesend = OPENED_NS / 10**9  # as a hand that looks first
    child.send("Sam")
    child.expect("Sam")
    child.send(F3)
    child.expect("━.{0,60}In your words".encode())  # the border of the field that has the focus is heavy
    child.send("agreed")
    child.expect("agreed")
    child.send(F2)
    child.expect("Signed off: number")
    assert _events(own_home)[-1] == ev.Commented(at=36, name="Sam", text="agreed", signs=True)
    child.send(F12)
    assert _exit_code(child) == 0
    assert "\x1b[?1049l" in _before(child)
    child = spawn("replay", "j1")
    child.send("\x1b[F")
    child.expect("COMMENTS  1, 1 signed off")
    assert "another prompt" not in _before(child)


def test_cautions_acknowledged_on_the_screen_are_on_the_trail(spawn: Spawn, own_home: Path) -> None:
    child = spawn("start", "courier-chain", "--machine", "Depot 7", "--no-radio")
    _press(child, "Robin" + F2)
    _acknowledged(child)
    assert _events(own_home)[1] == ev.CautionsRead(by="Robin", count=6)


def test_who_takes_a_job_up_reads_its_cautions_once(spawn: Spawn, own_home: Path) -> None:
    child = spawn()
    child.send(F12 + F12)
    assert _exit_code(child) == 3
    child = spawn("resume", "last", "--no-radio")
    child.expect("Mileage")  # they are read
    child.send(F12 + F12)
    assert _exit_code(child) == 3
    child = spawn("resume", "last", "--by", "Kim", "--no-radio")
    _press(child, F2, "Read, begin")
    child.expect("Mileage")
    read = [event for event in _events(own_home) if isinstance(event, ev.CautionsRead)]
    assert read == [ev.CautionsRead(by="A. Mechanic", count=6), ev.CautionsRead(by="Kim", count=6)]


def test_leaving_before_the_cautions_are_read_begins_no_job(spawn: Spawn, own_home: Path) -> None:
    child = spawn(*_START)
    _press(child, F2, "All laid out")
    child.expect("Read, begin")
    child.send(F12)
    assert _exit_code(child) == 0
    assert not (own_home / "trail.sqlite").exists()


def test_the_tool_that_is_picked_on_the_screen_is_on_the_trail(spawn: Spawn, own_home: Path) -> None:
    write_toolbook(own_home / "toolbook.toml", Toolbook(tool=(tool("jaws", due="2199-01-01"), tool("spare"))))
    child = spawn(*_START)
    child.expect("spare")
    child.send("\x1b[B")
    child.expect("SN-spare|no accuracy stated; calibration not stated")
    _press(child, F2)
    _acknowledged(child)
    child.expect("F12")
    picked = _events(own_home)[1]
    assert isinstance(picked, ev.ToolsPicked)
    assert [(pick.tool, pick.steps) for pick in picked.picks] == [("spare", ("wear", "slack", "sides"))]


def test_without_colour_everything_is_grey_and_verdicts_are_words(spawn: Spawn) -> None:
    child = spawn(NO_COLOR="1", COLORTERM="truecolor")
    child.send(F12)
    child.expect("evenhand resume j1")
    child.send(F12)
    assert _exit_code(child) == 3
    shown = _before(child)
    colours = re.findall(r"[34]8;2;(\d+);(\d+);(\d+)", shown)
    assert all(len(set(colour)) == 1 for colour in colours)
