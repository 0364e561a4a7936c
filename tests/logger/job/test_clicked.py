"""Torques that were set and clicked, not measured."""

import pytest

from logger import events as ev
from logger.job.happened import happened
from tests.logger.job.torquing import loose
from tests.logger.walk import Walk, bolted, described


def _typed(walk: Walk, text: str) -> ev.PullTaken:
    walk.read(text, tool="typed", kind="", source="typed")
    assert isinstance(walk.last, ev.PullTaken)
    return walk.last


def test_a_typed_torque_was_set_and_clicked_and_is_told_so() -> None:
    walk = loose(bolted())
    assert _typed(walk, "40 N·m").how == "set and clicked"
    assert happened(walk.job, walk.last) == "Bearing bolts, left: set and clicked at 40 N·m"
    assert walk.job.fastener(("bolts", "left")).pulls[0].how == "set and clicked"
    assert walk.verdict("bolts.left") == "inside"


@pytest.mark.parametrize(
    ("declared", "tool", "how"),
    [
        (("torque wrench", "torque wrench"), "torque wrench", "measured"),
        (("setting wrench", "setting wrench"), "setting wrench", "set and clicked"),
        (("TW-2", "torque wrench"), "TW-2", "measured"),
        (("tape", "tape"), "typed", "set and clicked"),
        (("typed", ""), "typed", "set and clicked"),
    ],
)
def test_a_typed_torque_is_of_the_wrench_that_was_declared(declared: tuple[str, str], tool: str, how: str) -> None:
    walk = loose(bolted()).say(ev.ToolDeclared(tool=declared[0], tool_kind=declared[1]))
    event = _typed(walk, "40 N·m")
    assert (event.tool, event.how) == (tool, how)


def test_a_setting_wrench_on_the_radio_measures_nothing_either() -> None:
    walk = loose(bolted(), described(kind="setting wrench")).pull("40 N·m", alone=False)
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    assert event.how == "set and clicked"
    walk = loose(bolted(), described()).pull("40 N·m")
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    assert event.how == "measured"
