from typing import get_args

import pytest

from logger import events as ev
from logger.job.happened import ASIDE, NOT_AS_FOUND, happened
from tests.logger.walk import SMALL, Walk, sheet_of, small


def test_each_reason_for_not_counting_has_words() -> None:
    assert set(ASIDE) == set(get_args(ev.SetAside)) - {""}


def test_lines_for_acts_and_answers() -> None:
    walk = small(upto="measure:gap")
    lines: list[str] = []

    def note(done: Walk) -> None:
        lines.append(happened(done.job, done.last))

    note(walk.read("45.0 mm"))
    note(walk.duplicate("45.0 mm"))
    walk.read("32.0 mm", "32.0 mm")
    note(walk.confirm())
    note(walk.turned("2", "-1"))
    note(walk.confirm())
    note(walk.back("wrong edge"))
    note(walk.override("gap"))
    note(walk.close())
    assert lines == [
        "Taken: 45.0 mm for Belt sag",
        "45.0 mm from C1: the same frame again: kept, does not count",
        "Loosened: Bearing bolts, left; Bearing bolts, right",
        "Turned: left 2 flats tighter, right 1 flat looser",
        "Confirmed: Turn the screws",
        "Taken back: 32.0 mm for Bearing position, right (wrong edge); it stays on the trail",
        "Overridden by Robin: Belt sag",
        "Closing refused: 5 open",
    ]


def test_lines_for_pulls() -> None:
    walk = small(upto="measure:gap").pull("8 N·m")
    assert "no fastener asked for" in happened(walk.job, walk.last)
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("40 N·m")
    assert happened(walk.job, walk.last) == "Pull of 40 N·m on Bearing bolts, left"
    walk.pull("20 N·m", invalid="a gap of 400 ms in the stream")
    assert happened(walk.job, walk.last) == (
        "Pull on Bearing bolts, right cannot be used: a gap of 400 ms in the stream"
    )
    walk.pull("-20 N·m", anticlockwise=True)
    assert happened(walk.job, walk.last).startswith("Pulled anticlockwise (Bearing bolts, right): it disturbs")


def test_turning_too_early_says_what_should_have_come_first() -> None:
    walk = small()
    walk.turned()
    said = happened(walk.job, walk.last)
    assert said == (
        "Turned: left 1 flat tighter, right 1 flat tighter. That should have come first: "
        "confirm Belt locked out; loosen Bearing bolts, left; Bearing bolts, right"
    )
    walk = small().confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened().turned()
    assert happened(walk.job, walk.last) == "Turned: left 1 flat tighter, right 1 flat tighter"


def test_a_pull_that_nothing_asked_for_says_that_what_follows_is_not_as_found() -> None:
    walk = small(upto="measure:gap").pull("40.0 N·m")
    assert happened(walk.job, walk.last).endswith(NOT_AS_FOUND)
    walk = Walk(sheet_of(SMALL)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened()
    walk.pull("40.0 N·m")
    assert "as found" not in happened(walk.job, walk.last), "what was loosened ended that before"
    walk = Walk(sheet_of(SMALL)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("40.0 N·m")
    assert "as found" not in happened(walk.job, walk.last)


@pytest.mark.parametrize(
    ("event", "said"),
    [
        (ev.Confirmed(step="brake", items=()), "Confirmed: brake"),
        (ev.Untouched(step="brake", place="left"), "Untouched: brake, left"),
        (ev.AdapterDeclared(step="brake", adapter=None), "No adapter on the wrench: brake"),
        (ev.Overridden(check="brake.left", name="Robin", note="n", was="high"), "Overridden by Robin: brake, left"),
    ],
)
def test_a_step_that_the_sheet_has_not_goes_by_its_id(event: ev.Event, said: str) -> None:
    """As on a trail of another."""
    assert happened(small().job, event) == said


def test_what_is_taken_back_is_said_and_by_its_number_where_nobody_knows_it() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("40 N·m").back("misread")
    said = "Taken back: 40 N·m on Bearing bolts, left (misread); it stays on the trail"
    assert happened(walk.job, walk.last) == said
    unknown = ev.TakenBack(of=9999, why="misread")
    assert happened(walk.job, unknown) == "Taken back: number 9999 (misread); it stays on the trail"
