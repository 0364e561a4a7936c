"""The window as a bar: its limits, its aim, and the value with its uncertainty on it; pure.

A value outside the window is never drawn on or inside a limit, however near it lies, and one inside never outside. The
same holds for what passes under a guarded rule, where the bar has a column to tell it by.
"""

from fractions import Fraction

from rich.cells import cell_len

from tui.glance.shown import Bar, Zone


def bar_rows(bar: Bar, width: int) -> tuple[str, str, str]:
    """Return three rows: what the marks mean, the bar, and where the value stands with its uncertainty."""
    places = _Places(bar, max(width, 12))
    line = ["─"] * places.width
    for at in range(places.low + 1, places.high):
        line[at] = "━" if places.passes(at) else "┄"
    line[places.low], line[places.high] = "┣", "┫"
    if places.aim is not None:
        line[places.aim] = "╋"
    if bar.held is not None:
        return _labels(bar, places), _climbing(bar, places, line), _marker(places.of(bar.held), "│")
    return _labels(bar, places), "".join(line), _marked(bar, places)


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
        self._zone = self._zoned(bar.zone)
        self.value = None if bar.value is None else self.of(bar.value)

    def _zoned(self, zone: Zone | None) -> tuple[int, int]:
        """The first and the last column that pass; the first after the last where nothing does."""
        if zone is None:
            return self.low, self.high
        if zone == (None, None):
            return self.high, self.low
        first = self.low if zone.low is None else self._raw(zone.low)
        last = self.high if zone.high is None else self._raw(zone.high)
        return first, last

    def passes(self, at: int) -> bool:
        """Whether a value in this column passes."""
        return self._zone[0] <= at <= self._zone[1]

    def _raw(self, value: Fraction) -> int:
        share = (value - self._from) / (self._to - self._from)
        return min(max(round(share * (self.width - 1)), 0), self.width - 1)

    def of(self, value: Fraction) -> int:
        """Column of a value, on the side of each limit where the value is."""
        at, zone = self._raw(value), self._bar.zone
        if value < self._bar.low:
            return min(at, max(self.low - 1, 0))
        if value > self._bar.high:
            return max(at, min(self.high + 1, self.width - 1))
        if zone is not None and zone.low is not None and value < zone.low:
            at = min(at, self._zone[0] - 1)
        if zone is not None and zone.high is not None and value > zone.high:
            at = max(at, self._zone[1] + 1)
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
    filled = ["█" if at <= full and each in "─━┄" else each for at, each in enumerate(line)]
    return "".join(filled)


def _marked(bar: Bar, places: _Places) -> str:
    """The value as a mark, with a line as far to both sides as it is uncertain."""
    if bar.value is None or places.value is None:
        return ""
    if not bar.spread:
        return _marker(places.value, "▲")
    first, last = places.of(bar.value - bar.spread), places.of(bar.value + bar.spread)
    row = [" " if not first <= at <= last else "─" for at in range(last + 1)]
    row[first] = "├"
    row[last] = "┤"
    row[places.value] = "▲"
    return "".join(row)


def _marker(at: int | None, mark: str) -> str:
    return "" if at is None else " " * at + mark
