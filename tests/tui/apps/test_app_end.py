"""How the screen ends: by leaving, by a closed job, and by what goes wrong."""

import asyncio

import pytest

from logger import events as ev
from logger.errors import NotStored
from logger.trail.trail import Trail
from tests.tui.hand import TOO_SLACK, Hand, at
from tests.tui.stage import on_stage, seen, types
from tui.exits import Exit
from tui.screens.closed import ClosedScreen
from tui.screens.job import JobScreen
from tui.services import Workplace


@pytest.mark.parametrize("key", ["f12", "ctrl+c", "ctrl+q"])
async def test_leaving_asks_twice_and_leaves_the_job_open(hand: Hand, key: str) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press(key)
        await pilot.pause()
        assert "evenhand resume j1" in seen(pilot)
        assert "interrupted" not in hand.kinds()
        await pilot.press(key)
        await pilot.pause(0.05)
    assert pilot.app.return_value == Exit.LEFT_OPEN
    assert hand.kinds()[-1] == "interrupted"


async def test_a_second_press_that_comes_late_only_asks_again(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f12")
        hand.clock.ms += 4000  # 3000, and what the machine itself takes to hand a key on
        await pilot.press("f12")
        await pilot.pause()
        assert "interrupted" not in hand.kinds()
        assert pilot.app.return_value is None


async def test_leaving_is_asked_for_in_a_dialog_too(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f8", "f12")
        await pilot.pause()
        assert "evenhand resume j1" in seen(pilot)


@pytest.mark.parametrize("key", ["ctrl+z", "ctrl+p", "escape", "enter", "tab"])
async def test_no_other_key_leaves_or_suspends(hand: Hand, key: str) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press(key, key)
        await pilot.pause()
        assert isinstance(pilot.app.screen, JobScreen)
        assert pilot.app.return_value is None


async def test_the_closed_page_says_where_the_record_is_and_waits_for_a_key(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "close")
        await pilot.pause()
        await pilot.press("f9")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ClosedScreen)
        text = seen(pilot)
        assert "evenhand record j1 --format html --out j1.html" in text
        assert "Due: Check chain slack again, after 300 km" in text
        assert "F2 Done" in text
        assert "PgDn More" in text
        await pilot.press("pagedown", "pagedown", "pagedown")
        await pilot.pause()
        assert "PgDn More" not in seen(pilot), "that was its end"
        await types(pilot, "12.34\r")
        assert pilot.app.return_value is None, "a tool's keys do not leave it"
        await pilot.press("escape")
        await pilot.pause(0.05)
    assert pilot.app.return_value == Exit.DONE


async def test_a_torque_let_pass_stands_in_large_type_on_the_closed_page(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "torque", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
        await hand.torques("108")
        await hand.bench.override("axle_nut", "Jo", "no other nut here")
        await hand.until(lambda prompt: prompt.kind == "close")
        await pilot.pause()
        assert "14 of 15 pass, 1 overridden" in seen(pilot)
        assert "15 of 15" not in seen(pilot)
        await hand.until(lambda prompt: prompt.kind == "closed")
        await pilot.pause()
        text = seen(pilot)
        assert "Closed: not to be ridden or run" in text
        assert "NOT TO BE RIDDEN OR RUN: Axle nut" in text
        assert "⚑ overridden Axle nut" in text


# --- what goes wrong --------------------------------------------------------------------------------------------------


async def test_a_service_that_fails_is_a_banner_and_the_screen_lives(hand: Hand) -> None:
    async def radio(_: Workplace) -> None:
        raise ValueError("\x1b[2J[bold]boom")

    async with on_stage(hand, services=[radio]) as pilot:
        await pilot.pause(0.05)
        assert "! radio stopped: ValueError: ␛[2J[bold]boom" in seen(pilot)
        await types(pilot, "12")
        assert "typing: 12" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert "(Esc)" not in seen(pilot)
    assert isinstance(hand.last(), ev.FaultTold)


async def test_an_exception_nobody_waits_for_is_a_banner(hand: Hand) -> None:
    def astray() -> None:
        raise ValueError("astray")

    async with on_stage(hand) as pilot:
        asyncio.get_running_loop().call_soon(astray)
        await pilot.pause()
        assert "astray" in seen(pilot)


async def test_what_is_not_stored_is_told_and_decides_the_exit_code(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise NotStored("The disk is full.", "Make room.")

    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        monkeypatch.setattr(Trail, "append", full)
        await types(pilot, "101.8 mm\r")
        assert "NOT STORED. The disk is full. Make room." in seen(pilot)
        assert hand.bench.moment.verdicts["wear"].verdict == "waiting"
        await pilot.press("f12", "f12")
        await pilot.pause(0.05)
    assert pilot.app.return_value == Exit.NOT_STORED


class _Reins:
    """The reins of a mechanic, as the demo has them."""

    def __init__(self) -> None:
        self.paused = False
        self.gone = False

    def toggle(self) -> None:
        self.paused = not self.paused

    def take_over(self) -> None:
        self.gone = True


async def test_the_mechanic_of_a_demo_is_paused_and_sent_home(hand: Hand) -> None:
    reins = _Reins()
    async with on_stage(hand, demo=reins) as pilot:
        await pilot.press("f10")
        await pilot.pause()
        assert reins.paused
        assert "SIMULATED · paused" in seen(pilot)
        assert "F10 Go on" in seen(pilot)
        await pilot.press("f11")
        await pilot.pause()
        assert reins.gone
        assert "by hand" in seen(pilot)
        assert "F10" not in seen(pilot)
