"""What stands as a banner: faults of the program and of the radio, and no other event."""

import pytest

from drivers.reading import RADIO, Link, ToolState
from logger import events as ev
from tests.tui.hand import CALIPER, Hand
from tests.tui.stage import on_stage, seen
from tui.glance.alarms import banner

OFF = "Bluetooth is switched off; switch it on."


def state(tool: str, link: str, message: str = "") -> ev.ToolSeen:
    return ev.ToolSeen(tool=tool, tool_kind=RADIO if tool == RADIO else "caliper", link=link, message=message)


@pytest.mark.parametrize(
    ("event", "told"),
    [
        (ev.FaultTold(what="radio", said="It stopped."), "It stopped."),
        (state(RADIO, "lost", OFF), OFF),
        (state(RADIO, "ready"), ""),
        (state(CALIPER, "lost", "It went away."), ""),
        (ev.Noted(text="It stopped."), ""),
    ],
)
def test_a_fault_is_a_banner(event: ev.Event, told: str) -> None:
    assert banner(event) == told


async def test_a_radio_that_is_lost_is_a_banner_and_an_event_and_is_told_when_it_is_back(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        for link, message in ((Link.LOST, OFF), (Link.READY, "")):
            await hand.bench.arrive(ToolState(RADIO, RADIO, link, hand.clock.now(), message=message))
            await pilot.pause()
            assert OFF in seen(pilot)
        assert "Radio ready" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert OFF not in seen(pilot)
    assert hand.bench.moment.record.event == ev.ToolSeen(tool=RADIO, tool_kind=RADIO, link="ready")


async def test_a_fault_of_a_tool_is_a_banner(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.bench.fault("tool jaws", "Two devices claim to be jaws.")
        await pilot.pause()
        assert "! Two devices claim to be jaws. (Esc)" in seen(pilot)
