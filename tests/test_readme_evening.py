"""The first evening of the README, command by command, with a simulated caliper that no profile knows in the real one's
place: bleak's Linux backend in the program, the caliper in a process of its own.
"""

import asyncio
import os
import re
import signal
import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logger import events as ev
from logger.shelf.shelf import records
from simulators.bluez.private_bus import PrivateBus, missing
from simulators.bluez.remote import RemoteStandIn
from tests.readme import ROOT, block, section, shown_after, words_of
from tests.readme_run import Program
from tui.exits import Exit, by_signal

if why := missing():
    pytest.skip(why, allow_module_level=True)

LIMIT_S = 120.0
SERIAL = "DG-2"
CALIPER = f"unmet:{SERIAL}:Depot gauge"
CALIBRATED, DUE = "2026-10-01", "2027-10-01"
"""Days in README; here they lie about today, so that the calibration is neither overdue nor to come."""
LISTENS = {"evening: scan", "evening: learn", "evening: add"}


@dataclass(frozen=True)
class Press:
    """The caliper's button is pressed at so many hundredths of a millimetre."""

    hundredths: int

    @property
    def frame(self) -> str:
        """A5, kind, two zeros, hundredths of a mm (signed, little-endian), a sum: an encoding that nobody has met."""
        body = b"\xa5\x01\x00\x00" + self.hundredths.to_bytes(2, "little", signed=True)
        return (body + bytes([sum(body) & 0xFF])).hex()


Deed = Press | str
"""A press, or a line that the person types."""
INTERRUPT = "Ctrl+C"


@dataclass
class Evening:
    """One folder, one home, one caliper."""

    folder: Path
    environment: dict[str, str]
    remote: RemoteStandIn

    async def does(self, name: str, *script: tuple[str, Deed], code: int = Exit.DONE) -> str:
        """Run the command of a block; wait for words, then do a deed, and so on; return all that was said."""
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "tui.cli", *words_of(dated(block(name).text))),
            *(("--seconds", "1") if name in LISTENS else ()),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.STDOUT,
            cwd=self.folder,
            env=self.environment,
        )
        assert process.stdout is not None
        said: list[str] = []
        for words, deed in script:
            while not said or words not in said[-1]:
                line = (await process.stdout.readline()).decode()
                assert line, (words, said)
                said.append(line)
            await self._do(process, deed)
            said.append("")
        rest = (await process.stdout.read()).decode()
        assert await process.wait() == code, (said, rest)
        return "".join(said) + rest

    async def _do(self, process: asyncio.subprocess.Process, deed: Deed) -> None:
        if isinstance(deed, Press):
            await self.remote.tell("send", SERIAL, deed.frame)
        elif deed == INTERRUPT:
            process.send_signal(signal.SIGINT)
        else:
            assert process.stdin is not None
            process.stdin.write(f"{deed}\n".encode())


def dated(text: str) -> str:
    """README's text with its days put about today."""
    today = datetime.now(tz=UTC)
    text = text.replace(CALIBRATED, f"{today - timedelta(days=40):%Y-%m-%d}")
    return text.replace(DUE, f"{today + timedelta(days=300):%Y-%m-%d}")


def told_alike(text: str) -> list[str]:
    """The lines of an output, without what differs each time: the time of day, how long it listened."""
    text = re.sub(r"\b[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}\b", "TIME", text)
    return [line.strip() for line in re.sub(r"\bin [0-9]+ s\b", "in N s", text).splitlines() if line.strip()]


def need_shown(name: str, said: str) -> None:
    """Hold what README shows after a block against what was said: each line of it, in its order."""
    found = iter(told_alike(said))
    for line in told_alike(dated(shown_after(name).text)):
        assert any(each == line for each in found), (line, said)


async def test_the_evening_goes_as_it_is_told(tmp_path: Path, own_home: Path) -> None:
    (tmp_path / "first-evening.toml").write_text(block("the evening's sheet").text, encoding="utf-8")
    async with asyncio.timeout(LIMIT_S), PrivateBus() as bus, RemoteStandIn(bus, [CALIPER]) as remote:
        environment = {**os.environ, **bus.environ(), "EVENHAND_HOME": str(own_home), "PYTHONPATH": str(ROOT)}
        evening = Evening(tmp_path, environment, remote)
        await met(evening)
        await measured(evening)
    assert (tmp_path / "evening.jsonl").is_file()
    assert [path.name for path in (own_home / "profiles").iterdir()] == ["depot-gauge.toml"]
    looked_at(Program(tmp_path), own_home)


async def met(evening: Evening) -> None:
    """Steps 2 to 5: found, learned, watched, added."""
    need_shown("evening: scan", await evening.does("evening: scan", code=Exit.NOTHING_TO_TALK_TO))
    learned = await evening.does(
        "evening: learn",
        ("Linked to Depot gauge.", Press(3041)),
        ("#1  ", "30.41 mm"),
        ("Noted: #1", Press(1250)),
        ("#2  ", "12.50 mm"),
        ("Noted: #2", Press(-12)),
        ("#3  ", "-0.12 mm"),
    )
    need_shown("evening: learn", learned)
    watched = await evening.does(
        "evening: watch", ("caliper ready", Press(599)), ("5.99 mm", INTERRUPT), code=by_signal(signal.SIGINT)
    )
    need_shown("evening: watch", watched)
    added = await evening.does(
        "evening: add",
        ("Ready.", Press(3041)),
        ("Received: 30.41 mm", "yes"),
        ("Step of its display", "0.01 mm"),
        ("Expanded uncertainty", ""),
        ("Number of its certificate", ""),
    )
    need_shown("evening: add", added)


async def measured(evening: Evening) -> None:
    """Steps 6 and 7: the sheet is checked, the zero taken, one thing measured."""
    assert "first-evening: 2 steps, 2 checks" in await evening.does("evening: check")
    said = await evening.does(
        "evening: start",
        ("jaws (caliper): ready", Press(0)),
        ("Next: Shank of a 6 mm drill", Press(597)),
        ("Next: Everything passes", "close"),
    )
    need_shown("evening: start", said)


def looked_at(program: Program, home: Path) -> None:
    """Step 8, and the evening of a caliper that sends nothing open."""
    for command in block("evening: look").lines:
        assert program.shell(command).returncode == Exit.DONE, command
    assert "Shank of a 6 mm drill" in (program.folder / "first-evening.html").read_text(encoding="utf-8")
    done = program.shell(block("evening: by hand").text)
    assert done.returncode == Exit.DONE
    need_shown("evening: by hand", done.stdout)
    taken = [each.event for each in records(home / "trail.sqlite") if isinstance(each.event, ev.ReadingTaken)]
    assert [(each.tool, each.source, each.value) for each in taken] == [
        ("jaws", "profile", "0.00"),
        ("jaws", "profile", "5.97"),
        ("jaws-typed", "typed", "0.00"),
        ("jaws-typed", "typed", "5.97"),
    ]


def test_the_doctor_is_asked_first() -> None:
    code, said = Program(ROOT).here(block("evening: doctor").lines[0])
    assert code in (Exit.DONE, Exit.WARNED, Exit.UNFIT)
    assert all(line[0] in "✓!✗" for line in said.splitlines())


def test_every_command_of_the_evening_is_run_here() -> None:
    own = Path(__file__).read_text(encoding="utf-8")
    names = re.findall(r"<!-- (.*evening.*) -->", section("## A first evening with a real caliper"))
    assert len(names) == 10
    assert all(f'"{name}"' in own for name in names)
