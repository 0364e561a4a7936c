"""A widget that paints its rows itself, and the wrapping of outside text by cells."""

from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from types import MappingProxyType

from rich.cells import cell_len
from rich.segment import Segment
from textual.content import Content, Span
from textual.css.styles import RulesMap
from textual.geometry import Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.style import Style
from textual.visual import RenderOptions, Visual
from textual.widget import Widget

from tui.safe import cut, safe_text

Parse = Callable[[str | Style], Style]
_Key = tuple[str, tuple[Span, ...], Style, str]


class Painted(Widget):
    """Paints `rows` for its present size; what does not fit is cut, never wrapped into another row."""

    DEFAULT_CSS = "Painted { text-wrap: nowrap; text-overflow: clip; }"
    can_focus = False
    auto_links = reactive(False)  # looking for links makes every row anew
    _kept: Mapping[_Key, Strip] = MappingProxyType({})
    """The rows of the last paint, as they went to the terminal."""

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Return the rows to paint in so many cells; outside text must have gone through `safe`."""
        raise NotImplementedError

    def render(self) -> Visual:
        """Paint the rows that fit."""
        return _Rows(self)

    def strips(self, width: int, height: int, style: Style, parse: Parse) -> list[Strip]:
        """Return the rows as they go to the terminal; one that is as it was is not made anew."""
        rows = list(self.rows(width, height))[:height]
        keys = [(row.plain, tuple(row.spans), style, self.app.theme) for row in rows]
        painted = [self._kept.get(key) or _strip(row, style, parse) for key, row in zip(keys, rows, strict=True)]
        self._kept = dict(zip(keys, painted, strict=True))
        return painted


class _Rows(Visual):
    """What a painted widget shows, made only where it is looked at."""

    def __init__(self, widget: Painted) -> None:
        self._widget = widget

    def render_strips(self, width: int, height: int | None, style: Style, options: RenderOptions) -> list[Strip]:
        return self._widget.strips(width, height or 0, style, options.get_style)

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        return container_width

    def get_height(self, rules: RulesMap, width: int) -> int:
        return self._widget.size.height


def _strip(row: Content, under: Style, parse: Parse) -> Strip:
    return Strip([Segment(text, style.rich_style) for text, style in row.render(under, "", parse)])


class Fitted(Painted):
    """As high as what it shows needs; the screen is laid out anew only where that changes.

    Laying out paints every widget again: three times the work of painting those that changed.
    """

    _counted = (Size(), 0, 0)
    """The screen, the cells and the rows needed when they were counted for a layout."""

    def needed(self, viewport: Size, width: int) -> int:
        """Return how many rows of so many cells the present content needs on a screen of this size."""
        raise NotImplementedError

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Count the rows for a layout."""
        rows = self.needed(viewport, width)
        self._counted = viewport, width, rows
        return rows

    def changed(self) -> None:
        """Paint new content."""
        screen, width, rows = self._counted
        fits = (screen, width) == (self.app.size, self.size.width) if self.is_attached and width else False
        most = self.styles.max_height
        allowed = most.cells if most is not None and most.cells is not None else screen.height
        self.refresh(layout=not fits or min(self.needed(screen, width), allowed) != min(rows, allowed))


def plain(text: str, style: str = "") -> Content:
    """Return text of ours, or text made safe before, in one style."""
    return Content.styled(text, style) if style else Content(text)


def padded(text: str, width: int, style: str = "") -> Content:
    """Return one row of exactly so many cells."""
    shown = cut(text, width)
    return plain(shown + " " * (width - cell_len(shown)), style)


def wrapped(text: str, width: int, indent: str = "") -> list[str]:
    """Break outside text, made safe here, into rows at spaces; a word wider than a row is broken."""
    return list(_wrapped(text, width, indent))


@lru_cache(maxsize=512)  # the same lines are counted for the layout and painted, at each event
def _wrapped(text: str, width: int, indent: str) -> tuple[str, ...]:
    rows: list[str] = []
    row = ""
    for word in _words(safe_text(text), max(width - cell_len(indent), 1)):
        if row and cell_len(row) + 1 + cell_len(word) > width:
            rows.append(row)
            row = indent + word
        else:
            row = f"{row} {word}" if row else word
    return *rows, row


def _words(text: str, width: int) -> Iterable[str]:
    for word in text.split(" "):
        rest = word
        while cell_len(rest) > width:
            size = fitting(rest, width)
            yield rest[:size]
            rest = rest[size:]
        if rest:
            yield rest


def fitting(text: str, width: int) -> int:
    """Return how many characters fit so many cells, at least one."""
    cells = 0
    for count, character in enumerate(text):
        cells += cell_len(character)
        if cells > width:
            return max(count, 1)
    return len(text)
