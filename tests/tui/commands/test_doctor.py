"""`doctor`: the exit code by the worst finding, and the probes on what a host may be like."""

import asyncio
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from logger.settings.settings import Home
from logger.toolbook.file import write_toolbook
from logger.toolbook.toolbook import Toolbook
from simulators.bluez.private_bus import PrivateBus, missing
from simulators.bluez.remote import RemoteStandIn
from tests.logger.toolbook.made import tool
from tests.tui.reached import Talk
from tui.commands.doctor import examine, report
from tui.exits import Exit
from tui.host.findings import AdapterFact, HomeFact, Kill, TerminalFact
from tui.host.probes import ThisHost


@dataclass(frozen=True)
class Well:
    """A host on which everything is as it should be."""

    answer: str = "ok"
    overdue: tuple[str, ...] = ()

    def bus_address(self) -> str:
        return "unix:path=/bus"

    async def bus_answer(self) -> str:
        return self.answer

    async def adapters(self) -> Sequence[AdapterFact]:
        assert self.answer == "ok", "a bus that does not answer is not asked again"
        return [AdapterFact("hci0", "00:00:5E:00:53:01", True)]

    def chosen_adapter(self) -> str:
        return ""

    def kills(self) -> Sequence[Kill]:
        return []

    async def bluez(self) -> str | None:
        return "bluetoothctl: 5.72"

    def sqlite(self) -> str:
        return "3.45.0"

    def home(self) -> HomeFact:
        return HomeFact("/home", free=1 << 40)

    def synchronised(self) -> bool | None:
        return True

    async def broker(self) -> tuple[bool, str, str]:
        return False, "", ""

    def toolbook(self) -> tuple[str, Sequence[str], int]:
        return "", self.overdue, 2

    def terminal(self) -> TerminalFact:
        return TerminalFact(True, 80, 24, {"TERM": "xterm-256color", "LANG": "C.UTF-8"})


@pytest.mark.parametrize(
    ("host", "code", "worst"),
    [
        (Well(), Exit.DONE, "fine"),
        (Well(overdue=("jaws",)), Exit.WARNED, "warning"),
        (Well(answer="no service"), Exit.UNFIT, "error"),
        (replace(Well(), answer="denied", overdue=("jaws",)), Exit.UNFIT, "error"),
    ],
)
async def test_the_exit_code_tells_the_worst(tmp_path: Path, host: Well, code: Exit, worst: str) -> None:
    found, talk = await examine(host), Talk(tmp_path)
    assert report(talk.shell, found, as_data=False) == code
    assert len(talk.out) == len(found) == 13
    assert report(talk.shell, found, as_data=True) == code
    told = json.loads(talk.out[-1])
    assert told["worst"] == worst
    assert {"check", "level", "said", "fix"} == set(told["findings"][0])


def here(folder: Path, **environment: str) -> ThisHost:
    return ThisHost(Home(folder), environment, folder / "sys")


def test_switches_of_the_kernel_are_read(tmp_path: Path) -> None:
    for name, facts in {
        "rfkill0": {"type": "bluetooth", "name": "hci0", "soft": "1", "hard": "0"},
        "rfkill1": {"type": "wlan", "name": "phy0", "soft": "1", "hard": "1"},
        "rfkill2": {"type": "bluetooth", "name": "thinkpad", "soft": "0", "hard": "1"},
        "rfkill3": {"type": "bluetooth"},
    }.items():
        folder = tmp_path / "sys" / "class" / "rfkill" / name
        folder.mkdir(parents=True)
        for key, text in facts.items():
            (folder / key).write_text(text + "\n")
    assert here(tmp_path).kills() == [Kill("hci0", True, False), Kill("thinkpad", False, True), Kill("", False, False)]
    assert here(tmp_path / "none").kills() == []


def test_a_home_is_looked_at_and_left_as_it_was(tmp_path: Path) -> None:
    fact = here(tmp_path / "a" / "b").home()
    assert (fact.trouble, fact.remote) == ("", "")
    assert fact.free is not None
    assert fact.free > 0
    assert list(tmp_path.iterdir()) == []


def test_a_home_where_nothing_can_be_made_is_told() -> None:
    assert here(Path("/proc/evenhand")).home().trouble


def test_a_toolbook_is_looked_at(tmp_path: Path) -> None:
    assert here(tmp_path).toolbook() == ("", [], 0)
    write_toolbook(tmp_path / "toolbook.toml", Toolbook(tool=(tool("a", due="2020-01-01"), tool("b"))))
    assert here(tmp_path).toolbook() == ("", ["a"], 2)
    (tmp_path / "toolbook.toml").write_text("{")
    assert "is not TOML" in here(tmp_path).toolbook()[0]


async def test_the_broker_is_knocked_at_only_where_there_is_to_be_one(tmp_path: Path) -> None:
    assert await here(tmp_path).broker() == (False, "localhost:8883", "")
    server = await asyncio.start_server(lambda _, writer: writer.close(), "127.0.0.1", 0)
    port = server.sockets[0].getsockname()[1]
    settings = tmp_path / "settings.toml"
    settings.write_text(f'[shop]\non = true\nhost = "127.0.0.1"\nport = {port}\n')
    async with server:
        assert await here(tmp_path).broker() == (True, f"127.0.0.1:{port}", "")
    assert (await here(tmp_path).broker())[2] != ""
    settings.write_text("{")
    on, _, trouble = await here(tmp_path).broker()
    assert not on
    assert trouble


async def test_a_version_is_what_the_system_tells(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert await here(tmp_path).bluez() is None
    stub = tmp_path / "bluetoothctl"
    stub.write_text("#!/bin/sh\necho 'bluetoothctl: 5.72'\n")
    stub.chmod(0o755)
    assert await here(tmp_path).bluez() == "bluetoothctl: 5.72\n"


def test_the_clock_is_asked(tmp_path: Path) -> None:
    assert here(tmp_path).synchronised() in (True, False, None)


def run(home: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "tui.cli", "doctor", *words],
        env={**os.environ, "EVENHAND_HOME": str(home), **environment},
        capture_output=True,
        text=True,
    )


def test_a_missing_bus_is_named_and_ends_it_badly(tmp_path: Path) -> None:
    done = run(tmp_path, DBUS_SYSTEM_BUS_ADDRESS="unix:path=/nowhere/bus")
    assert done.returncode == Exit.UNFIT
    assert done.stderr == ""
    assert done.stdout.startswith("✗ error    bus       There is no system bus at unix:path=/nowhere/bus. Fix: Install")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(bool(missing()), reason=missing() or "a private bus is there")
async def test_a_bus_with_the_service_and_an_adapter_that_is_switched_off_and_on(tmp_path: Path) -> None:
    async with PrivateBus() as bus, RemoteStandIn(bus, ["caliper:DC-1"]) as remote:
        for word, level in (("off", "error"), ("on", "fine")):
            await remote.tell("power", word)
            done = await asyncio.to_thread(run, tmp_path, "--json", **bus.environ())
            told = {each["check"]: each for each in json.loads(done.stdout)["findings"]}
            assert told["bus"]["level"] == "fine"
            assert told["bluez"]["said"] == "BlueZ is 5.72."
            assert told["adapter"]["level"] == level
