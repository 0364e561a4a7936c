from dataclasses import replace

import pytest

from drivers.reading import ToolReading
from logger import events as ev
from logger.bench import intake
from tests.logger.walk import Walk, answer, shipped, small

AT = Walk.at(9)


def _read(walk: Walk, reading: ToolReading) -> ev.ReadingTaken:
    event = intake.reading_event(walk.job, walk.prompt, reading)
    assert isinstance(event, ev.ReadingTaken)
    return event


def test_a_reading_keeps_everything_it_came_with() -> None:
    walk = small(upto="measure:gap")
    reading = replace(walk.reading("32.10 mm"), raw="64e50400", characteristic="c1")
    event = _read(walk, reading)
    assert event.answers == ev.Slot(step="gap")
    assert (event.value, event.unit, event.raw, event.characteristic) == ("32.10", "mm", "64e50400", "c1")
    assert (event.tool, event.tool_kind, event.source, event.set_aside) == ("C1", "caliper", "sig", "")


@pytest.mark.parametrize("gap_ms", [None, 4, 180])
def test_how_fast_a_line_was_typed_is_kept_with_it(gap_ms: int | None) -> None:
    walk = small(upto="measure:gap")
    typed = replace(walk.reading("32.10 mm"), tool="typed", kind="", source="typed", key_gap_ms=gap_ms)
    assert _read(walk, typed).key_gap_ms == gap_ms
    torque = replace(typed, quantity="torque", text="40", unit="N·m")
    pull = intake.reading_event(walk.job, walk.prompt, torque)
    assert isinstance(pull, ev.PullTaken)
    assert pull.key_gap_ms == gap_ms


@pytest.mark.parametrize(
    ("upto", "kind", "unit", "aside"),
    [
        ("measure:gap", "caliper", "mm", ""),
        ("measure:gap", "", "mm", ""),
        ("measure:gap", "tape", "mm", "wrong tool"),
        ("measure:gap", "caliper", "stone", "wrong unit"),
        ("measure:gap", "caliper", "N·m", "wrong unit"),
        ("untouched", "caliper", "mm", "unprompted"),
        ("close", "caliper", "mm", "unprompted"),
    ],
)
def test_why_a_reading_does_not_count(upto: str, kind: str, unit: str, aside: str) -> None:
    walk = small(upto=upto)
    event = _read(walk, replace(walk.reading("32.0 mm"), kind=kind, unit=unit))
    assert event.set_aside == aside
    assert (event.answers is None) == bool(aside)


def test_the_same_frame_again_answers_nothing() -> None:
    walk = small(upto="measure:gap")
    event = _read(walk, replace(walk.reading("32.0 mm"), duplicate=True))
    assert (event.answers, event.set_aside) == (None, "duplicate")


def test_a_reading_while_adjusting_is_a_look() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm")
    for act in (walk.confirm, walk.turned, walk.confirm):
        assert _read(walk, walk.reading("31.0 mm")).set_aside == "look"
        act()
    assert _read(walk, walk.reading("31.0 mm")).set_aside == ""


def test_nothing_counts_in_a_closed_job() -> None:
    walk = small(upto="close").close()
    assert _read(walk, walk.reading("32.0 mm")).set_aside == "job closed"


def test_a_difference_is_answered_part_by_part() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    slot = _read(walk, walk.reading("100.0 mm")).answers
    assert slot == ev.Slot(step="slack", place="tightest", part="taut down")
    slot = _read(walk.read("100.0 mm"), walk.reading("132.0 mm")).answers
    assert slot == ev.Slot(step="slack", place="tightest", part="taut up")
