"""The toolbook: what an entry may say, and who is who."""

import pytest
from pydantic import ValidationError

from logger.errors import BadInput
from logger.toolbook.toolbook import Retired, Toolbook, added, find, retired

from .made import NOON, tool


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
