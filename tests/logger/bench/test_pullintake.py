from dataclasses import replace
from decimal import Decimal

import pytest

from drivers.reading import ToolPeak, ToolReading
from logger import events as ev
from logger.bench import intake, pullintake
from logger.pulls.found import FoundPull, Knock, LonePeak
from tests.logger.walk import SMALL, Walk, answer, sheet_of, small

AT = Walk.at(9)


def _read(walk: Walk, reading: ToolReading) -> ev.ReadingTaken:
    event = intake.reading_event(walk.job, walk.prompt, reading)
    assert isinstance(event, ev.ReadingTaken)
    return event


def _loose() -> Walk:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    return walk.read("32.0 mm", "32.0 mm", "32.0 mm")


def _pull(value: str = "40") -> FoundPull:
    trace, peak = ((0, "0"), (400, value)), Decimal(value)
    return FoundPull("W1", "N·m", "clockwise", peak, value, peak, value, AT, AT, 2, None, None, trace)


def test_a_pull_keeps_its_trace_and_both_peaks() -> None:
    walk = _loose()
    own = ToolPeak("W1", "40.20", "N·m", "b40f", AT)
    event = pullintake.pull_event(
        walk.job, walk.prompt, replace(_pull("40.1"), own_peak=own, warning="off zero", cross_check="x")
    )
    assert event.answers == event.touches == ev.Slot(step="bolts", place="left")
    assert (event.own_peak, event.host_peak, event.first_peak) == ("40.20", "40.1", None)
    assert event.trace == ((0, "0"), (400, "40.1"))
    assert (event.raw, event.warnings, event.set_aside) == ("b40f", ("off zero", "x"), "")


def test_a_click_before_the_maximum_is_kept_beside_it() -> None:
    pull = replace(_pull("42.0"), first_peak=Decimal("40.0"), first_peak_text="40.0")
    assert pullintake.pull_event(_loose().job, _loose().prompt, pull).first_peak == "40.0"


def test_an_own_peak_in_another_unit_than_its_samples_cannot_be_trusted() -> None:
    walk = _loose()
    event = pullintake.pull_event(
        walk.job, walk.prompt, replace(_pull(), own_peak=ToolPeak("W1", "29.5", "lbf·ft", "", AT))
    )
    assert event.own_peak is None
    assert "lbf·ft" in event.invalid
    assert walk.say(event).verdict("bolts.left") == "waiting"
    assert walk.key == "slacken:bolts.left"


def test_an_anticlockwise_pull_answers_nothing_but_touches() -> None:
    walk = _loose()
    event = pullintake.pull_event(walk.job, walk.prompt, replace(_pull("-12"), direction="anticlockwise"))
    assert (event.answers, event.touches) == (None, ev.Slot(step="bolts", place="left"))
    assert event.set_aside == "unprompted"


def _touched(walk: Walk) -> ev.Slot | None:
    event = pullintake.found_event(walk.job, walk.prompt, _pull())
    assert isinstance(event, ev.PullTaken)
    assert event.answers is None
    return event.touches


def test_which_fastener_an_unasked_pull_is_taken_to_have_moved() -> None:
    left, right = (ev.Slot(step="bolts", place=each) for each in ("left", "right"))
    assert _touched(small(upto="measure:gap")) is None  # two bolts, nothing tells which
    assert _touched(small(upto="untouched:bolts.right")) == right  # the one the prompt is about
    assert _touched(_loose().pull("45 N·m")) == left  # asked to be loosened
    early = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    assert _touched(early) == left  # loose, and first in order
    assert _touched(early.pull("12 N·m")) == left  # a run-up leaves it loose
    assert _touched(_loose().pull("40 N·m").pull("40 N·m")) == right  # all tight: the last one again


def test_the_only_fastener_of_a_sheet_is_meant() -> None:
    walk = Walk(sheet_of(SMALL.replace('fasteners = ["left", "right"]\n', "")))
    assert _touched(walk) == ev.Slot(step="bolts")


def test_a_re_hit_is_flagged() -> None:
    walk = _loose().pull("40 N·m").pull("40 N·m")
    event = pullintake.pull_event(walk.job, walk.prompt, _pull())
    assert event.warnings == ("a re-hit: it was inside already, and the first pull stands",)
    assert pullintake.pull_event(_loose().job, _loose().prompt, _pull()).warnings == ()


def test_a_typed_torque_answers_a_torque_prompt() -> None:
    walk = _loose().pull("40 N·m", alone=True)
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    assert (event.own_peak, event.host_peak, event.trace) == ("40", None, ())
    assert walk.verdict("bolts.left") == "inside"


def test_an_unasked_torque_that_was_told_disturbs_like_any_pull() -> None:
    walk = _loose().pull("40 N·m").pull("40 N·m")
    while walk.key != "close":
        answer(walk)
    walk.pull("20 N·m", alone=True)
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    assert (event.answers, event.set_aside) == (None, "unprompted")
    assert walk.verdict("gap") == "stale"


def test_a_told_torque_below_zero_is_anticlockwise() -> None:
    event = _loose().pull("-20 N·m", alone=True).last
    assert isinstance(event, ev.PullTaken)
    assert (event.direction, event.answers) == ("anticlockwise", None)


def test_the_same_torque_frame_again_is_a_duplicate_and_no_pull() -> None:
    walk = _loose()
    event = _read(walk, replace(walk.reading("40 N·m", kind="torque wrench"), duplicate=True))
    assert event.set_aside == "duplicate"
    assert walk.say(event).key == "torque:bolts.left"


def test_a_torque_in_an_unknown_unit_is_kept_and_judges_nothing() -> None:
    walk = _loose()
    reading = replace(walk.reading("40 N·m", kind="torque wrench"), unit="stone")
    event = intake.reading_event(walk.job, walk.prompt, reading)
    assert isinstance(event, ev.PullTaken)
    assert (event.answers, event.set_aside) == (None, "wrong unit")
    assert walk.say(event).verdict("bolts.left") == "waiting"


def test_a_peak_of_a_tool_without_samples_is_its_pull() -> None:
    walk = _loose()
    event = pullintake.found_event(
        walk.job, walk.prompt, LonePeak(ToolPeak("W1", "40", "N·m", "a0f", AT), streams=False)
    )
    assert isinstance(event, ev.PullTaken)
    assert (event.answers, event.own_peak, event.raw) == (ev.Slot(step="bolts", place="left"), "40", "a0f")


def test_a_peak_too_late_touches_the_fastener_pulled_last_and_answers_nothing() -> None:
    walk = _loose().pull("40 N·m")
    event = pullintake.found_event(walk.job, walk.prompt, LonePeak(ToolPeak("W1", "45", "N·m", "", AT), streams=True))
    assert isinstance(event, ev.PullTaken)
    assert (event.answers, event.touches, event.set_aside) == (None, ev.Slot(step="bolts", place="left"), "unprompted")
    assert walk.say(event).verdict("bolts.left") == "high"


def test_a_repeated_peak_is_a_duplicate() -> None:
    walk = _loose()
    peak = ToolPeak("W1", "40", "N·m", "", AT, duplicate=True)
    event = pullintake.found_event(walk.job, walk.prompt, LonePeak(peak, streams=True))
    assert isinstance(event, ev.ReadingTaken)
    assert event.set_aside == "duplicate"


def test_a_knock_is_kept_and_disturbs_nothing() -> None:
    walk = _loose()
    before = walk.job
    knock = Knock("W1", "N·m", "a knock: up for 20 ms only", Decimal("9.5"), AT, AT, ((0, "0"), (20, "9.5")))
    event = pullintake.found_event(before, walk.prompt, knock)
    assert isinstance(event, ev.ReadingTaken)
    assert (event.value, event.set_aside, event.answers) == ("9.5", "knock", None)
    assert replace(walk.say(event).job, seq=before.seq) == before


@pytest.mark.parametrize("text", ["-0", "-0.0", "0", "0.00"])
def test_a_zero_has_no_direction(text: str) -> None:
    walk, place = _loose(), ("bolts", "left")
    event = intake.reading_event(walk.job, walk.prompt, replace(walk.reading("1 N·m"), text=text))
    assert isinstance(event, ev.PullTaken)
    assert event.direction == "clockwise"
    walk.say(event)
    assert (walk.job.fastener(place).undone, walk.job.fastener(place).pulled) == (0, walk.seq)
    assert (walk.key, walk.verdict("gap")) == ("torque:bolts.left", "stale")
    walk.read("-0.1 N·m")
    assert walk.job.fastener(place).undone == walk.seq


def test_a_re_hit_above_the_window_is_over_torque_and_lets_nothing_stand() -> None:
    said = "a re-hit above the window: it was inside already, and no pull stands after that, it is to be loosened"
    walk = _loose().pull("40 N·m").pull("40 N·m")
    assert pullintake.pull_event(walk.job, walk.prompt, _pull("44.1")).warnings == (said,)
    assert pullintake.pull_event(walk.job, walk.prompt, _pull("44")).warnings[0].endswith("and the first pull stands")
    assert walk.pull("44.1 N·m", alone=True).last.warnings == (said,)  # type: ignore[union-attr]
    assert walk.verdict("bolts.right") == "high"


def test_the_tools_own_peak_above_the_window_is_over_torque_too() -> None:
    walk = _loose().pull("40 N·m").pull("40 N·m")
    event = pullintake.pull_event(
        walk.job, walk.prompt, replace(_pull("43"), own_peak=ToolPeak("W1", "45", "N·m", "", AT))
    )
    assert event.warnings[-1].startswith("a re-hit above the window")


def test_no_pull_counts_in_a_closed_job() -> None:
    walk = small(upto="close").close()
    event = pullintake.found_event(walk.job, walk.prompt, _pull())
    assert isinstance(event, ev.PullTaken)
    assert (event.answers, event.touches, event.set_aside) == (None, None, "job closed")
