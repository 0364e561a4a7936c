"""Rows that a widget paints itself: as they are, and not made anew where they are as they were."""

from collections.abc import Iterable

from textual.app import App, ComposeResult
from textual.content import Content

from tests.tui.stage import seen
from tui.look import DARK, LIGHT, THEMES
from tui.widgets.painted import Painted, padded, plain


class Slate(Painted):
    """Paints the rows it was given."""

    lines: tuple[Content, ...] = ()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint them."""
        return self.lines


class Stage(App[None]):
    """Shows one slate."""

    def __init__(self, *lines: Content) -> None:
        super().__init__()
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = DARK.name
        self.slate = Slate()
        self.slate.lines = lines

    def compose(self) -> ComposeResult:
        """Show the slate."""
        yield self.slate


SAME = padded("as it was", 20, "bold")


async def test_equal_rows_are_all_painted_and_what_does_not_fit_is_cut() -> None:
    app = Stage(SAME, SAME, plain("other"), SAME, plain("w" * 200), *[plain("low")] * 20)
    async with app.run_test(size=(20, 6)) as pilot:
        await pilot.pause()
        assert seen(pilot).split("\n") == ["as it was", "as it was", "other", "as it was", "w" * 20, "low"]


async def test_a_row_that_is_as_it_was_is_not_made_anew() -> None:
    app = Stage(SAME, plain("one"))
    async with app.run_test(size=(20, 6)) as pilot:
        before = [app.slate.render_line(y) for y in range(2)]
        app.slate.lines = (plain("two"), SAME)
        app.slate.refresh()
        await pilot.pause()
        after = [app.slate.render_line(y) for y in range(2)]
        assert after[1] is before[0]
        assert after[0].text.strip() == "two"


async def test_the_same_text_in_another_style_or_theme_is_painted_anew() -> None:
    app = Stage(plain("two", "$off"))
    async with app.run_test(size=(20, 6)) as pilot:
        found = [app.slate.render_line(0)]
        app.slate.lines = (plain("two", "$off bold"),)
        app.slate.refresh()
        await pilot.pause()
        found.append(app.slate.render_line(0))
        app.theme = LIGHT.name
        await pilot.pause()
        found.append(app.slate.render_line(0))
        styles = [next(iter(strip)).style for strip in found]
        assert len(set(map(str, styles))) == 3
