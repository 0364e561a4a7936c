"""The advice in big words: how far each side is turned, on a hexagon where there is room, and what goes with it."""

from collections.abc import Iterator
from fractions import Fraction

from rich.cells import cell_len
from textual.content import Content

from tui.glance.shown import Advice, Turning
from tui.safe import safe_text

from .blocks import big, largest, stacked
from .painted import padded, plain, wrapped

GAP = 2
_WORDS = "$primary bold"
_CORNERS = 6

_HEX = (
    "    ▁▁▁▁▁▁▁▁    ",
    "   ╱        ╲   ",
    "  ╱          ╲  ",
    "  ╲          ╱  ",
    "   ╲▁▁▁▁▁▁▁▁╱   ",
)
_FLATS = ((0, 7), (1, 13), (3, 14), (4, 8), (3, 1), (1, 2))
"""Row and column of the number of each flat: above first, then clockwise."""
HEX_ROWS = len(_HEX)
_TALL = 36
_LEAST_LINES = 5
"""Rows that stay for what goes with the advice, before a hexagon is drawn."""


def advice_rows(advice: Advice, width: int, height: int, start: int = 0) -> Iterator[Content]:
    """Paint LEFT and RIGHT beside each other in big words, then the lines from `start` on, and whether there are more.

    Where nothing is to be turned it says so as big, and why.
    """
    head = list(_head(advice, width, height))
    yield from head
    under = [row for line in advice.lines for row in wrapped(line, width)][start:]
    room = max(height - len(head), 0)
    for at, row in enumerate(under[:room]):
        more = at == room - 1 and len(under) > room
        yield plain(f"{row[: max(width - 12, 0)]} … PageDown" if more else row)


def more_rows(advice: Advice, width: int, height: int) -> int:
    """Return how many rows of lines do not fit."""
    under = [row for line in advice.lines for row in wrapped(line, width)]
    return max(len(under) - max(height - len(list(_head(advice, width, height))), 1), 0)


def _head(advice: Advice, width: int, height: int) -> Iterator[Content]:
    if advice.left is None or advice.right is None:
        yield padded(f" ✕ {advice.stop.upper()} ", width, "$off bold reverse")
        for row in big(safe_text(advice.stop), width, min(height - 5, 7)) or ():
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
    if height - 2 - max(len(left), len(right)) - HEX_ROWS >= _LEAST_LINES:
        left, right = ((*words, "", *drawn) for words, drawn in _with_hexagons(advice, left, right))
    for at in range(max(len(left), len(right))):
        parts = (rows[at] if at < len(rows) else "" for rows in (left, right))
        yield Content("").join([padded(part, half, _WORDS) for part in parts])


def _named(name: str, side: Turning, width: int) -> str:
    """A side with its flats, and as a part of a turn, with the way where that fits."""
    said = f"{name}: {side.said}"
    whole = (f"{said} = {side.turn} {side.way}", f"{said} = {side.turn}") if side.turn else ()
    return next((text for text in whole if cell_len(text) < width), said)


def _with_hexagons(
    advice: Advice, left: tuple[str, ...], right: tuple[str, ...]
) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """Both sides' words, equally high, each with its hexagon."""
    assert advice.left is not None
    assert advice.right is not None
    rows = max(len(left), len(right))
    words = ((*side, *[""] * (rows - len(side))) for side in (left, right))
    return tuple(zip(words, (hexagon(advice.left), hexagon(advice.right)), strict=True))


def _turn(said: str, width: int, height: int) -> tuple[str, ...]:
    """How far in one big line, and which way in another; one line where there is no way."""
    count, _, way = said.rpartition(" ")
    lines = (said,) if not count or way == "it" else (count, way)
    scales = [largest(line, width, max((height - 1) // 2, 3)) for line in lines]
    fit = [scale for scale in scales if scale is not None]
    return stacked(lines, min(fit)) if len(fit) == len(lines) else ()


def hexagon(side: Turning) -> tuple[str, ...]:
    """Draw a hexagon with each flat that goes by numbered, in the way it goes; nothing where no way is known.

    More than one whole turn is counted beside it; a half flat is the corner after the last number.
    """
    if not side.flats or not side.way:
        return ()
    count = abs(Fraction(side.flats))
    whole, rest = divmod(int(count), _CORNERS)
    order = _FLATS if side.way == "clockwise" else (_FLATS[0], *reversed(_FLATS[1:]))
    rows = [list(row) for row in _HEX]
    for number, (row, column) in enumerate(order[: rest or (_CORNERS if whole else 0)], 1):
        rows[row][column] = str(number)
    middle = f"{whole} × +" if whole and rest else f"{whole} ×" if whole else ""
    arrow = "↷" if side.way == "clockwise" else "↶"
    rows[2][4:12] = f"{f'{middle} {arrow}'.strip():^8}"
    corner = ("then on to the next corner",) if count.denominator == 2 else ()
    return (*("".join(row).rstrip() for row in rows), *corner)
