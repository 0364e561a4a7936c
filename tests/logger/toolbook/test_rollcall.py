"""Tools are called by their ids, and nothing of two that claim to be one counts."""

from dataclasses import replace

import pytest

from drivers.reading import RADIO, Arrival, Link, Stamp, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from logger.toolbook.rollcall import SECOND, RollCall, conflict, moved
from logger.toolbook.toolbook import Toolbook, known

from .made import state, tool

AT = Stamp(0, 0)
BOOK = Toolbook(tool=(tool("gauge-1", kind="depth gauge"), tool("wrench-1", kind="torque wrench")))
READING = ToolReading("SN-gauge-1", "length", "36.20", "mm", "sig", "aa01", AT, "caliper", "2c0a")
SAMPLE = TorqueSample("SN-wrench-1", "12.5", "N·m", AT, raw="dd04")
PEAK = ToolPeak("SN-wrench-1", "98.0", "N·m", "bb02", AT)


def test_a_tool_of_the_book_goes_by_its_id_and_its_kind() -> None:
    roll = RollCall(BOOK)
    called = roll.call(state("SN-gauge-1", "A")).arrival
    assert isinstance(called, ToolState)
    assert (called.tool, called.kind, called.serial) == ("gauge-1", "depth gauge", "SN-gauge-1")
    assert roll.call(READING).arrival == replace(READING, tool="gauge-1", kind="depth gauge")
    assert roll.call(SAMPLE).arrival == replace(SAMPLE, tool="wrench-1")


def test_any_other_tool_and_the_radio_pass_as_they_are() -> None:
    roll = RollCall(BOOK)
    for arrival in (state("SN-other", "A"), replace(READING, tool="gauge-1"), ToolState(RADIO, RADIO, Link.LOST, AT)):
        assert roll.call(arrival).arrival is arrival


@pytest.mark.parametrize(
    ("arrival", "raw"),
    [
        (replace(READING, tool="SN-wrench-1"), "aa01"),
        (PEAK, "bb02"),
        (SAMPLE, "dd04"),
        (Undecoded("SN-wrench-1", "2c0b", "cc", "why", AT), "cc"),
    ],
)
def test_nothing_of_two_that_claim_to_be_one_counts_and_nothing_is_lost(arrival: Arrival, raw: str) -> None:
    roll = RollCall(BOOK)
    assert not roll.call(state("SN-wrench-1", "A")).stops
    second = roll.call(state("SN-wrench-1", "B"))
    assert second.stops.startswith("Two devices claim to be wrench-1 (SN-wrench-1), at A and B: nothing")
    assert isinstance(second.arrival, ToolState)
    assert (second.arrival.link, second.arrival.message) == (Link.LOST, second.stops)
    aside = roll.call(arrival).arrival
    assert isinstance(aside, Undecoded)
    assert (aside.tool, aside.raw) == ("wrench-1", raw)
    assert aside.reason in (SECOND, "why")
    assert roll.call(READING).arrival == replace(READING, tool="gauge-1", kind="depth gauge")


def test_it_is_told_once_and_holds_for_the_rest_of_the_session() -> None:
    roll = RollCall(BOOK)
    roll.call(state("SN-wrench-1", "A"))
    assert roll.call(state("SN-wrench-1", "B")).stops
    again = roll.call(state("SN-wrench-1", "A"))
    assert not again.stops
    roll.call(state("SN-wrench-1", "B", Link.LOST))
    assert isinstance(roll.call(PEAK).arrival, Undecoded)


def test_a_tool_that_comes_back_is_no_second_one() -> None:
    roll = RollCall(BOOK)
    for link in (Link.READY, Link.LOST, Link.CONNECTING, Link.READY):
        assert not roll.call(state("SN-wrench-1", "A", link)).stops
    roll.call(state("SN-wrench-1", "A", Link.LOST))
    assert not roll.call(state("SN-wrench-1", "B")).stops


def test_another_address_is_told_once() -> None:
    roll = RollCall(Toolbook(tool=(tool("gauge-1", address="A"),)))
    assert "answers from B" in roll.call(state("SN-gauge-1", "B")).warns
    roll.call(state("SN-gauge-1", "B", Link.LOST))
    assert not roll.call(state("SN-gauge-1", "B")).warns


# --- two that claim to be one ---

TWO_WAYS = Toolbook(tool=(tool("one"), tool("pinned", serial="", pin="Bench caliper")))


@pytest.mark.parametrize(
    ("others", "new", "stops"),
    [
        ([], state("SN-one", "A"), ""),
        ([state("SN-one", "A")], state("SN-one", "A"), ""),
        ([state("SN-one", "A")], state("SN-one", "B"), "Two devices claim to be one (SN-one), at A and B"),
        ([state("SN-one", "A", Link.LOST)], state("SN-one", "B"), ""),
        ([state("SN-one", "A", Link.ASLEEP)], state("SN-one", "B"), ""),
        ([state("SN-one", "A")], state("SN-one", "B", Link.CONNECTING), ""),
        ([state("SN-two", "A")], state("SN-one", "B"), ""),
        ([state("unknown", "A")], state("unknown", "B"), ""),
        ([state("", "A")], state("", "B"), "Two devices claim to be pinned (Bench caliper), at A and B"),
        # a tool that tells a serial number is not the one that was pinned by its name
        ([state("", "A")], state("SN-one", "B"), ""),
    ],
)
def test_a_second_device_with_a_pinned_identity_is_a_conflict(
    others: list[ToolState], new: ToolState, stops: str
) -> None:
    assert (conflict(TWO_WAYS, others, new) or "").startswith(stops)
    assert bool(conflict(TWO_WAYS, others, new)) == bool(stops)


def test_another_address_is_told_but_changes_no_identity() -> None:
    book = Toolbook(tool=(tool("one", address="A"),))
    assert moved(book, state("SN-one", "A")) is None
    assert "one answers from B, not from A" in (moved(book, state("SN-one", "B")) or "")
    found = known(book, state("SN-one", "B"))
    assert found is not None
    assert found.id == "one"
