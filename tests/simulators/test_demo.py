"""The main job, whole: a simulated mechanic, tools on the air, bleak, the drivers, the bench and a trail."""

import asyncio
from collections import Counter
from pathlib import Path

import pytest

from drivers.reading import Link
from logger import events as ev
from logger.bench import Bench, Moment, Opening
from logger.sheetstore import open_sheet
from logger.shelf import load_job
from logger.trail import Trail, verify
from simulators.clock import SimClock
from simulators.demo import Demo, DemoReport, Handover, what_caught
from simulators.mechanic import FAULTLESS, Habits, Slip

Played = tuple[DemoReport, tuple[ev.Record, ...]]


async def played(path: Path, seed: int, habits: Habits | None = None, control: Handover | None = None) -> Played:
    demo = Demo(seed, pace=SimClock(), habits=habits)
    with Trail.open(path) as trail:
        opening = Opening(open_sheet("courier-chain"), "Depot 7", "Simulated mechanic", True, seed)
        bench = await Bench.open(trail, demo.clock, opening)
        report = await demo.run(bench, control or Handover())
    return report, load_job(path, bench.moment.job.id)[1]


@pytest.mark.parametrize("seed", range(1, 9))
async def test_the_job_closes_and_nothing_is_overridden(tmp_path: Path, seed: int) -> None:
    report, records = await played(tmp_path / "trail.sqlite", seed)
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


async def test_the_same_seed_gives_the_same_trail(tmp_path: Path) -> None:
    one, two = [await played(tmp_path / f"{n}.sqlite", 11) for n in (1, 2)]
    assert one[0] == two[0]
    assert [each.event for each in one[1]] == [each.event for each in two[1]]
    other = await played(tmp_path / "3.sqlite", 12)
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
    often = Habits(0.2, 0.1, 0.15, 0.2, 0.2, 0.3, 0.2)
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
