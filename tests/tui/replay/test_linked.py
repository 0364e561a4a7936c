"""The links of the tools at each event of a stored job."""

from collections.abc import Mapping
from functools import reduce

import pytest

from drivers.reading import Link, ToolState
from logger import events as ev
from tui.replay.linked import linked


def _seen(tool: str, link: str, *, address: str = "", battery: int | None = None) -> ev.ToolSeen:
    return ev.ToolSeen(tool=tool, tool_kind="caliper", link=link, address=address, battery=battery)


def _links(*events: ev.Event) -> dict[str, str]:
    start: Mapping[str, ToolState] = {}
    return {name: state.link.value for name, state in reduce(linked, events, start).items()}


def test_the_last_word_of_each_tool_stands() -> None:
    found = _links(_seen("C1", "connecting"), _seen("W1", "ready"), _seen("C1", "ready"), _seen("W1", "lost"))
    assert found == {"C1": "ready", "W1": "lost"}


def test_a_tool_goes_by_its_advertised_name_until_it_tells_its_serial_number() -> None:
    assert _links(_seen("Bench caliper", "connecting", address="A"), _seen("C1", "ready", address="A")) == {
        "C1": "ready"
    }
    assert _links(_seen("C1", "ready"), _seen("C2", "ready")) == {"C1": "ready", "C2": "ready"}


def test_whoever_takes_a_job_up_again_has_no_link_yet() -> None:
    assert _links(_seen("C1", "ready"), ev.JobResumed(by="Robin")) == {}


@pytest.mark.parametrize("event", [_seen("C1", "entangled"), ev.Noted(text="a note")])
def test_what_tells_no_link_changes_none(event: ev.Event) -> None:
    assert _links(_seen("C1", "ready"), event) == {"C1": "ready"}


def test_battery_and_kind_are_those_that_were_told() -> None:
    state = linked({}, _seen("C1", "ready", battery=40))["C1"]
    assert (state.kind, state.battery, state.link) == ("caliper", 40, Link.READY)
