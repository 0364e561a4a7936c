"""The advice in big words: how far each side is turned, on a hexagon where there is room, and what goes with it."""

from collections.abc import Collection, Iterator
from fractions import Fraction

from rich.cells import cell_len
from textual.content import Content

from tui.glance.shown import Advice, Turning
from tui.safe import safe_text

from .blocks import big, broken, largest, stacked
from .pages import pages_of
from .painted import padded, plain, wrapped

GAP = 2
_WORDS = "$primary bold"
Rows = tuple[str, ...]
_CORNERS = 6

_SMALL, _LARGE = 2, 5
"""Rows of a slope of a hexagon: small, and with its part of a turn in big letters within."""
_READABLE = 11
"""Rows of two lines of words that stay legible when they share their room with a hexagon."""
_TALL = 36
_LEAST_LINES = 5
"""Rows that stay for what goes with the advice, before a hexagon is drawn."""


def advice_rows(advice: Advice, width: int, height: int, page: int = 0) -> Iterator[Content]:
    """Paint LEFT and RIGHT beside each other in big words, then one page of the lines.

    Where nothing is to be turned it says so as big, and why.
    """
    head = list(_head(advice, width, height))
    yield from head
    pages = _pages(advice, width, height - len(head))
    if height > len(head):
        yield from map(plain, pages[min(page, len(pages) - 1)])


def more_pages(advice: Advice, width: int, height: int) -> int:
    """Return how many pages of lines there are beside the first."""
    return len(_pages(advice, width, height - len(list(_head(advice, width, height))))) - 1


def _pages(advice: Advice, width: int, height: int) -> list[list[str]]:
    return pages_of([row for line in advice.lines for row in wrapped(line, width)], width, height)


def _head(advice: Advice, width: int, height: int) -> Iterator[Content]:
    if advice.left is None or advice.right is None:
        yield padded(f" ✕ {advice.stop.upper()} ", width, "$off bold reverse")
        under = sum(len(wrapped(line, width)) for line in advice.lines)
        for row in broken(safe_text(advice.stop), width, min(height - 5, max(7, height - under - 2))):
            yield padded(row, width, "$off bold")
        return
    half = width // 2
    if advice.flag:
        yield padded(f" {advice.flag} ", width, "$off bold reverse")
        height -= 1
    sides = (("LEFT", advice.left), ("RIGHT", advice.right))
    names = [_named(name, side, half) for name, side in sides]
    if any(cell_len(name) >= half for name in names):
        yield from (padded(_named(name, side, width), width, _WORDS) for name, side in sides)
        return
    yield padded(names[0], half, "bold") + padded(names[1], width - half, "bold")
    most = min(height - 4, 13 if height < _TALL else 21)
    left, right = (_turn(side.said, half - GAP, most) for side in (advice.left, advice.right))
    left, right = _drawn(advice, left, right, half - GAP, height - 2)
    for at in range(max(len(left), len(right))):
        parts = (rows[at] if at < len(rows) else "" for rows in (left, right))
        yield Content("").join([padded(part, half, _WORDS) for part in parts])


def _named(name: str, side: Turning, width: int) -> str:
    """A side with its flats, and as a part of a turn, with the way where that fits."""
    said = f"{name}: {side.said}"
    whole = (f"{said} = {side.turn} {side.way}", f"{said} = {side.turn}") if side.turn else ()
    return next((text for text in whole if cell_len(text) < width), said)


def _drawn(advice: Advice, left: Rows, right: Rows, width: int, height: int) -> tuple[Rows, Rows]:
    """Both sides' words with their hexagons: large or small under them, else beside them, else none."""
    assert advice.left is not None
    assert advice.right is not None
    sides = advice.left, advice.right
    rows = max(len(left), len(right))
    for slope in (_LARGE, _SMALL):
        if height - rows - hex_rows(slope) >= _LEAST_LINES:
            words = ((*side, *[""] * (rows - len(side)), "") for side in (left, right))
            first, second = ((*said, *hexagon(side, slope)) for said, side in zip(words, sides, strict=True))
            return first, second
    fits = [_side_by_side(side, hexagon(side), width, rows) for side in sides]
    return (fits[0], fits[1]) if all(fits) and rows >= _READABLE else (left, right)


def _side_by_side(side: Turning, drawn: Rows, width: int, height: int) -> Rows:
    """The words with a hexagon beside them, where they stay as high; else nothing."""
    room = max(map(cell_len, drawn), default=0)
    words = _turn(side.said, width - room - GAP, height)
    if len(words) < height - 1 and drawn:
        return ()
    across = max(map(cell_len, words), default=0) + GAP
    above = (len(words) - len(drawn)) // 2
    rows = [""] * above + list(drawn) + [""] * len(words)
    return tuple(f"{word:<{across}}{row}" for word, row in zip(words, rows, strict=False))


def _turn(said: str, width: int, height: int) -> tuple[str, ...]:
    """How far in one big line, and which way in another; one line where there is no way."""
    count, _, way = said.rpartition(" ")
    lines = (said,) if not count or way == "it" else (count, way)
    scales = [largest(line, width, max((height - 1) // 2, 3)) for line in lines]
    fit = [scale for scale in scales if scale is not None]
    return stacked(lines, min(fit)) if len(fit) == len(lines) else ()


def hex_rows(slope: int) -> int:
    """Return the rows of a hexagon, from above to below, by those of a slope."""
    return 2 * slope + 1


def hexagon(side: Turning, slope: int = _SMALL) -> Rows:
    """Draw a hexagon with each flat that goes by numbered, in the way it goes; nothing where no way is known.

    More than one whole turn is counted in it; a half flat is the corner after the last number. A large one has those
    flats thick, and the part of a turn in big letters within.
    """
    if not side.flats or not side.way:
        return ()
    count = abs(Fraction(side.flats))
    whole, rest = divmod(int(count), _CORNERS)
    flats = list(range(_CORNERS)) if side.way == "clockwise" else [0, *reversed(range(1, _CORNERS))]
    gone = flats[: rest or (_CORNERS if whole else 0)]
    rows, large = _outline(slope, gone if slope == _LARGE else ()), slope == _LARGE
    for number, (row, column) in enumerate((_numbered(slope)[flat] for flat in gone), 1):
        rows[row][column] = str(number)
    middle = f"{whole} × +" if whole and rest else f"{whole} ×" if whole else ""
    arrow = "↷" if side.way == "clockwise" else "↶"
    _put(rows, 1 if large else slope, f"{middle} {arrow}".strip())
    said = big(side.turn.partition(" turn")[0], 4 * slope + 2, 2 * slope - 3) if large else None
    for at, line in enumerate(said or (), slope - 2):
        _put(rows, at, line)
    corner = ("then on to the next corner",) if count.denominator == 2 else ()
    return (*("".join(row).rstrip() for row in rows), *corner)


def _put(rows: list[list[str]], at: int, text: str) -> None:
    """Write a text into the middle of a row."""
    start = (len(rows[at]) - len(text)) // 2
    rows[at][start : start + len(text)] = text


def _outline(slope: int, thick: Collection[int] = ()) -> list[list[str]]:
    """A hexagon that lies on a flat, its slopes so many rows high; flats by number, the one above is 0."""
    top, start = 4 * slope, slope + 2  # a cell is about twice as high as wide
    above, right, lower, below, upper, left = (flat in thick for flat in (0, 1, 2, 3, 5, 4))
    rows = [list(" " * start + ("▄" if above else "▁") * top + " " * start)]
    for row in range(slope):
        out = " " * (start - 1 - row)
        rows.append([*out, "█" if upper else "╱", *" " * (top + 2 * row), "█" if right else "╲", *out])
    for row in reversed(range(slope)):
        out, within = " " * (start - 1 - row), " " if row else "▄" if below else "▁"
        rows.append([*out, "█" if left else "╲", *within * (top + 2 * row), "█" if lower else "╱", *out])
    return rows


def _numbered(slope: int) -> tuple[tuple[int, int], ...]:
    """Row and column of the number of each flat: above first, then clockwise."""
    top, start, upper = 4 * slope, slope + 2, (slope + 1) // 2
    left, right = start - upper - 1, start + top + upper
    lower = 2 * slope - upper
    return (
        (0, start + top // 2 - 1),
        (upper, right),
        (lower, right + 1),
        (2 * slope, start + top // 2),
        (lower, left - 1),
        (upper, left),
    )
