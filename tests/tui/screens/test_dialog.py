"""What all dialogs share, on the job screen."""

from tests.tui.hand import Hand
from tests.tui.stage import on_stage, types
from tui.screens.asking import WordsDialog
from tui.widgets.field import Field


async def test_a_window_that_was_too_small_once_loses_nothing_of_what_is_typed(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f4")
        await types(pilot, "124")
        await pilot.resize_terminal(30, 8)
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        await types(pilot, "80")
        await pilot.pause()
        assert isinstance(pilot.app.screen, WordsDialog)
        assert pilot.app.screen.query_one(Field).value == "12480"
