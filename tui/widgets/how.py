"""How to do what the prompt asks: cautions, steps, where from, with what."""

from collections.abc import Iterable

from textual.content import Content
from textual.geometry import Size

from .painted import Fitted, padded, wrapped

_SPARED = (("Holds for:",), ("Window ", "The sides agree within"), ("With:",), ("From:",))
"""Lines that are left out where there is no room, in this order: the bar shows windows, and a confirmed step said
what the window holds for. PageUp and PageDown show everything."""


class How(Fitted):
    """The lines under what to do now; its height is what they need, up to what the style sheet allows."""

    def __init__(self) -> None:
        super().__init__(id="how")
        self._lines: tuple[str, ...] = ()
        self._from = self._furthest = 0

    def show(self, lines: tuple[str, ...]) -> None:
        """Show lines of outside text; they are made safe here."""
        if lines != self._lines:
            self._lines, self._from, self._furthest = lines, 0, 0
            self.changed()

    @property
    def _last(self) -> int:
        """The row from which on everything that is left fits."""
        return max(len(_rows(self._lines, self.size.width)) - max(self.size.height, 1), 0)

    @property
    def unseen(self) -> bool:
        """Whether some lines have not been in sight yet."""
        return self._furthest < self._last

    @property
    def read_to(self) -> int:
        """The first row of the furthest page that was in sight."""
        return self._furthest

    def page(self, pages: int) -> None:
        """Show what did not fit, page by page."""
        self._from = min(max(self._from + pages * max(self.size.height, 1), 0), self._last)
        self._furthest = max(self._furthest, self._from)
        self.refresh()

    def needed(self, viewport: Size, width: int) -> int:
        """Return the rows that all lines need."""
        return len(_rows(self._lines, width))

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint all lines, or those that matter most, or the page that was asked for."""
        every = _rows(self._lines, width)
        if self._from:
            every = every[self._from :]
        elif len(every) > height:
            every = _rows(_spare(self._lines, width, height), width)
        for at, (row, style) in enumerate(every[:height]):
            more = at == height - 1 and len(every) > height
            yield padded(f"{row[: max(width - 12, 0)]} … PageDown" if more else row, width, style)


def _rows(lines: tuple[str, ...], width: int) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    for line in lines:
        caution = line.startswith("Caution:")
        indent = "  " if line.startswith("- ") else ""
        shown = f"! {line}" if caution else line.replace("- ", "• ", 1) if indent else line
        rows += [(row, "$off bold" if caution else "") for row in wrapped(shown, width, indent)]
    return rows


def _spare(lines: tuple[str, ...], width: int, height: int) -> tuple[str, ...]:
    """Leave out what can be spared until the rest fits."""
    for beginnings in _SPARED:
        if len(_rows(lines, width)) <= height:
            break
        lines = tuple(line for line in lines if not line.startswith(beginnings))
    return lines
