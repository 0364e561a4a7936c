"""The bench on a real trail: on the disk before anyone hears of it, the same when folded again, resumable."""

import asyncio
import json
from collections.abc import AsyncIterator
from decimal import Decimal
from pathlib import Path

import pytest
import pytest_asyncio

from drivers.reading import Link, ToolPeak, ToolState, TorqueSample, Undecoded
from logger import events as ev
from logger.advice.plan import plan
from logger.bench.bench import Bench, Opening
from logger.bench.moment import Moment
from logger.errors import BadInput, NotStored
from logger.job.job import apply
from logger.job.prompt import next_prompt
from logger.job.rules import judge
from logger.pulls.figures import retraced
from logger.sheets.file import load_sheet
from logger.shelf.index import job_sums
from logger.shelf.shelf import begin, load_job, records, resolve
from logger.trail.read import read, verify
from logger.trail.trail import Trail
from tests.logger.walk import SMALL

from .onbench import FakeClock, Set, to_torque


def _opening() -> Opening:
    return Opening(load_sheet(SMALL, "small"), "Belt 3", "Robin", simulated=True, seed=7)


@pytest_asyncio.fixture
async def at(trail: Trail) -> AsyncIterator[Set]:
    """A bench with a job just opened."""
    clock = FakeClock()
    yield Set(await Bench.open(trail, clock, _opening()), trail, clock)


async def _to_close(at: Set) -> None:
    await at.bench.confirm()
    await at.read("32.0", "32.0", "32.0")
    for _ in range(4):
        await at.bench.confirm()
    assert at.key == "close"


# --- the order of things ---


async def test_an_event_is_on_the_disk_before_anyone_hears_of_it(at: Set) -> None:
    heard: list[tuple[int, int]] = []
    at.bench.listeners.append(lambda moment: heard.append((moment.record.seq, at.stored()[-1].seq)))
    await at.bench.confirm()
    await at.read("45.0", "32.0")
    assert heard == [(2, 2), (3, 3), (4, 4)]


async def test_what_was_shown_is_recorded_and_is_what_folding_again_gives(at: Set) -> None:
    moments: list[Moment] = [at.bench.moment]
    at.bench.listeners.append(moments.append)
    await to_torque(at)
    await at.pull("40")
    await at.bench.take_back("wrong bolt")
    stored = at.stored()
    job = begin(stored[0])
    verdicts: dict[str, ev.Verdict] = {}
    for record, moment in zip(stored, moments, strict=True):
        job = job if record.seq == 1 else apply(job, record)
        changed = {check: judged.verdict for check, judged in judge(job).items()}
        assert record.shown.prompt == next_prompt(job).key == moment.prompt.key
        assert record.shown.verdicts == {c: v for c, v in changed.items() if verdicts.get(c) != v}
        assert (moment.job, moment.verdicts, moment.record) == (job, judge(job), record)
        assert moment.plan == plan(job, moment.prompt)
        verdicts = changed


async def test_the_opening_keeps_the_sheet_whole(at: Set) -> None:
    event = at.stored()[0].event
    assert isinstance(event, ev.JobOpened)
    assert (event.sheet, event.revision, event.sheet_text) == ("small", "1", SMALL)
    assert (event.machine, event.by, event.simulated, event.seed) == ("Belt 3", "Robin", True, 7)


async def test_what_is_stored_has_no_float_and_holds(at: Set) -> None:
    await to_torque(at)
    await at.pull("40")
    for stored in read(at.trail.path):
        json.loads(stored.bytes, parse_float=lambda text: pytest.fail(f"a float on the trail: {text}"))
    assert verify(at.trail.path).damage is None


async def test_each_event_carries_both_clocks(at: Set) -> None:
    await at.bench.confirm()
    await at.read("45.0")
    record = at.stored()[-1]
    assert (record.utc, record.mono_us) == ("2026-01-05T23:30:01.000000Z", 1_000_000)
    assert isinstance(record.event, ev.ReadingTaken)
    assert record.event.received == ev.Received(utc=record.utc, mono_us=record.mono_us)


async def test_what_cannot_be_stored_is_not_shown(at: Set) -> None:
    await at.bench.confirm()
    before = at.bench.moment
    at.trail.close()
    with pytest.raises(NotStored):
        await at.read("32.0")
    assert at.bench.moment is before


async def test_one_who_is_cancelled_while_storing_leaves_bench_and_trail_alike(at: Set) -> None:
    """Cancelling does not take an event back from the disk, so the bench must know of it too."""
    heard: list[int] = []
    at.bench.listeners.append(lambda moment: heard.append(moment.record.seq))
    async with asyncio.TaskGroup() as group:
        task = group.create_task(at.bench.confirm())
        await asyncio.sleep(0)  # it is waiting for the disk now
        task.cancel()
    assert task.cancelled()
    assert heard == [2]
    assert at.key == "measure:gap"
    await at.read("32.0")
    job, _ = load_job(at.trail.path, "j1")
    assert job == at.bench.moment.job


async def test_things_that_come_at_once_go_through_one_door(at: Set) -> None:
    await at.bench.confirm()
    async with asyncio.TaskGroup() as group:
        for _ in range(3):
            group.create_task(at.read("32.0"))
        group.create_task(at.bench.note("belt frays"))
    assert [record.seq for record in at.stored()] == list(range(1, 7))
    job, _ = load_job(at.trail.path, "j1")
    assert job == at.bench.moment.job
    assert at.key == "untouched:bolts.left"


# --- resuming ---


async def test_a_job_is_taken_up_at_the_same_prompt(at: Set) -> None:
    await to_torque(at)
    await at.pull("30")
    await at.bench.interrupted("terminal closed")
    before = at.bench.moment
    bench = await Bench.resume(at.trail, at.clock, "j1", "Kim")
    assert bench.moment.prompt == before.prompt
    assert bench.moment.verdicts == before.verdicts
    events = [record.event for record in at.stored()[-2:]]
    assert events == [ev.Interrupted(why="terminal closed"), ev.JobResumed(by="Kim")]


async def test_in_the_middle_of_a_difference_and_of_an_adjustment_too(at: Set) -> None:
    await at.bench.confirm()
    await at.read("45.0", "32.0", "32.0")
    await at.bench.confirm()
    assert at.key == "turn:adjust"
    assert (await Bench.resume(at.trail, at.clock, "j1")).moment.prompt.key == "turn:adjust"


async def test_a_closed_or_unknown_job_is_not_taken_up(at: Set) -> None:
    await _to_close(at)
    await at.bench.close()
    with pytest.raises(BadInput, match="Job j1 is closed"):
        await Bench.resume(at.trail, at.clock, "j1")
    with pytest.raises(BadInput, match="no job j9"):
        await Bench.resume(at.trail, at.clock, "j9")


async def test_jobs_on_the_shelf(at: Set) -> None:
    await _to_close(at)
    await at.bench.close()
    second = await Bench.open(at.trail, at.clock, _opening())
    await second.confirm()
    path = at.trail.path
    lines = [(line.job, line.state, line.events, line.machine) for line in job_sums(path)[0]]
    assert lines == [(second.moment.job.id, "open", 2, "Belt 3"), ("j1", "closed", 11, "Belt 3")]
    assert resolve(path, "last") == second.moment.job.id
    assert resolve(path, "last", state="closed") == "j1"
    assert resolve(path, "j7") == "j7"
    assert [record.job for record in records(path, "j1")] == ["j1"] * 11


def test_an_empty_shelf(tmp_path: Path) -> None:
    assert job_sums(tmp_path / "none.sqlite") == ((), False)
    with pytest.raises(BadInput, match="no open job"):
        resolve(tmp_path / "none.sqlite", "last", state="open")


# --- closing ---


async def test_a_refused_closing_is_recorded_and_changes_nothing(at: Set) -> None:
    await at.bench.confirm()
    before = at.bench.moment
    await at.bench.close()
    event = at.stored()[-1].event
    assert isinstance(event, ev.CloseRefused)
    assert [each.check for each in event.open] == [c for c, j in before.verdicts.items() if not j.passes]
    assert at.bench.moment.prompt == before.prompt


async def test_closing_opens_what_becomes_due(at: Set) -> None:
    await _to_close(at)
    await at.bench.close()
    due, closed = (record.event for record in at.stored()[-2:])
    assert due == ev.DueOpened(what="Look again", after="40 h")
    assert isinstance(closed, ev.JobClosed)
    assert set(closed.verdicts.values()) == {"inside", "done"}
    assert at.key == "closed"


async def test_a_closing_that_was_cut_short_opens_nothing_twice(at: Set) -> None:
    await _to_close(at)
    await at.bench._record(ev.DueOpened(what="Look again", after="40 h"))
    await at.bench.close()
    kinds = [record.event.kind for record in at.stored()]
    assert (kinds.count("due_opened"), kinds.count("job_closed")) == (1, 1)


async def test_after_closing_readings_are_kept_and_acts_refused(at: Set) -> None:
    await _to_close(at)
    await at.bench.close()
    await at.read("99.0")
    event = at.stored()[-1].event
    assert isinstance(event, ev.ReadingTaken)
    assert event.set_aside == "job closed"
    with pytest.raises(BadInput, match="closed already"):
        await at.bench.loosened("bolts")
    count = len(at.stored())
    await at.bench.interrupted("quit")
    assert len(at.stored()) == count
    assert at.key == "closed"


async def test_a_refused_word_leaves_no_trace(at: Set) -> None:
    with pytest.raises(BadInput):
        await at.bench.turned_as_advised()
    with pytest.raises(BadInput):
        await at.bench.take_back("slipped")
    with pytest.raises(BadInput):
        await at.bench.override("gap", "", "")
    assert len(at.stored()) == 1


async def test_an_override_is_on_the_trail_with_name_and_note(at: Set) -> None:
    await at.bench.override("gap", "Robin", "new belt ordered")
    assert at.stored()[-1].event == ev.Overridden(check="gap", name="Robin", note="new belt ordered", was="waiting")
    assert at.stored()[-1].shown.verdicts == {"gap": "overridden"}


# --- what tools send ---


async def test_a_tools_state_is_recorded_when_it_changes(at: Set) -> None:
    state = ToolState("C1", "caliper", Link.READY, at.clock.tick(), battery=80)
    for battery in (80, 80, 79):
        await at.bench.arrive(ToolState(state.tool, state.kind, state.link, at.clock.tick(), battery=battery))
    seen = [record.event for record in at.stored() if isinstance(record.event, ev.ToolSeen)]
    assert [(each.tool, each.link, each.battery) for each in seen] == [("C1", "ready", 80), ("C1", "ready", 79)]
    assert at.bench.tools["C1"].battery == 79


async def test_a_tool_goes_by_its_advertised_name_until_it_tells_its_serial_number(at: Set) -> None:
    for name, address in (("Bench caliper", "A1"), ("C1", "A1"), ("C2", "B2"), ("nameless", ""), ("other", "")):
        await at.bench.arrive(ToolState(name, "caliper", Link.READY, at.clock.tick(), address=address))
    assert list(at.bench.tools) == ["C1", "C2", "nameless", "other"]


async def test_a_frame_that_could_not_be_read_is_recorded(at: Set) -> None:
    await at.bench.confirm()
    await at.bench.arrive(Undecoded("C1", "c1", "ff00", "3 octets where 4 are needed", at.clock.tick()))
    event = at.stored()[-1].event
    assert isinstance(event, ev.FrameUndecoded)
    assert event.raw == "ff00"
    assert at.key == "measure:gap"


async def test_a_pull_is_found_in_the_samples_and_its_own_peak_decides(at: Set) -> None:
    await to_torque(at)
    live: list[str | None] = []
    at.bench.live_listeners.append(lambda sample, _: live.append(sample.text))
    await at.pull("40", own="40.35")
    event = at.stored()[-1].event
    assert isinstance(event, ev.PullTaken)
    assert (event.own_peak, event.host_peak) == ("40.35", "40.00")
    assert event.trace[-3:] != ()
    assert max(Decimal(text) for _, text in event.trace) == 40
    assert at.bench.moment.verdicts["bolts.left"].text == "40.35"
    assert at.key == "torque:bolts.right"
    assert live[:3] == ["0.00", "0.00", "8.00"]


async def test_a_pull_whose_peak_never_came_is_taken_after_a_while(at: Set) -> None:
    await to_torque(at)
    for value in ("0", "0", "20", "40", "20", "0", "0", "0", "0", "0", "0"):
        await at.bench.arrive(TorqueSample("W1", value, "N·m", at.clock.tick(50)))
    assert at.stored()[-1].event.kind == "reading_taken"
    at.clock.tick(2500)
    await at.bench.settle_pulls()
    event = at.stored()[-1].event
    assert isinstance(event, ev.PullTaken)
    assert (event.own_peak, event.host_peak) == (None, "40")


async def test_a_pull_keeps_the_settings_it_was_found_with_though_its_end_tells_the_noise(at: Set) -> None:
    await to_torque(at)
    restless = ["0.5", "-0.5", "0"] * 13  # one sample short of what tells the noise; the one that ends the wait is it
    pull = ["10", "20", "30", "27", "40", "20"]
    for value in (*restless, *pull, *["0"] * 25, *pull, *["0"] * 25):
        await at.bench.arrive(TorqueSample("W1", value, "N·m", at.clock.tick(50)))
    first, second = (each.event for each in at.stored() if isinstance(each.event, ev.PullTaken))
    assert first.figures is not None
    assert second.figures is not None
    assert (first.figures.noise, first.first_peak) == ("0.1", "30")
    assert (second.figures.noise, second.first_peak) == ("0.74130", None)
    assert [retraced(each) for each in (first, second)] == [("40", "30"), ("40", None)]


async def test_a_wrench_lost_inside_a_pull_leaves_a_pull_that_cannot_be_used(at: Set) -> None:
    await to_torque(at)
    for value in ("0", "0", "10", "20", "30"):
        await at.bench.arrive(TorqueSample("W1", value, "N·m", at.clock.tick(50)))
    await at.bench.arrive(ToolState("W1", "torque wrench", Link.LOST, at.clock.tick(50)))
    event = at.stored()[-1].event
    assert isinstance(event, ev.PullTaken)
    assert event.invalid
    assert at.bench.moment.verdicts["bolts.left"].verdict == "waiting"
    assert at.key == "torque:bolts.left"


async def test_samples_that_are_no_torque_are_kept_and_stop_nothing(at: Set) -> None:
    await to_torque(at)
    await at.bench.arrive(TorqueSample("W1", "12", "mm", at.clock.tick(50)))
    event = at.stored()[-1].event
    assert isinstance(event, ev.FrameUndecoded)
    assert event.raw == "12 mm"
    await at.pull("40")
    assert at.key == "torque:bolts.right"


async def test_a_duplicate_peak_is_kept_and_answers_nothing(at: Set) -> None:
    await to_torque(at)
    await at.pull("40")
    peak = ToolPeak("W1", "40.00", "N·m", "00", at.clock.tick(20), duplicate=True)
    await at.bench.arrive(peak)
    event = at.stored()[-1].event
    assert isinstance(event, ev.ReadingTaken)
    assert event.set_aside == "duplicate"
    assert at.key == "torque:bolts.right"


async def test_a_bench_says_what_happened(at: Set) -> None:
    await at.bench.confirm()
    await at.read("45.0")
    assert at.bench.moment.said == "Taken: 45.0 mm for Belt sag"
