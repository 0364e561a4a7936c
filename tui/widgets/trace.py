"""The trace of a pull as a plot out of characters, with the window and the peak; pure, and the widget that paints it.

As with the bar of a window: what is outside it is never drawn on or inside a limit, and what is inside never outside.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from rich.cells import cell_len
from textual.content import Content

from tui.look import style_of, verdict_word
from tui.replay.traced import Plot
from tui.safe import safe_text

from .painted import padded, wrapped

LEAST_ROWS = 6
_LABEL = 8
"""Columns for the figures at the left."""


class _Scale:
    """Rows of torques, the lowest 0, each on the side of a limit where it is."""

    def __init__(self, plot: Plot, height: int) -> None:
        sizes = [size for _, size in plot.points] or [Fraction(0)]
        self._from = min([*sizes, Fraction(0)])
        top = max([*sizes, *(end for end in (plot.high,) if end is not None)])
        self._to = top if top > self._from else self._from + 1
        self._rows = height - 1
        self.low = self.high = None
        if plot.low is not None and plot.high is not None:
            # a row stays for what is over the high limit, one for what is between, one for what is under the low one
            self.high = min(max(self._raw(plot.high), 3), self._rows - 1)
            self.low = min(max(self._raw(plot.low), 1), self.high - 2)
        self._plot = plot

    def _raw(self, size: Fraction) -> int:
        return round((size - self._from) / (self._to - self._from) * self._rows)

    def of(self, size: Fraction) -> int:
        """Row of a torque."""
        row = min(max(self._raw(size), 0), self._rows)
        if self.low is None or self.high is None or self._plot.low is None or self._plot.high is None:
            return row
        if size < self._plot.low:
            return min(row, self.low - 1)
        if size > self._plot.high:
            return max(row, self.high + 1)
        if size in (self._plot.low, self._plot.high):
            return self.low if size == self._plot.low else self.high
        return min(max(row, self.low + 1), self.high - 1)


def trace_rows(plot: Plot, width: int, height: int) -> tuple[str, ...]:
    """Return the plot in so many rows: the torque by time, limits as lines, the peak marked, the time under it."""
    if not plot.points or height < LEAST_ROWS or width < _LABEL + 8:
        return ()
    room, rows = width - _LABEL, height - 1
    scale, lengths = _Scale(plot, rows), plot.points[-1][0] - plot.points[0][0]
    columns = _columns(plot, room)
    peak_at = _column(plot.points[plot.most][0] - plot.points[0][0], lengths, room)
    grid = [[" "] * room for _ in range(rows)]
    for row, mark in ((scale.low, "─"), (scale.high, "─")):
        if row is not None:
            grid[row] = [mark] * room
    before: int | None = None
    for at, size in enumerate(columns):
        if size is None:
            continue
        top = scale.of(size)
        for row in _between(before, top):
            grid[row][at] = "│"
        grid[top][at] = "•"
        before = top
    grid[scale.of(plot.points[plot.most][1])][peak_at] = "◆"
    labels = _labels(plot, scale, rows)
    drawn = [f"{labels.get(row, ''):>{_LABEL - 1}} {''.join(grid[row])}".rstrip() for row in reversed(range(rows))]
    return (*drawn, f"{'':{_LABEL}}{_under(lengths, room)}")


def _between(before: int | None, now: int) -> range:
    """The rows that join one column to the next."""
    if before is None:
        return range(0)
    return range(before + 1, now) if now > before else range(now + 1, before)


def _column(ms: int, length: int, room: int) -> int:
    return 0 if length <= 0 else ms * (room - 1) // length


def _columns(plot: Plot, room: int) -> list[Fraction | None]:
    """The largest torque of each column; None where no sample falls into one."""
    first, length = plot.points[0][0], plot.points[-1][0] - plot.points[0][0]
    columns: list[Fraction | None] = [None] * room
    for ms, size in plot.points:
        at = _column(ms - first, length, room)
        known = columns[at]
        columns[at] = size if known is None else max(known, size)
    return columns


def _labels(plot: Plot, scale: _Scale, rows: int) -> dict[int, str]:
    labels = {0: "0"} if scale.of(Fraction(0)) == 0 else {}
    for row, text in ((scale.low, plot.low_text), (scale.high, plot.high_text)):
        if row is not None:
            labels[row] = text.removesuffix(plot.unit).strip()[: _LABEL - 1]
    return labels


def _under(length: int, room: int) -> str:
    end = f"{length / 1000:.2f} s"
    return f"0{end:>{max(room - 1, cell_len(end))}}"


def plot_rows(plot: Plot | None, width: int, height: int) -> Iterator[Content]:
    """Paint what the pull was of, its peak and verdict, then the plot, and notes where there is room."""
    if plot is None:
        yield padded("No pull yet", width, "$quiet")
        return
    word = f"{verdict_word(plot.verdict)}  " if plot.verdict else ""
    yield padded(f"PULL  {safe_text(plot.title)}", width, "bold")
    yield padded(f"{word}◆ {safe_text(plot.peak_text)}", width, style_of(plot.verdict))
    notes = [row for note in _all_notes(plot) for row in wrapped(note, width)]
    drawn = trace_rows(plot, width, height - 2 - min(len(notes), max(height - 2 - LEAST_ROWS - 3, 0)))
    yield from (padded(row, width) for row in drawn)
    yield from (padded(row, width, "$quiet") for row in _that_fit(notes, height - 2 - len(drawn)))


def _all_notes(plot: Plot) -> Sequence[str]:
    window = (f"Window {plot.low_text} to {plot.high_text}, aim {plot.aim_text}",) if plot.low_text else ()
    return (*(() if plot.points else ("No trace: it was not streamed.",)), *plot.notes, *window)


def _that_fit(rows: Sequence[str], height: int) -> Sequence[str]:
    return rows[: max(height, 0)]
