"""Jobs, whole: a simulated mechanic, tools on the air, bleak, the drivers, the bench and a trail."""

import asyncio
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from drivers.reading import Link
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.bench.moment import Moment
from logger.sheets.file import Loaded, load_sheet
from logger.sheets.store import open_sheet, shipped
from logger.shelf.shelf import load_job
from logger.trail.read import verify
from logger.trail.trail import Trail
from simulators.clock import SimClock
from simulators.demo import Demo, DemoReport, Handover, machine_of
from simulators.workshop import Habits, Slip

from .caught import what_caught

FAULTLESS = Habits(0, 0, 0, 0, 0, 0, 0, 0)
Played = tuple[DemoReport, tuple[ev.Record, ...]]


async def played(path: Path, seed: int, habits: Habits | None = None, sheet: str = "courier-chain") -> Played:
    return await played_by(path, seed, open_sheet(sheet), habits)


async def played_by(path: Path, seed: int, sheet: Loaded, habits: Habits | None = None) -> Played:
    demo = Demo(seed, sheet=sheet.sheet.id, pace=SimClock(), habits=habits)
    with Trail.open(path) as trail:
        opening = Opening(sheet, machine_of(sheet.sheet.id)[0], "Simulated mechanic", True, seed)
        bench = await Bench.open(trail, demo.clock, opening)
        report = await demo.run(bench, Handover())
    return report, load_job(path, bench.moment.job.id)[1]


@pytest.mark.parametrize("sheet", shipped())
@pytest.mark.parametrize("seed", range(1, 9))
async def test_the_job_closes_and_nothing_is_overridden(tmp_path: Path, seed: int, sheet: str) -> None:
    report, records = await played(tmp_path / "trail.sqlite", seed, sheet=sheet)
    assert report.closed
    assert isinstance(records[-1].event, ev.JobClosed)
    assert not [each for each in records if isinstance(each.event, ev.Overridden)]
    assert verify(tmp_path / "trail.sqlite").sound


async def test_the_machine_comes_in_wrong_and_goes_out_right(tmp_path: Path) -> None:
    demo = Demo(4)
    before = demo.machine.true_slack(demo.machine.tightest_angle()), abs(demo.machine.apart_mm)
    report, _ = await played(tmp_path / "trail.sqlite", 4, FAULTLESS)
    assert before[0] > 40
    assert before[1] > 0.5
    assert 25 <= report.slack_mm <= 40
    assert abs(report.apart_mm) <= 0.5
    assert report.rounds == 1
    assert report.slips == ()


async def test_the_conveyor_comes_in_wrong_and_goes_out_right(tmp_path: Path) -> None:
    demo = Demo(4, sheet="parcel-conveyor")
    assert demo.machine.true_slack(demo.machine.tightest_angle()) > 36
    assert abs(demo.machine.apart_mm) > 0.6
    report, records = await played(tmp_path / "trail.sqlite", 4, FAULTLESS, "parcel-conveyor")
    assert 18 <= report.slack_mm <= 36
    assert abs(report.apart_mm) <= 0.6
    assert (report.rounds, report.slips) == (1, ())
    pulls = [each.event.answers for each in records if isinstance(each.event, ev.PullTaken)]
    crosswise = ["left_front", "right_rear", "right_front", "left_rear"]
    assert [slot.place for slot in pulls if slot is not None] == crosswise * 2
    peaks = [Decimal(each.event.own_peak or 0) for each in records if isinstance(each.event, ev.PullTaken)]
    assert all(30 <= peak <= 40 for peak in peaks[:4])
    assert all(66 <= peak <= 78 for peak in peaks[4:])


async def test_dirt_between_the_jaws_is_found_by_the_zero_check(tmp_path: Path) -> None:
    dirty = replace(FAULTLESS, dirty_jaws=0.5)
    caught: Counter[str] = Counter()
    for seed in range(1, 5):
        report, records = await played(tmp_path / f"{seed}.sqlite", seed, dirty, "parcel-conveyor")
        assert report.closed
        caught.update(what_caught(slip, records) for slip in report.slips)
    assert set(caught) == {"the zero check failed: wiped and taken again"}
    assert caught.total() > 2


async def test_what_is_asked_for_without_end_is_let_pass_with_a_note(tmp_path: Path) -> None:
    """Ten repeats that must agree to a micrometre never do: the wear check stays unsteady."""
    text = open_sheet("parcel-conveyor").text
    strict = text.replace("pitches = 6\n", 'pitches = 6\nrepeats = 10\nspread_within = "0.001 mm"\n')
    _, records = await played_by(tmp_path / "trail.sqlite", 2, load_sheet(strict, "strict.toml"), FAULTLESS)
    (override,) = [each.event for each in records if isinstance(each.event, ev.Overridden)]
    assert (override.check, override.was) == ("wear", "unsteady")
    assert override.note.startswith("asked for without end: repeats differ by ")
    assert isinstance(records[-1].event, ev.JobClosed)


async def test_with_an_adapter_the_wrench_shows_less_than_the_bolt_gets(tmp_path: Path) -> None:
    adapter = 'aim = "72 N·m"\nadapter = { wrench = "300 mm", extension = "60 mm" }\n'
    text = open_sheet("parcel-conveyor").text.replace('aim = "72 N·m"\n', adapter)
    report, records = await played_by(tmp_path / "trail.sqlite", 3, load_sheet(text, "adapter.toml"), FAULTLESS)
    assert report.closed
    peaks = [Decimal(each.event.own_peak or 0) for each in records if isinstance(each.event, ev.PullTaken)]
    assert all(55 <= peak <= 65 for peak in peaks[4:]), "66 to 78 N·m at the bolt, by 300 / 360"


async def test_a_guarded_sheet_is_played_to_its_end(tmp_path: Path) -> None:
    """Nothing states how accurate the simulated wrench is: a guarded bolt is never decided, and overridden at last."""
    text = open_sheet("parcel-conveyor").text.replace('decision = "simple"', 'decision = "guarded"')
    report, records = await played_by(tmp_path / "trail.sqlite", 3, load_sheet(text, "guarded.toml"))
    assert report.closed
    overridden = {each.event.check for each in records if isinstance(each.event, ev.Overridden)}
    assert {check for check in overridden if check.startswith("bolts.")} == overridden


@pytest.mark.parametrize("sheet", shipped())
async def test_the_same_seed_gives_the_same_trail(tmp_path: Path, sheet: str) -> None:
    one, two = [await played(tmp_path / f"{n}.sqlite", 11, sheet=sheet) for n in (1, 2)]
    assert one[0] == two[0]
    assert [each.event for each in one[1]] == [each.event for each in two[1]]
    other = await played(tmp_path / "3.sqlite", 12, sheet=sheet)
    assert [each.event for each in other[1]] != [each.event for each in one[1]]


async def test_every_reading_of_a_tool_came_as_octets_over_the_air(tmp_path: Path) -> None:
    _, records = await played(tmp_path / "trail.sqlite", 3)
    readings = [each.event for each in records if isinstance(each.event, ev.ReadingTaken | ev.PullTaken)]
    assert len(readings) >= 20
    assert all(each.source == "sig" and bytes.fromhex(each.raw) for each in readings)
    ready = {
        each.event.serial for each in records if isinstance(each.event, ev.ToolSeen) and each.event.link == Link.READY
    }
    assert ready == {"DEPOT-C003", "DEPOT-W003"}


async def test_errors_happen_and_something_catches_most_of_them(tmp_path: Path) -> None:
    often = Habits(0.2, 0.1, 0.15, 0.2, 0.2, 0.3, 0.2, 0.3)
    caught: Counter[str] = Counter()
    for seed in range(20, 26):
        report, records = await played(tmp_path / f"{seed}.sqlite", seed, often)
        caught.update(f"{slip.what}: {what_caught(slip, records)}" for slip in report.slips)
    assert caught["pressed twice: set aside as a duplicate"] > 5
    assert caught["pulled early: still below: the prompt stayed"] > 3
    assert caught["pulled too far: high: loosened and torqued again"] > 1
    assert (
        sum(count for what, count in caught.items() if what.startswith("pulled too far"))
        == caught["pulled too far: high: loosened and torqued again"]
    )


async def test_who_takes_over_takes_over_at_once(tmp_path: Path) -> None:
    control = Handover()
    demo = Demo(6, pace=SimClock())
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        bench = await Bench.open(trail, demo.clock, Opening(open_sheet("courier-chain"), "Depot 7", "Robin", True, 6))

        taken_over = asyncio.Event()

        def stop(moment: Moment) -> None:
            if moment.prompt.step == "chain":
                control.take_over()
                taken_over.set()

        bench.listeners.append(stop)
        running = asyncio.ensure_future(demo.run(bench, control))
        await taken_over.wait()
        for _ in range(2000):
            await asyncio.sleep(0)
        assert bench.moment.prompt.step == "chain"
        running.cancel()
        with pytest.raises(asyncio.CancelledError):
            await running


async def test_a_paused_mechanic_does_nothing_until_told_to_go_on(tmp_path: Path) -> None:
    control = Handover()
    control.toggle()
    demo = Demo(6, pace=SimClock())
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        bench = await Bench.open(trail, demo.clock, Opening(open_sheet("courier-chain"), "Depot 7", "Robin", True, 6))
        running = asyncio.ensure_future(demo.run(bench, control))
        for _ in range(2000):
            await asyncio.sleep(0)
        assert bench.moment.prompt.step == "mileage"
        control.toggle()
        assert (await running).closed


def test_a_slip_that_nothing_shows_is_not_said_to_be_caught() -> None:
    assert what_caught(Slip("wrong side", 5), ()) == "the job was left open"
