"""The toolbook: what an entry may say, who is who, calibration by the day, two that claim to be one, what is stated."""

from datetime import date

import pytest
from pydantic import ValidationError

from drivers.profile import parse_profile
from drivers.reading import Link, ToolState
from logger import events as ev
from logger.errors import BadInput
from logger.toolbook.toolbook import (
    Describe,
    Retired,
    Toolbook,
    added,
    calibration,
    conflict,
    find,
    known,
    moved,
    retired,
)

from .made import NOON, state, tool

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"id": "1st"}, "should match pattern"),
        ({"id": "typed"}, "is a word of the program"),
        ({"pin": "Bench caliper"}, "one identity"),
        ({"accuracy": "0.03"}, "should match pattern"),
        ({"accuracy": "0.00 mm"}, "is zero"),
        ({"accuracy": "2 N·m"}, "is no length"),
        ({"resolution": "1 %"}, "write the step of its display"),
        ({"due": "2026-02-30"}, "no day of the calendar"),
        ({"due": "2026-13-01"}, "no day of the calendar"),
        ({"calibrated": "2026-06-01", "due": "2026-05-31"}, "lies before calibrated"),
        ({"calibration_k": "0.0"}, "coverage factor"),
        ({"kind": "micrometer"}, "Input should be"),
        ({"colour": "red"}, "Extra inputs are not permitted"),
    ],
)
def test_an_entry_that_cannot_be_is_refused(more: dict[str, object], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        tool("caliper-1", **more)


def test_torque_amounts_belong_to_torque_tools() -> None:
    assert tool(kind="torque wrench", accuracy="4 %", of_reference=True, resolution="0.1 N·m").accuracy == "4 %"
    with pytest.raises(ValidationError, match="is no torque"):
        tool(kind="setting wrench", resolution="0.1 mm")


def test_an_id_and_an_identity_are_given_once() -> None:
    book = added(Toolbook(), tool("one"))
    with pytest.raises(BadInput, match="id ONE is taken"):
        added(book, tool("ONE", serial="other"))
    with pytest.raises(BadInput, match="in the toolbook already, as one"):
        added(book, tool("two", serial="SN-one"))
    with pytest.raises(BadInput, match="what another tool is known by"):
        added(book, tool("SN-one", serial="x"))
    assert [each.id for each in added(added(book, tool("rule", serial="")), tool("tape", serial="")).tool] == [
        "one",
        "rule",
        "tape",
    ]


def test_a_retired_tool_stays_and_gives_its_identity_back_but_not_its_id() -> None:
    how = Retired(when=NOON, by="Robin", why="Dropped")
    book = retired(added(Toolbook(), tool("one")), "one", how)
    assert (len(book.tool), book.active, find(book, "one"), find(book, "SN-one")) == (1, (), None, None)
    assert book.tool[0].retired == how
    with pytest.raises(BadInput, match="a retired tool keeps its id"):
        added(book, tool("one", serial="new"))
    assert find(added(book, tool("one-again", serial="SN-one")), "SN-one") is not None
    with pytest.raises(BadInput, match=r"No tool in use has the id 'one'\. In use: none"):
        retired(book, "one", how)


@pytest.mark.parametrize(
    ("due", "said"),
    [
        (None, "not stated"),
        ("2026-11-24", "overdue by 1 day"),
        ("2026-11-15", "overdue by 10 days"),
        ("2026-11-25", "due today"),
        ("2026-11-26", "due in 1 day"),
        ("2026-12-25", "due in 30 days"),
        ("2026-12-26", "ok"),
    ],
)
def test_calibration_by_the_day(due: str | None, said: str) -> None:
    assert str(calibration(tool(due=due), TODAY)) == said


BOOK = Toolbook(tool=(tool("one"), tool("pinned", serial="", pin="Bench caliper")))


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
    assert (conflict(BOOK, others, new) or "").startswith(stops)
    assert bool(conflict(BOOK, others, new)) == bool(stops)


def test_another_address_is_told_but_changes_no_identity() -> None:
    book = Toolbook(tool=(tool("one", address="A"),))
    assert moved(book, state("SN-one", "A")) is None
    assert "one answers from B, not from A" in (moved(book, state("SN-one", "B")) or "")
    found = known(book, state("SN-one", "B"))
    assert found is not None
    assert found.id == "one"


PROFILE = parse_profile(
    'profile="bench-wrench"\nkind="torque wrench"\naccuracy="4 %"\nresolution="0.1 N·m"\nsample_rate=50\n'
    'own_peak=true\n[[values]]\ndecode="described"\nrole="stream"\n[pull]\nstart="2.00"\n',
    "test",
)


def test_the_book_goes_before_the_profile_and_the_profile_before_nothing() -> None:
    entry = tool("wrench-1", kind="torque wrench", accuracy="2 %", due="2027-01-01", certificate="C 12")
    asked = Describe(Toolbook(tool=(entry,)), {"bench-wrench": PROFILE})
    by_book = asked("wrench-1", "torque wrench", "bench-wrench")
    assert by_book == ev.ToolDescribed(
        tool="wrench-1",
        tool_kind="torque wrench",
        stated_by="toolbook",
        accuracy="2 %",
        resolution="0.1 N·m",
        due="2027-01-01",
        certificate="C 12",
        pull=ev.PullFigures(start="2.00"),
        sample_rate=50,
        own_peak=True,
    )
    by_profile = asked("TW-9", "torque wrench", "bench-wrench")
    assert by_profile is not None
    assert (by_profile.stated_by, by_profile.accuracy, by_profile.of_reference) == ("profile", "4 %", True)
    assert by_profile.calibrated is None
    assert asked("TW-9", "torque wrench", "") is None
    assert [each.tool for each in asked.all()] == ["wrench-1"]
