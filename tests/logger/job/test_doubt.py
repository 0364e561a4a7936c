"""Doubts that give no verdict, and warnings: resolution, calibration, battery, unit and mode."""

from dataclasses import replace
from typing import Literal

import pytest

from logger import events as ev
from logger.bench import intake
from logger.job import verdictwords
from tests.logger.walk import SMALL, Walk, described, sheet_of

OPENED = "2026-01-05"
"""The day on which every walk is opened."""


def _gap(more: str = "") -> Walk:
    return Walk(sheet_of(SMALL.replace('aim = "32 mm"', f'aim = "32 mm"\n{more}'))).confirm()


def _battery(walk: Walk, level: int) -> Walk:
    return walk.say(ev.ToolSeen(tool="C1", tool_kind="caliper", link="ready", battery=level))


def _in_mode(walk: Walk, text: str, mode: str) -> Walk:
    return walk.say(intake.reading_event(walk.job, walk.prompt, replace(walk.reading(text), mode=mode)))


def _reason(walk: Walk, check: str = "gap") -> str:
    judged = walk.verdicts[check]
    assert judged.verdict == "waiting"
    return judged.reason


# --- resolution against the window of 15 mm: a tenth is 1.5 mm, a quarter 3.75 mm (common practice, no source) ---


@pytest.mark.parametrize(
    ("step", "verdict", "warned"),
    [
        ("1.5 mm", "inside", False),
        ("1.6 mm", "inside", True),
        ("3.75 mm", "inside", True),
        ("3.8 mm", "waiting", False),
    ],
)
def test_a_resolution_warns_above_a_tenth_and_gives_no_verdict_above_a_quarter(
    step: str, verdict: str, warned: bool
) -> None:
    walk = _gap().say(described("C1", "caliper", resolution=step)).read("32.0 mm")
    judged = walk.verdicts["gap"]
    assert (judged.verdict, bool(judged.warnings)) == (verdict, warned)
    if warned:
        assert "more than a tenth of the window" in verdictwords.warning_lines(walk.job, judged)[0]
    if verdict == "waiting":
        assert "more than a quarter of the window: take it with a finer tool" in judged.reason
        assert walk.key == "measure:gap"


def test_a_sheet_may_allow_a_coarse_tool() -> None:
    walk = _gap("allow_coarse = true").say(described("C1", "caliper", resolution="5 mm")).read("32 mm")
    assert walk.verdict("gap") == "inside"
    assert "more than a quarter" in walk.verdicts["gap"].warnings[0]


def test_the_window_of_a_pair_is_twice_what_it_may_differ() -> None:
    for step, verdict in (("0.25 mm", "inside"), ("0.26 mm", "waiting")):
        walk = _gap().read("32.0 mm").say(described("C1", "caliper", resolution=step)).read("36.0 mm", "36.0 mm")
        if walk.prompt.more:
            walk.read("36.0 mm", "36.0 mm")
        assert walk.verdict("ends.agreement") == verdict


def test_a_finer_tool_or_an_override_settles_it() -> None:
    walk = _gap().say(described("T1", "caliper", resolution="5 mm")).read("32 mm", tool="T1")
    assert walk.verdict("gap") == "waiting"
    assert walk.override("gap").verdict("gap") == "overridden"
    walk = _gap().say(described("T1", "caliper", resolution="5 mm")).read("32 mm", tool="T1").read("32.0 mm")
    assert walk.verdict("gap") == "inside"


# --- calibration ---


@pytest.mark.parametrize(("due", "verdict"), [("2026-01-04", "waiting"), (OPENED, "inside"), ("2027-01-01", "inside")])
def test_an_overdue_calibration_gives_no_verdict(due: str, verdict: str) -> None:
    walk = _gap().say(described("C1", "caliper", due=due)).read("32.0 mm")
    assert walk.job.opened_utc.startswith(OPENED)
    assert walk.verdict("gap") == verdict
    if verdict == "waiting":
        assert _reason(walk).startswith(f"the calibration of C1 was due on {due}")
        assert walk.override("gap").verdict("gap") == "overridden"


# --- battery ---


@pytest.mark.parametrize(
    ("level", "verdict", "warned"),
    [(16, "inside", False), (15, "inside", True), (6, "inside", True), (5, "waiting", False)],
)
def test_a_battery_warns_when_low_and_gives_no_verdict_when_empty(level: int, verdict: str, warned: bool) -> None:
    judged = _battery(_gap(), level).read("32.0 mm").verdicts["gap"]
    assert (judged.verdict, judged.warnings) == (
        verdict,
        (f"the battery of C1 is at {level} %: change it soon",) if warned else (),
    )


def test_a_fresh_battery_does_not_save_what_was_read_before_it() -> None:
    walk = _battery(_battery(_gap(), 4).read("32.0 mm"), 90)
    assert _reason(walk) == "the battery of C1 was at 4 %: change it, then take it again"
    assert walk.read("32.0 mm").verdict("gap") == "inside"


# --- unit and mode ---


def test_a_unit_that_changed_waits_for_a_second_attempt_at_that_place() -> None:
    walk = _gap().read("32.0 mm", "1.417 in")
    assert _reason(walk, "ends.agreement").startswith("left: C1 changed from mm to in")
    assert walk.key == "measure:ends.left"
    walk.read("1.417 in")
    assert walk.key == "measure:ends.right"
    assert walk.read("1.417 in").verdict("ends.agreement") == "inside", "the next place is not asked twice"


def test_a_second_attempt_that_differs_does_not_bear_it_out() -> None:
    walk = _gap().read("32.0 mm", "1.417 in", "1.50 in")
    assert walk.key == "measure:ends.left"
    assert walk.read("1.418 in").key == "measure:ends.right"


def test_going_back_to_the_unit_of_before_is_no_change() -> None:
    walk = _gap().read("32.0 mm", "1.417 in", "36.0 mm")
    assert walk.key == "measure:ends.right"


def test_what_a_person_types_carries_its_own_unit() -> None:
    walk = _gap().read("32.0 mm", kind="", source="typed").read("1.417 in", "1.417 in", kind="", source="typed")
    assert walk.verdict("ends.agreement") == "inside"


def test_a_mode_that_changed_waits_too_and_one_that_is_not_told_is_no_change() -> None:
    walk = _in_mode(_in_mode(_gap(), "32.0 mm", "absolute"), "36.0 mm", "relative")
    assert _reason(walk, "ends.agreement").startswith("left: C1 changed from mm (absolute) to mm (relative)")
    assert _in_mode(walk, "36.0 mm", "relative").key == "measure:ends.right"
    assert _in_mode(_in_mode(_gap(), "32.0 mm", "absolute"), "36.0 mm", "").key == "measure:ends.right"


def test_two_modes_in_one_value_are_no_value() -> None:
    walk = _in_mode(_in_mode(_gap("repeats = 2"), "32.0 mm", "absolute"), "32.0 mm", "relative")
    assert _reason(walk) == "C1 changed its mode within one value: take it again"


Tool = Literal["C1", "C2"]


@pytest.mark.parametrize("second", ["C1", "C2"])
def test_another_tool_in_another_unit_is_no_change_of_a_tool(second: Tool) -> None:
    walk = _gap().read("32.0 mm").read("1.417 in", tool=second)
    assert (walk.key == "measure:ends.right") == (second == "C2")
