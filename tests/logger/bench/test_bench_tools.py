"""The bench and its tools on a real trail: what is stated of them, what a person declares, pulls that replay."""

from collections.abc import AsyncIterator
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest
import pytest_asyncio

from drivers.reading import Link, Source, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.errors import BadInput
from logger.job.rules import judge
from logger.pulls.figures import settings_of
from logger.sheets.file import load_sheet
from logger.shelf.shelf import load_job
from logger.trail.trail import Trail
from tests.logger.pulls.torque import Arrivals, one
from tests.logger.walk import SMALL, bolted, described

from .onbench import MS, FakeClock, Set, to_torque


async def _set(trail: Trail, text: str = SMALL) -> Set:
    clock = FakeClock()
    opening = Opening(load_sheet(text, "small"), "Belt 3", "Robin")
    return Set(await Bench.open(trail, clock, opening), trail, clock)


@pytest_asyncio.fixture
async def at(trail: Trail) -> AsyncIterator[Set]:
    """A bench with a job just opened."""
    yield await _set(trail)


def _kinds(at: Set) -> list[str]:
    return [record.event.kind for record in at.stored()]


def _typed(at: Set, value: str, unit: str = "mm") -> ToolReading:
    quantity = "length" if unit == "mm" else "torque"
    return ToolReading("typed", quantity, value, unit, "typed", f"{value} {unit}", at.clock.tick())  # type: ignore[arg-type]


# --- what is stated of a tool ---


def _book(at: Set, *known: ev.ToolDescribed) -> list[tuple[str, str, str]]:
    """Let the bench ask a toolbook; what it asked for is gathered."""
    asked: list[tuple[str, str, str]] = []
    book = {each.tool: each for each in known}

    def describe(tool: str, kind: str, profile: str) -> ev.ToolDescribed | None:
        asked.append((tool, kind, profile))
        return book.get(tool)

    at.bench.describe = describe
    return asked


async def test_what_is_stated_of_a_tool_is_on_the_trail_once_and_before_its_first_reading(at: Set) -> None:
    asked = _book(at, described("C1", "caliper", accuracy="0.03 mm", resolution="0.01 mm"))
    await at.bench.confirm()
    await at.read("32.0", "32.0", "32.0")
    assert _kinds(at) == ["job_opened", "confirmed", "tool_described", *["reading_taken"] * 3]
    assert asked == [("C1", "caliper", "")]
    assert at.bench.moment.job.tools["C1"].accuracy == "0.03 mm"


async def test_a_tool_that_is_ready_is_described_with_its_profile(at: Set) -> None:
    asked = _book(at, described())
    state = ToolState("W1", "torque wrench", Link.CONNECTING, at.clock.tick(), profile="sig-torque-wrench")
    await at.bench.arrive(state)
    assert asked == []
    await at.bench.arrive(replace(state, link=Link.READY))
    await at.pull("40")
    assert asked == [("W1", "torque wrench", "sig-torque-wrench")]
    assert _kinds(at).count("tool_described") == 1


async def test_after_a_resume_it_is_stated_again_only_when_it_has_changed(at: Set, trail: Trail) -> None:
    _book(at, described("C1", "caliper"))
    await at.bench.confirm()
    await at.read("32.0")
    for accuracy, times in (("1 %", 1), ("2 %", 2)):
        bench = await Bench.resume(trail, at.clock, at.bench.moment.job.id)
        again = Set(bench, trail, at.clock)
        _book(again, described("C1", "caliper", accuracy=accuracy))
        await again.read("32.0")
        assert _kinds(again).count("tool_described") == times
    assert bench.moment.job.tools["C1"].accuracy == "2 %"


async def test_figures_of_pulls_that_cannot_be_are_told_and_stop_nothing(at: Set) -> None:
    _book(at, described().model_copy(update={"pull": ev.PullFigures(start="0")}))
    await at.pull("40")
    told = [record.event for record in at.stored() if isinstance(record.event, ev.FaultTold)]
    assert [each.what for each in told] == ["tool W1"]
    assert _kinds(at).count("pull_taken") == 1


# --- what a person declares ---


async def test_a_declared_tape_reads_in_whole_millimetres(at: Set) -> None:
    await at.bench.declare("tape")
    assert _kinds(at)[-2:] == ["tool_described", "tool_declared"]
    await at.bench.confirm()
    moment = await at.bench.arrive(_typed(at, "32"))
    assert moment.job.tools["tape"] == ev.ToolDescribed(
        tool="tape", tool_kind="tape", stated_by="program", resolution="1 mm"
    )
    event = moment.record.event
    assert isinstance(event, ev.ReadingTaken)
    assert (event.tool, event.set_aside) == ("tape", "wrong tool")


async def test_a_tool_of_the_toolbook_is_declared_by_its_id_and_off_ends_it(at: Set) -> None:
    _book(at, described("C-9", "caliper"))
    await at.bench.confirm()
    await at.bench.declare("C-9")
    moment = await at.bench.arrive(_typed(at, "32.0"))
    assert [taken.tool for taken in moment.job.attempts["gap", ""][-1].taken] == ["C-9"]
    assert "C-9" in moment.job.tools
    await at.bench.declare("off")
    moment = await at.bench.arrive(_typed(at, "32.0"))
    assert moment.job.attempts["ends", "left"][-1].taken[0].tool == "typed"
    with pytest.raises(BadInput, match="hammer"):
        await at.bench.declare("hammer")


async def test_a_pull_is_judged_by_the_adapter_it_was_made_with_also_when_folded_again(at: Set) -> None:
    await to_torque(at)
    await at.bench.adapter("", ev.Adapter(wrench="400 mm", extension="40 mm"))
    await at.pull("36.4")
    await at.bench.adapter("bolts", None)
    job, _ = load_job(at.trail.path, at.bench.moment.job.id)
    for judged in (judge(job)["bolts.left"], at.bench.moment.verdicts["bolts.left"]):
        assert (judged.verdict, judged.text) == ("inside", "40.040")
    assert job == at.bench.moment.job


async def test_a_fault_is_on_the_trail_as_it_was_told(at: Set) -> None:
    moment = await at.bench.fault("radio", "The radio is off: turn it on.")
    assert moment.record.event == ev.FaultTold(what="radio", said="The radio is off: turn it on.")
    assert moment.said == "The radio is off: turn it on."


# --- what arrives ---


async def test_a_reading_from_a_tools_memory_never_answers_a_prompt(at: Set) -> None:
    await at.bench.confirm()
    reading = ToolReading("C1", "length", "32.0", "mm", "sig", "00", at.clock.tick(), "caliper", old=True)
    moment = await at.bench.arrive(reading)
    assert (moment.prompt.key, moment.said) == (
        "measure:gap",
        "32.0 mm from C1: measured before the tool came in reach: kept, does not count",
    )
    torque = replace(reading, quantity="torque", unit="N·m", kind="torque wrench")
    before = moment.job
    after = (await at.bench.arrive(torque)).job
    assert (after.disturbed, after.fasteners) == (before.disturbed, before.fasteners)
    assert [r.event.set_aside for r in at.stored() if isinstance(r.event, ev.ReadingTaken)] == ["old", "old"]


async def test_a_heartbeat_stays_off_the_trail_and_a_mode_is_kept(at: Set) -> None:
    await at.bench.arrive(Undecoded("C1", "c", "00", "a heartbeat", at.clock.tick(), aside=True))
    assert len(at.stored()) == 1
    await at.bench.confirm()
    reading = ToolReading("C1", "length", "32.0", "mm", "sig", "00", at.clock.tick(), "caliper", mode="held")
    event = (await at.bench.arrive(reading)).record.event
    assert isinstance(event, ev.ReadingTaken)
    assert event.mode == "held"


ZERO = """
[[step]]
id = "nought"
kind = "zero"
title = "Caliper zero"
tools = ["caliper"]
ask = "Close the jaws and read."
reference = "0 mm"
within = "0.02 mm"
every = 2
"""


async def test_a_failed_zero_check_makes_the_readings_before_it_suspect_in_the_next_event(trail: Trail) -> None:
    at = await _set(trail, SMALL.replace('[[step]]\nid = "gap"', f'{ZERO}[[step]]\nid = "gap"', 1))
    await at.bench.confirm()
    await at.read("0.00", "32.0", "32.0")
    assert at.bench.moment.prompt.step == "nought"
    await at.read("0.50")
    last = at.stored()[-1].event
    assert isinstance(last, ev.Suspected)
    assert last.zero == at.stored()[-2].seq
    assert set(at.bench.moment.job.suspect) == set(last.readings) != set()


# --- pulls ---


def _stream(at: Set, seed: int, source: Source) -> list[TorqueSample]:
    """A noisy pull with a click on the way, sampled at uneven times."""
    dice, top = Random(seed), Random(seed).uniform(37, 43)
    shares = (*[0.0] * 4, *(n / 12 for n in range(13)), 0.8, 0.9, 0.4, *[0.0] * 12)
    return [
        TorqueSample(
            "W1", f"{share * top + dice.gauss(0, 0.05):.3f}", "N·m", at.clock.tick(dice.randint(8, 60)), source
        )
        for share in shares
    ]


@pytest.mark.parametrize("seed", range(6))
async def test_the_stored_trace_goes_through_the_detector_again_to_the_same_peak(at: Set, seed: int) -> None:
    """On the disk and back: the samples of the trace, with the figures stored beside them, digit for digit."""
    start = f"{Random(seed).choice((2, 3.5, 5))}"
    _book(at, described().model_copy(update={"pull": ev.PullFigures(start=start, release_ms=300)}))
    await to_torque(at)
    for sample in _stream(at, seed, "profile"):
        await at.bench.arrive(sample)
    await at.bench.arrive(ToolPeak("W1", "40.00", "N·m", "00", at.clock.tick(50), source="profile"))
    (event,) = (record.event for record in at.stored() if isinstance(record.event, ev.PullTaken))
    assert event.figures is not None
    assert (event.figures.start, event.figures.release_ms, event.source) == (start, 300, "profile")
    again: Arrivals = [
        TorqueSample("W1", text, event.unit, replace(at.clock.now(), mono_ns=10**12 + ms * MS))
        for ms, text in event.trace
    ]
    pull = one(again, settings_of(event.figures))
    assert pull.invalid == event.invalid == ""
    assert (pull.maximum_text, pull.trace) == (event.host_peak, event.trace)
    assert event.first_peak == (pull.first_peak_text if pull.first_peak != pull.maximum else None)
    assert event.under_read == format(pull.under_read_bound or Decimal(0), "f")


async def test_how_a_lone_peak_was_understood_is_kept(at: Set) -> None:
    await to_torque(at)
    await at.bench.arrive(ToolPeak("W9", "40.0", "N·m", "00", at.clock.tick(), source="described"))
    event = at.stored()[-1].event
    assert isinstance(event, ev.PullTaken)
    assert (event.source, event.how) == ("described", "measured")


async def test_a_job_with_passes_is_taken_up_in_the_pass_it_was_left_in(trail: Trail) -> None:
    at = await _set(trail, bolted(passes=1))
    await to_torque(at)
    await at.pull("14")
    await at.pull("14")
    resumed = await Bench.resume(trail, at.clock, at.bench.moment.job.id)
    prompt = resumed.moment.prompt
    assert (prompt.kind, prompt.place, prompt.number, prompt.of) == ("torque", "left", 2, 2)


# --- a job that is stopped ---


async def test_a_stopped_job_keeps_what_arrives_and_takes_nothing_until_it_is_resumed(at: Set, trail: Trail) -> None:
    await at.bench.confirm()
    at.bench.halt("two devices claim to be C1.")
    before = at.bench.moment.prompt
    moment = await at.bench.arrive(_typed(at, "32"))
    event = moment.record.event
    assert isinstance(event, ev.FrameUndecoded)
    assert (event.raw, event.reason) == ("32 mm", "two devices claim to be C1.")
    assert moment.prompt == before
    for said in (at.bench.note("hello"), at.bench.loosened("bolts"), at.bench.close()):
        with pytest.raises(BadInput, match="The job is stopped: two devices claim to be C1"):
            await said
    again = await Bench.resume(trail, at.clock, moment.job.id)
    assert (await again.arrive(_typed(at, "32"))).verdicts["gap"].verdict == "inside"


# --- what a person picked before the job ---


async def test_a_picked_tool_is_described_before_its_first_typed_reading_and_others_are_set_aside(at: Set) -> None:
    _book(at, described("C-9", "caliper"))
    await at.bench.pick_tools([ev.Pick(tool="C-9", tool_kind="caliper", steps=("gap", "ends"))])
    assert at.bench.moment.said == "Robin uses: C-9 (caliper)"
    await at.bench.confirm()
    await at.bench.arrive(_typed(at, "32.0"))
    assert _kinds(at)[-2:] == ["tool_described", "reading_taken"]
    taken = [record.event for record in at.stored() if isinstance(record.event, ev.ReadingTaken)]
    assert [(each.tool, each.set_aside) for each in taken] == [("C-9", "")]
    await at.read("32.0")
    event = at.stored()[-1].event
    assert isinstance(event, ev.ReadingTaken)
    assert (event.tool, event.set_aside) == ("C1", "other tool")
