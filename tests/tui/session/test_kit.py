"""Tools of the toolbook in a job: called by their ids, described on the trail, warned of, and stopped when doubled."""

import asyncio
import os
from collections.abc import AsyncIterator, Awaitable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

import pytest

from drivers.profile.file import shipped_profiles
from logger import events as ev
from logger.bench.bench import Bench
from logger.errors import BadInput
from logger.settings.settings import Home
from logger.shelf.shelf import records
from logger.toolbook.file import write_toolbook
from logger.toolbook.toolbook import Retired, Tool, Toolbook
from simulators.air import Air
from simulators.clock import SimClock
from simulators.tools import SimCaliper, SimWrench
from tests.logger.toolbook.made import tool
from tests.tui.hand import Hand, at
from tests.tui.linked import events, ready, until
from tests.tui.reached import reach_of
from tests.tui.stage import on_stage, seen
from tui.cli import main
from tui.commands.work import picked_now
from tui.exits import Exit
from tui.session.kit import Kit, forewarning, kit_of, let_go, radio_service

JAWS = tool("jaws", serial="DC-1", accuracy="0.03 mm", due="2027-01-01", certificate="C 12", profile="sig-caliper")
LEVER = tool("lever", serial="TW-1", kind="torque wrench", accuracy="4 %", of_reference=True)
BOOK = Toolbook(tool=(JAWS, LEVER))


@dataclass
class Workplace:
    """What a service is given, without a screen."""

    bench: Bench
    warned: list[str] = field(default_factory=list)

    def warn(self, text: str) -> None:
        """Keep a banner."""
        self.warned.append(text)


@asynccontextmanager
async def served(hand: Hand, air: Air, book: Toolbook = BOOK) -> AsyncIterator[Workplace]:
    """Run the radio service over an air, with a kit of this toolbook."""
    hand.bench.describe = Kit(book, shipped_profiles()).describe
    workplace = Workplace(hand.bench)
    work: Awaitable[object] = radio_service(book, reach_of(air).radio)(workplace)
    task = asyncio.ensure_future(work)
    try:
        yield workplace
    finally:
        task.cancel()
        await asyncio.wait({task})


def caliper(serial: str = "DC-1", mm: str = "101.8") -> SimCaliper:
    return SimCaliper(serial, "Bench caliper", lambda: Decimal(mm), SimClock())


async def test_a_tool_goes_by_its_id_and_what_is_stated_of_it_is_on_the_trail(hand: Hand) -> None:
    tools = caliper(), SimWrench("TW-1", "Bench wrench", SimClock()), caliper("DC-9")
    async with served(hand, Air(tools)) as workplace:
        await until(hand.bench, lambda: ready(hand) == {"jaws", "lever", "DC-9"})
        tools[0].press()
        await until(hand.bench, lambda: isinstance(hand.bench.moment.record.event, ev.ReadingTaken))
        assert workplace.warned == []
    told = events(hand)
    assert [event.tool for event in told if isinstance(event, ev.ReadingTaken)] == ["jaws"]
    described = {event.tool: event for event in told if isinstance(event, ev.ToolDescribed)}
    assert {name: each.stated_by for name, each in described.items()} == {
        "jaws": "toolbook",
        "lever": "toolbook",
        "DC-9": "profile",
    }
    assert (described["jaws"].accuracy, described["jaws"].certificate) == ("0.03 mm", "C 12")
    assert described["lever"].pull == ev.PullFigures(start="2.00")
    seen_as = {(event.tool, event.serial) for event in told if isinstance(event, ev.ToolSeen) and event.serial}
    assert seen_as == {("jaws", "DC-1"), ("lever", "TW-1"), ("DC-9", "DC-9")}


async def test_a_second_device_with_the_same_identity_stops_the_job(hand: Hand) -> None:
    one, two = caliper(), caliper()
    air = Air([one])
    async with served(hand, air):
        await until(hand.bench, lambda: ready(hand) == {"jaws"})
        one.press()
        await until(hand.bench, lambda: isinstance(hand.bench.moment.record.event, ev.ReadingTaken))
        air.add(two)
        await until(hand.bench, lambda: any(isinstance(event, ev.FaultTold) for event in events(hand)))
        two.press()
        one.press()
        await until(hand.bench, lambda: sum(isinstance(e, ev.FrameUndecoded) for e in events(hand)) == 2)
    (warned,) = [event.said for event in events(hand) if isinstance(event, ev.FaultTold)]
    assert warned.startswith("Two devices claim to be jaws (DC-1), at 00:00:5E:00:53:00 and 00:00:5E:00:53:01: nothing")
    told = events(hand)
    assert [event.tool for event in told if isinstance(event, ev.ReadingTaken)] == ["jaws"]
    aside = [event for event in told if isinstance(event, ev.FrameUndecoded)]
    assert {(event.tool, event.reason) for event in aside} == {
        ("jaws", "Two devices claim the identity of this tool; what either sends does not count.")
    }
    assert (hand.bench.tools["jaws"].link, hand.bench.tools["jaws"].message) == ("lost", warned)
    with pytest.raises(BadInput, match="The job is stopped: Two devices claim to be jaws"):
        await hand.bench.loosened("axle_nut")
    await hand.bench.interrupted("quit")
    assert events(hand)[-1] == ev.Interrupted(why="quit")


async def test_another_address_is_told_and_goes_on(hand: Hand) -> None:
    book = Toolbook(tool=(JAWS.model_copy(update={"address": "00:00:5E:00:53:99"}),))
    one = caliper()
    async with served(hand, Air([one]), book) as workplace:
        await until(hand.bench, lambda: ready(hand) == {"jaws"})
        one.press()
        await until(hand.bench, lambda: isinstance(hand.bench.moment.record.event, ev.ReadingTaken))
    (said,) = [event.said for event in events(hand) if isinstance(event, ev.FaultTold)]
    assert workplace.warned == []
    assert said.startswith("jaws answers from 00:00:5E:00:53:00, not from 00:00:5E:00:53:99")


def test_the_radio_of_a_home_is_that_of_its_settings(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[tuple[str, int]] = []

    def radio(*_: object, adapter: str, max_tools: int) -> None:
        made.append((adapter, max_tools))

    monkeypatch.setattr("drivers.radio.ble.Radio", radio)
    own_home.mkdir(exist_ok=True)
    kit_of(Home(own_home)).radio()
    (own_home / "settings.toml").write_text('[radio]\nadapter = "00:00:5E:00:53:01"\nmax_tools = 2\n')
    kit_of(Home(own_home)).radio()
    assert made == [("", 4), ("00:00:5E:00:53:01", 2)]


async def test_what_the_tools_cannot_decide_is_a_banner_a_sentence(hand: Hand) -> None:
    async with on_stage(hand, services=(forewarning(("The rule is too coarse.", "Use a caliper.")),)) as pilot:
        await pilot.pause()
        assert "! The rule is too coarse. (Esc: 1 more)" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert "! Use a caliper. (Esc)" in seen(pilot)


START = ["start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--plain", "--no-radio"]


def coarse(kind: str, **more: object) -> Tool:
    return tool("coarse", kind=kind, serial="", resolution="20 mm", **more)


def test_start_and_resume_say_first_what_the_tools_cannot_decide(
    own_home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.session.session.STDIN", 987654)  # nothing to read there: the input ends at once
    write_toolbook(own_home / "toolbook.toml", Toolbook(tool=(coarse("tape", due="2020-01-01"),)))
    for words in (START, ["resume", "last", "--plain", "--no-radio"]):
        assert main(words) == Exit.LEFT_OPEN
        lines = capsys.readouterr().out.splitlines()
        told = [line for line in lines if line.startswith("Warning: ")]
        assert lines[: len(told)] == told
        assert any("its calibration was due on 2020-01-01" in line for line in told)
        assert any("with coarse" in line for line in told)


def typed(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """Have the next session read these lines."""
    ours, theirs = os.pipe()
    os.write(theirs, text.encode())
    os.close(theirs)
    monkeypatch.setattr("tui.session.session.STDIN", ours)


def test_tools_that_were_retired_since_count_no_more_when_a_job_is_taken_up(
    own_home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    spare, book = tool("spare", serial="DC-2"), own_home / "toolbook.toml"
    write_toolbook(book, Toolbook(tool=(JAWS, spare, LEVER)))
    typed(monkeypatch, "ok\nwith spare\n")
    assert main([*START, "--tool", "jaws", "--tool", "lever"]) == Exit.LEFT_OPEN
    out = Retired(when="2026-03-02T08:00:00Z", by="Robin", why="dropped")
    write_toolbook(book, Toolbook(tool=(JAWS.model_copy(update={"retired": out}), LEVER)))
    capsys.readouterr()
    typed(monkeypatch, "101.8 mm\n")
    assert main(["resume", "last", "--plain", "--no-radio"]) == Exit.LEFT_OPEN
    said = [line for line in capsys.readouterr().out.splitlines() if line.startswith("Warning: ")]
    counts_no_more = ": it counts no more; say what is typed with instead, by: with NAME."
    assert said[:2] == [
        f"Warning: jaws (caliper) was chosen for this job, but it was retired (dropped){counts_no_more}",
        f"Warning: spare (caliper) was chosen for this job, but it is in the toolbook no more{counts_no_more}",
    ]
    told = [record.event for record in records(own_home / "trail.sqlite")]
    assert [pick.tool for event in told if isinstance(event, ev.ToolsPicked) for pick in event.picks][-2:] == [
        "lever"
    ] * 2
    assert [event.tool for event in told if isinstance(event, ev.ReadingTaken)] == ["typed"]
    typed(monkeypatch, "")
    assert main(["resume", "last", "--plain", "--no-radio"]) == Exit.LEFT_OPEN
    assert "counts no more" not in capsys.readouterr().out


async def test_the_last_tool_that_was_picked_can_be_let_go_of_too(hand: Hand) -> None:
    await hand.bench.pick_tools([ev.Pick(tool="jaws", tool_kind="caliper", steps=("slack",))])
    assert await let_go(hand.bench, BOOK) == ()
    (said,) = await let_go(hand.bench, Toolbook(tool=(LEVER,)))
    assert said.startswith("jaws (caliper) was chosen for this job, but it is in the toolbook no more")
    assert hand.bench.moment.job.picked == ()


async def test_the_tool_for_what_is_asked_is_the_one_that_was_picked_or_named_since(hand: Hand) -> None:
    await hand.until(at("wear"))
    assert picked_now(hand.bench.moment) == ""
    hand.bench.describe = Kit(Toolbook(tool=(JAWS, tool("spare", serial="DC-2"), LEVER)), shipped_profiles()).describe
    await hand.bench.pick_tools([ev.Pick(tool="jaws", tool_kind="caliper", steps=("wear",))])
    found = [picked_now(hand.bench.moment)]
    for what in ("spare", "caliper", "off"):
        await hand.bench.declare(what)
        found.append(picked_now(hand.bench.moment))
    assert found == ["jaws", "spare", "jaws", "jaws"]


def test_a_toolbook_that_cannot_be_used_begins_no_job(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "toolbook.toml").write_text("[[tool]]\nid = 'one'\n")
    assert main(START) == Exit.BAD_INPUT
    assert "tool one, kind: Field required" in capsys.readouterr().err
    assert not (own_home / "trail.sqlite").exists()
