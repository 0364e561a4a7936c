"""A plot of points in characters, for a terminal and for a screen reader's braille line; pure."""

from collections.abc import Callable, Iterator, Sequence

Point = tuple[float, float]
_POINT, _LINE, _LIMIT = "●", "·", "─"


def textplot(
    points: Sequence[Point],
    line: Callable[[float], float] | None,
    limit: float | None,
    until: float,
    size: tuple[int, int] = (60, 12),
) -> tuple[str, ...]:
    """Draw points, the line through them up to `until`, and a limit; at least one point.

    The left margin tells the values, the last line where the axis begins and ends.
    """
    grid = _Grid(size, _ends_across(points, until), _ends_upright(points, limit, size[1]))
    for x in grid.columns():
        if line is not None:
            grid.put(x, line(x), _LINE)
        if limit is not None:
            grid.put(x, limit, _LIMIT)
    for x, y in points:
        grid.put(x, y, _POINT)
    return grid.drawn()


class _Grid:
    """Rows of characters over a part of the plane."""

    def __init__(self, size: tuple[int, int], across: tuple[float, float], upright: tuple[float, float]) -> None:
        self._width, self._height = size
        self._left, self._right = across
        self._top, self._bottom = upright
        self._rows = [[" "] * self._width for _ in range(self._height)]

    def columns(self) -> Iterator[float]:
        """Where each column lies."""
        for column in range(self._width):
            yield self._left + (self._right - self._left) * column / (self._width - 1)

    def put(self, x: float, y: float, mark: str) -> None:
        """Put a mark at a point, where that lies on the grid."""
        column = round((x - self._left) / ((self._right - self._left) or 1.0) * (self._width - 1))
        row = round((self._top - y) / (self._top - self._bottom) * (self._height - 1))
        if 0 <= row < self._height and 0 <= column < self._width:
            self._rows[row][column] = mark

    def drawn(self) -> tuple[str, ...]:
        """Return its rows with the value of each, and the ends of the axis under them."""
        told = (self._top - (self._top - self._bottom) * row / (self._height - 1) for row in range(self._height))
        rows = [f"{value:8.2f} ┤{''.join(row).rstrip()}" for value, row in zip(told, self._rows, strict=True)]
        left, right = f"{self._left:.0f}", f"{self._right:.0f}"
        return (*rows, f"{'':9}└{'─' * self._width}", f"{'':10}{left}{right:>{self._width - len(left)}}")


def _ends_across(points: Sequence[Point], until: float) -> tuple[float, float]:
    """Where the grid begins and ends."""
    return min(x for x, _ in points), max(until, *(x for x, _ in points))


def _ends_upright(points: Sequence[Point], limit: float | None, height: int) -> tuple[float, float]:
    """Its highest and its lowest value."""
    values = [y for _, y in points]
    if limit is None:
        return _ends([*values, 0.0])
    return _with_a_row_at(limit, max(limit, *values), *_ends([*values, limit, 0.0]), height)


def _with_a_row_at(limit: float, most: float, top: float, bottom: float, height: int) -> tuple[float, float]:
    """Widen the ends so that a row stands exactly at the limit, and what is told of that row is the limit."""
    below = int((limit - bottom) / (top - bottom) * (height - 1))
    if below == 0:
        step = (top - limit) / (height - 2)
        return top, limit - step
    nearer = (limit - bottom) / (below + 1)
    step = nearer if below + 1 < height and bottom + nearer * (height - 1) >= most else (limit - bottom) / below
    return bottom + step * (height - 1), bottom


def _ends(values: Sequence[float]) -> tuple[float, float]:
    """The highest and the lowest value with a little room, never the same."""
    top, bottom = max(values), min(values)
    room = (top - bottom) * 0.05 or 1.0
    return top + room, bottom - (room if bottom < 0 else 0.0)
