"""The window as a bar: its limits, its aim and the value on it; pure.

A value outside the window is never drawn on or inside a limit, however near it lies, and one inside never outside.
"""

from dataclasses import dataclass
from fractions import Fraction

from rich.cells import cell_len


@dataclass(frozen=True, slots=True)
class Bar:
    """A window with a value, all in one unit; the texts are what a person reads at each mark."""

    low: Fraction
    high: Fraction
    low_text: str
    high_text: str
    aim: Fraction | None = None
    aim_text: str = ""
    value: Fraction | None = None
    held: Fraction | None = None
    """The largest value of a pull in progress; the bar then starts at zero and fills up to the value."""

    @property
    def climbs(self) -> bool:
        """Whether this is the bar of a pull in progress."""
        return self.held is not None


def bar_rows(bar: Bar, width: int) -> tuple[str, str, str]:
    """Return three rows: what the marks mean, the bar, and where the value stands."""
    places = _Places(bar, max(width, 12))
    line = ["─"] * places.width
    for at in range(places.low + 1, places.high):
        line[at] = "━"
    line[places.low], line[places.high] = "┣", "┫"
    if places.aim is not None:
        line[places.aim] = "╋"
    if bar.held is not None:
        return _labels(bar, places), _climbing(bar, places, line), _marker(places.of(bar.held), "│")
    return _labels(bar, places), "".join(line), _marker(places.value, "▲")


class _Places:
    """Columns of the marks of a bar."""

    def __init__(self, bar: Bar, width: int) -> None:
        self.width = width
        room = (bar.high - bar.low) or max(abs(bar.high), Fraction(1))
        self._from = Fraction(0) if bar.climbs else bar.low - room * Fraction(2, 5)
        self._to = bar.high + (bar.high / 5 if bar.climbs else room * Fraction(2, 5))
        self._bar = bar
        self.low = self._raw(bar.low)
        self.high = max(self._raw(bar.high), self.low + 1)
        self.aim = None if bar.aim is None else min(max(self._raw(bar.aim), self.low), self.high)
        self.value = None if bar.value is None else self.of(bar.value)

    def _raw(self, value: Fraction) -> int:
        share = (value - self._from) / (self._to - self._from)
        return min(max(round(share * (self.width - 1)), 0), self.width - 1)

    def of(self, value: Fraction) -> int:
        """Column of a value, on the side of each limit where the value is."""
        at = self._raw(value)
        if value < self._bar.low:
            return min(at, max(self.low - 1, 0))
        if value > self._bar.high:
            return max(at, min(self.high + 1, self.width - 1))
        return min(max(at, self.low), self.high)


def _labels(bar: Bar, places: _Places) -> str:
    """Write the limits outside the window and the aim within it, each at its mark."""
    row = [" "] * places.width
    _put(row, bar.high_text, places.high)
    _put(row, bar.low_text, places.low - cell_len(bar.low_text) + 1)
    if places.aim is not None:
        _put(row, bar.aim_text, places.aim - cell_len(bar.aim_text) // 2)
    return "".join(row).rstrip()


def _put(row: list[str], text: str, start: int) -> None:
    """Write a label where there is room for it with a space around."""
    size = cell_len(text)
    start = min(max(start, 0), len(row) - size)
    if size == 0 or start < 0 or any(each != " " for each in row[max(start - 1, 0) : start + size + 1]):
        return
    row[start : start + size] = text


def _climbing(bar: Bar, places: _Places, line: list[str]) -> str:
    full = places.of(bar.value or Fraction(0))
    filled = ["█" if at <= full and each in "─━" else each for at, each in enumerate(line)]
    return "".join(filled)


def _marker(at: int | None, mark: str) -> str:
    return "" if at is None else " " * at + mark
