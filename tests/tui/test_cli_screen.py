"""The screen as the command line starts it, on a real pseudo-terminal."""

import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

from logger import events as ev
from logger.shelf.shelf import records
from tui.exits import Exit

from .hand import HAND_S

START = ("start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--no-radio")
RESTORED = "\x1b[?1049l"
"""The terminal leaves the alternate screen (xterm control sequences, DECRST 1049)."""
LIMIT_S = 30
F2 = "\x1bOQ"


@pytest.fixture
def screen() -> Iterator["pexpect.spawn[str]"]:
    """A session that shows its first prompt."""
    words = ["-m", "tui.cli", *START]
    terminal = pexpect.spawn(sys.executable, words, timeout=LIMIT_S, dimensions=(24, 80), encoding="utf-8")
    _acknowledged(terminal)
    terminal.expect("Mileage")
    yield terminal
    terminal.close(force=True)


def _acknowledged(terminal: "pexpect.spawn[str]") -> None:
    """Go through the pages before the job."""
    for page in ("Kit and tools", "Mind these"):
        _read(terminal, page, F2)


def _read(terminal: "pexpect.spawn[str]", page: str, answer: str) -> None:
    """Answer a page as a hand that reads it first."""
    terminal.expect(page)
    terminal.delaybeforesend = HAND_S
    terminal.send(answer)
    terminal.delaybeforesend = None


def _ended(terminal: "pexpect.spawn[str]") -> int | None:
    terminal.expect_exact(RESTORED)
    terminal.expect(pexpect.EOF)
    terminal.close()
    return terminal.exitstatus


@pytest.mark.pty
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_gives_the_terminal_back_and_leaves_the_job_open(
    screen: "pexpect.spawn[str]", own_home: Path, number: signal.Signals
) -> None:
    screen.kill(number)
    assert _ended(screen) == 128 + number
    *_, last = records(own_home / "trail.sqlite")
    assert last.event == ev.Interrupted(why=f"ended by {number.name}")


@pytest.mark.pty
def test_leaving_at_the_second_press_keeps_the_job_open(screen: "pexpect.spawn[str]", own_home: Path) -> None:
    screen.sendcontrol("q")
    screen.expect("again leaves job j1 open")
    screen.sendcontrol("q")
    assert _ended(screen) == 3
    *_, last = records(own_home / "trail.sqlite")
    assert isinstance(last.event, ev.Interrupted)


BROKEN = """
import sys
from tui.cli import main
from tui.screens.job import JobScreen
def broken(*_, **__): raise ZeroDivisionError("while drawing")
JobScreen.show = broken
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.pty
def test_a_fault_of_the_screen_is_a_sentence_not_a_traceback(own_home: Path) -> None:
    words = ["-c", BROKEN, *START]
    terminal = pexpect.spawn(sys.executable, words, timeout=LIMIT_S, dimensions=(24, 80), encoding="utf-8")
    _acknowledged(terminal)
    terminal.expect(pexpect.EOF)
    terminal.close()
    assert terminal.exitstatus == Exit.FAULT
    assert "A fault of the program stopped it (ZeroDivisionError)" in (terminal.before or "")
    assert "while drawing" not in (terminal.before or "")
    (account,) = own_home.glob("crash-*.txt")
    assert "ZeroDivisionError: while drawing" in account.read_text()


@pytest.mark.pty
def test_a_redirected_stderr_leaves_no_blank_screen(tmp_path: Path) -> None:
    said = tmp_path / "said"
    words = ["-c", f'exec "$0" -m tui.cli {" ".join(START[:2])} --machine m --by b 2>"{said}"', sys.executable]
    terminal = pexpect.spawn("/bin/sh", words, timeout=LIMIT_S, encoding="utf-8")
    terminal.expect(pexpect.EOF)
    terminal.close()
    assert terminal.exitstatus == Exit.BAD_INPUT
    assert "This is not a terminal, so there is no screen. Add --plain" in said.read_text()


@pytest.mark.pty
@pytest.mark.parametrize("words", [(), ("start",)], ids=["evenhand", "evenhand start"])
def test_without_words_a_job_is_chosen_and_begun(own_home: Path, words: tuple[str, ...]) -> None:
    begun = ["-m", "tui.cli", *words]
    terminal = pexpect.spawn(sys.executable, begun, timeout=LIMIT_S, dimensions=(24, 80), encoding="utf-8")
    for question, answer in (
        ("Which job", F2),
        ("Which machine", f"Depot 9\r{F2}"),
        ("Who are you", f"Robin{F2}"),
        ("Kit and tools", F2),
        ("Mind these", F2),
    ):
        _read(terminal, question, answer)
    terminal.expect("Mileage")
    terminal.close(force=True)
    first = next(iter(records(own_home / "trail.sqlite"))).event
    assert isinstance(first, ev.JobOpened)
    assert (first.sheet, first.machine, first.by) == ("courier-chain", "Depot 9", "Robin")


@pytest.mark.pty
def test_a_signal_while_choosing_gives_the_terminal_back_and_begins_nothing(own_home: Path) -> None:
    terminal = pexpect.spawn(sys.executable, ["-m", "tui.cli", "start"], timeout=LIMIT_S, encoding="utf-8")
    terminal.expect("Which job")
    terminal.kill(signal.SIGTERM)
    assert _ended(terminal) == 128 + signal.SIGTERM
    assert not (own_home / "trail.sqlite").exists()
