"""How to do what the prompt asks: cautions, steps, where from, with what."""

from collections.abc import Iterable

from textual.content import Content
from textual.geometry import Size

from logger.job.line import Role, role_of

from .pages import Row, paged
from .painted import Fitted, padded, wrapped

_SPARED: tuple[Role, ...] = ("condition", "window", "tool", "datum")
"""What goes behind all else where there is no room, in this order: the bar shows windows, and a confirmed step said
what the window holds for. PageUp and PageDown show everything."""


class How(Fitted):
    """The lines under what to do now; its height is what they need, up to what the style sheet allows."""

    def __init__(self) -> None:
        super().__init__(id="how")
        self._lines: tuple[str, ...] = ()
        self._page = self._furthest = 0

    def show(self, lines: tuple[str, ...]) -> None:
        """Show lines of outside text; they are made safe here."""
        if lines != self._lines:
            self._lines, self._page, self._furthest = lines, 0, 0
            self.changed()

    @property
    def _last(self) -> int:
        """The last page."""
        return len(_pages(self._lines, *self.size)) - 1

    @property
    def unseen(self) -> bool:
        """Whether some lines have not been in sight yet."""
        return self._furthest < self._last

    @property
    def read_to(self) -> int:
        """The furthest page that was in sight, counted from 0."""
        return self._furthest

    def page(self, pages: int) -> None:
        """Show what did not fit, page by page."""
        self._page = min(max(self._page + pages, 0), self._last)
        self._furthest = max(self._furthest, self._page)
        self.refresh()

    def needed(self, viewport: Size, width: int) -> int:
        """Return the rows that all lines need."""
        return len(_rows(self._lines, width))

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint all lines, or those that matter most, or the page that was asked for."""
        pages = _pages(self._lines, width, height)
        return [padded(row, width, style) for row, style in pages[min(self._page, len(pages) - 1)]]


def _pages(lines: tuple[str, ...], width: int, height: int) -> list[list[Row]]:
    return paged(_rows(_ordered(lines, width, height), width), width, height)


def _rows(lines: tuple[str, ...], width: int) -> list[Row]:
    rows: list[Row] = []
    for line in lines:
        warns, listed = role_of(line) == "caution", role_of(line) == "item"
        shown = f"! {line}" if warns else line.replace("- ", "• ", 1) if listed else line
        rows += [(row, "$off bold" if warns else "") for row in wrapped(shown, width, "  " if listed else "")]
    return rows


def _ordered(lines: tuple[str, ...], width: int, height: int) -> tuple[str, ...]:
    """Put what can be spared behind the rest until that fits; what was spared last comes first there."""
    kept, behind = lines, tuple[str, ...]()
    for role in _SPARED:
        if len(_rows(kept, width)) <= height:
            break
        behind = (*(line for line in kept if role_of(line) == role), *behind)
        kept = tuple(line for line in kept if role_of(line) != role)
    return (*kept, *behind)
