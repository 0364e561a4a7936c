"""A plot of points in characters, for a terminal and for a screen reader's braille line; pure."""

from collections.abc import Callable, Sequence

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
    width, height = size
    left, right = min(x for x, _ in points), max(until, *(x for x, _ in points))
    top, bottom = _ends([*(y for _, y in points), *(() if limit is None else (limit,)), 0.0])
    if limit is not None:
        most = max(limit, *(y for _, y in points))
        top, bottom = _with_a_row_at(limit, most, top, bottom, height)
    rows = [[" "] * width for _ in range(height)]

    def put(x: float, y: float, mark: str) -> None:
        column = round((x - left) / ((right - left) or 1.0) * (width - 1))
        row = round((top - y) / (top - bottom) * (height - 1))
        if 0 <= row < height and 0 <= column < width:
            rows[row][column] = mark

    across = [left + (right - left) * column / (width - 1) for column in range(width)]
    for x in across:
        if line is not None:
            put(x, line(x), _LINE)
        if limit is not None:
            put(x, limit, _LIMIT)
    for x, y in points:
        put(x, y, _POINT)
    told = [top - (top - bottom) * row / (height - 1) for row in range(height)]
    drawn = [f"{value:8.2f} ┤{''.join(row).rstrip()}" for value, row in zip(told, rows, strict=True)]
    ends = f"{left:.0f}", f"{right:.0f}"
    return (*drawn, f"{'':9}└{'─' * width}", f"{'':10}{ends[0]}{ends[1]:>{width - len(ends[0])}}")


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
