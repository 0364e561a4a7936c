"""The screens before a job, by their keys: nothing that a tool types answers them."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from typing import Any

import pytest
from textual.pilot import Pilot

from logger.errors import TrailDamaged
from tests.tui.depots import DEPOT, EMPTY, TOOLED
from tests.tui.hostile import HOSTILE
from tests.tui.stage import seen
from tui.apps.chooser import ChooserApp
from tui.choice import NEW, Choice, Depot, Weighed
from tui.entry.keymap import Keymap
from tui.session.choosing import check

_NOTHING = Choice()


@asynccontextmanager
async def _asking(
    depot: Depot, given: Choice = _NOTHING, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Pilot[Any]]:
    app = ChooserApp(depot, given, check, environment={}, read_ns=0)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        yield pilot


async def _types(pilot: Pilot[Any], text: str) -> None:
    await pilot.press(*("space" if each == " " else each for each in text))


async def test_a_job_begins_by_f2_alone_where_everything_is_known() -> None:
    async with _asking(DEPOT) as pilot:
        for _ in range(6):
            await pilot.press("f2")
            await pilot.pause()
    assert pilot.app.return_value == Choice(NEW, "courier-chain", "Depot 7", "Robin", {}, "read", "read")


_NAMED = Choice(NEW, "courier-chain", "Depot 7", "Robin")


async def test_what_is_left_to_ask_begins_with_the_tools_and_one_press_each_answers() -> None:
    async with _asking(TOOLED, _NAMED) as pilot:
        assert "▸ jaws" in seen(pilot)
        assert "Used for this last time." in seen(pilot)
        assert "spare  ! calibration due in 9 days" in seen(pilot)
        for _ in range(4):
            await pilot.press("f2")
            await pilot.pause()
    tools = {"caliper": "jaws", "axle_nut": "lever"}
    assert pilot.app.return_value == replace(_NAMED, tools=tools, kit="read", cautions="read")


async def test_another_tool_is_picked_by_the_key_that_moves_on() -> None:
    async with _asking(TOOLED, _NAMED) as pilot:
        await pilot.press("down", "down")
        await pilot.pause()
        assert "! Caution: late: its calibration was due on 2026-01-31." in seen(pilot)
        await pilot.press("f2")
        await pilot.pause()
        assert "Which wrench: Axle nut?" in seen(pilot)
        await pilot.press("down", "f2", "f2", "f2")
        await pilot.pause()
    assert pilot.app.return_value is not None
    assert pilot.app.return_value.tools == {"caliper": "late", "axle_nut": "bar"}


async def test_going_back_before_the_first_question_is_told() -> None:
    async with _asking(DEPOT, _NAMED) as pilot:
        await pilot.press("escape")
        await pilot.pause()
        await pilot.pause()
        assert "This is the first question." in seen(pilot)


async def test_an_open_job_is_taken_up() -> None:
    async with _asking(DEPOT) as pilot:
        await pilot.press("down")
        await pilot.pause()
        assert "j9, open, 2026-03-02, Chain and rear axle, by Robin" in seen(pilot)
        await pilot.press("f2")
        await pilot.pause()
        assert "Who are you?" in seen(pilot)
        await pilot.press("f2")
        await pilot.pause()
    assert pilot.app.return_value == Choice("j9", by="Robin")


async def test_a_new_machine_is_typed_and_a_blank_one_refused() -> None:
    async with _asking(EMPTY, Choice(NEW, "courier-chain", None, "Robin")) as pilot:
        await pilot.press("f2")
        await pilot.pause()
        assert "Type a name first" in seen(pilot)
        await _types(pilot, "Depot 9")
        await pilot.press("f2")
        await pilot.pause()
        assert "Lay out:" in seen(pilot)
        await pilot.press("f2", "f2")
        await pilot.pause()
    assert pilot.app.return_value is not None
    assert pilot.app.return_value.machine == "Depot 9"


async def test_a_presenters_key_answers_here_too_and_stands_in_the_footer() -> None:
    app = ChooserApp(DEPOT, Choice(NEW), check, environment={}, keymap=Keymap({"confirm": "pagedown"}), read_ns=0)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "PgDn Take it" in seen(pilot)
        await pilot.press("pagedown")
        await pilot.pause()
        assert "Which machine?" in seen(pilot)


async def test_escape_goes_one_question_back() -> None:
    async with _asking(DEPOT, Choice(NEW)) as pilot:
        await pilot.press("f2")
        await pilot.pause()
        assert "Which machine?" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert "Which job?" in seen(pilot)


@pytest.mark.parametrize("key", ["enter", "tab", "ctrl+j", "ctrl+z", "1"])
async def test_what_a_tool_types_answers_nothing(key: str) -> None:
    async with _asking(DEPOT) as pilot:
        await pilot.press(key)
        await pilot.pause()
        assert "Begin, or go on?" in seen(pilot)
        assert pilot.app.return_value is None


@pytest.mark.parametrize("key", ["f12", "ctrl+c", "ctrl+q"])
async def test_leaving_chooses_nothing(key: str) -> None:
    async with _asking(DEPOT) as pilot:
        await pilot.press(key)
        await pilot.pause()
    assert pilot.app.return_value is None


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 40), (200, 60)], ids=str)
async def test_every_size_shows_question_offers_and_keys(size: tuple[int, int]) -> None:
    async with _asking(DEPOT, Choice(NEW, "courier-chain"), size) as pilot:
        text = seen(pilot)
        assert "Which machine?" in text
        assert "▸ Depot 7" in text
        assert "1 job before:" in text
        assert "F2 Take it" in text


async def test_hostile_names_are_drawn_as_they_stand() -> None:
    jobs = tuple(replace(DEPOT.jobs[0], job=f"j{at}", machine=text, by=text) for at, text in enumerate(HOSTILE, 1))
    async with _asking(replace(DEPOT, jobs=jobs)) as pilot:
        for _ in HOSTILE:
            await pilot.press("down")
        await pilot.pause()
        assert not set(seen(pilot)) & {"\x1b", "\x07", "\x9b", "\u202e", "\u200b", "\u2028"}


async def test_cautions_are_in_sight_to_their_end_before_they_are_acknowledged() -> None:
    given = Choice(NEW, "courier-chain", "m", "b", kit="read")
    async with _asking(DEPOT, given, (40, 12)) as pilot:
        shown = seen(pilot)
        for _ in range(10):
            await pilot.press("f2")
            await pilot.pause()
            if pilot.app.return_value is not None:
                break
            shown += seen(pilot)
        assert pilot.app.return_value == replace(given, cautions="read")
        assert "Exhaust and brake disc burn: let them cool first." in " ".join(shown.split())


@pytest.mark.parametrize("fault", [TrailDamaged("Event 4 is not what was written."), RuntimeError("unforeseen")])
async def test_what_goes_wrong_between_questions_is_told_by_whoever_asked_and_draws_no_traceback(
    fault: Exception, capsys: pytest.CaptureFixture[str]
) -> None:
    def weigh(_: Choice) -> Weighed:
        raise fault

    app = ChooserApp(replace(DEPOT, weigh=weigh), Choice(NEW, "courier-chain", "m", "b"), check, read_ns=0)
    assert await app.run_async(headless=True) is None
    assert app.fault is fault
    told = capsys.readouterr()
    assert "Traceback" not in told.out + told.err


async def test_enter_says_which_key_takes_it_and_typing_ends_what_was_told() -> None:
    async with _asking(EMPTY, Choice(NEW, "courier-chain")) as pilot:
        await pilot.press("enter")
        await pilot.pause()
        assert "F2 takes it" in seen(pilot)
        await pilot.press("f2")
        await pilot.pause()
        assert "Type a name first." in seen(pilot)
        await pilot.press("D")
        await pilot.pause()
        assert "Type a name first." not in seen(pilot)
