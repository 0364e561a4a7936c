"""The list of checks with their verdicts, and the tools with their links."""

from collections.abc import Iterable, Mapping, Sequence

from rich.cells import cell_len
from textual.content import Content
from textual.geometry import Size

from drivers.reading import RADIO, Link, ToolState
from logger.job.rules import PASSES, standing
from logger.job.verdictwords import SHAPES
from tui.glance.glance import Row
from tui.look import style_of
from tui.safe import cut, safe_text

from .painted import Painted, padded, plain

LINK_SHAPES: dict[Link, str] = {
    Link.READY: "●",
    Link.CONNECTING: "◐",
    Link.SEARCHING: "◌",
    Link.ASLEEP: "◑",
    Link.LOST: "✕",
}


class Checks(Painted):
    """Every check in sheet order; where not all fit, those about the present prompt, and how many lie out of sight."""

    def __init__(self) -> None:
        super().__init__(id="checks")
        self._rows: tuple[Row, ...] = ()

    def show(self, rows: tuple[Row, ...]) -> None:
        """Show the list."""
        if rows != self._rows:
            self._rows = rows
            self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint as many as fit; the first row counts."""
        yield padded(f"CHECKS  {standing([row.verdict for row in self._rows])}", width, "bold")
        start, stop = _part(self._rows, height - 1)
        names = _names(self._rows, width)
        for at in range(start, stop):
            above, below = at == start and start > 0, at == stop - 1 and stop < len(self._rows)
            if above or below:
                hidden = self._rows[: at + 1] if above else self._rows[at:]
                yield padded(f"  {'↑' if above else '↓'} {_counted(hidden)}", width, "$quiet")
            else:
                yield _check(self._rows[at], width, names[at])


def _part(rows: Sequence[Row], height: int) -> tuple[int, int]:
    """The stretch of the list to show: the present check stands a third down, so that what comes next is seen."""
    if len(rows) <= height:
        return 0, len(rows)
    here = next((at for at, row in enumerate(rows) if row.current), None)
    if here is None:
        here = next((at for at, row in enumerate(rows) if row.verdict not in PASSES), len(rows) - 1)
    start = min(max(here - height // 3, 0), len(rows) - height)
    return start, start + height


def _counted(rows: Sequence[Row]) -> str:
    still_open = sum(row.verdict not in PASSES for row in rows)
    let = sum(row.verdict == "overridden" for row in rows)
    said = [f"{let} overridden"] * bool(let) + [f"{still_open} open"] * bool(still_open)
    return f"{len(rows)} more, {', '.join(said) or 'all pass'}"


def _names(rows: Sequence[Row], width: int) -> list[str]:
    """The names of checks; the place is never cut, and the places of one step stand behind the same short title."""
    room: dict[str, int] = {}
    for row in rows:
        left = max(width - cell_len(_head(row)) - cell_len(_place(row)) - cell_len(_value(row, width)), 6)
        room[row.title] = min(room.get(row.title, left), left)
    return [f"{_short(safe_text(row.title), room[row.title])}{_place(row)}" for row in rows]


def _short(title: str, room: int) -> str:
    """A title in little room: its first clause where that fits, else cut."""
    clause = title.partition(",")[0]
    return title if cell_len(title) <= room else clause if cell_len(clause) <= room else cut(title, room)


def _head(row: Row) -> str:
    return f"{'▸' if row.current else ' '}{SHAPES[row.verdict]} {row.verdict:<10} "


def _place(row: Row) -> str:
    return f", {safe_text(row.place)}" if row.place else ""


def _value(row: Row, width: int) -> str:
    return f" {safe_text(row.value)}" if row.value and width > 50 else ""


def _check(row: Row, width: int, name: str) -> Content:
    """One check: a mark where the prompt is, shape and word, its name, its value."""
    head, value = _head(row), _value(row, width)
    rest = padded(name, max(width - cell_len(head) - cell_len(value), 0), "bold" if row.current else "")
    return plain(head, style_of(row.verdict)) + rest + plain(value)


class Tools(Painted):
    """One row for each tool: link as shape and word, battery, and what is wrong."""

    def __init__(self) -> None:
        super().__init__(id="tools")
        self._states: tuple[ToolState, ...] = ()
        self._typed: tuple[tuple[str, str], ...] = ()

    def show(self, tools: Mapping[str, ToolState], typed: tuple[tuple[str, str], ...] = ()) -> None:
        """Show what is known of the tools; `typed` are quantities with the tool that typed readings of them are of."""
        states = tuple(tools.values())
        if (states, typed) != (self._states, self._typed):
            rows = self._count()
            self._states, self._typed = states, typed
            self.refresh(layout=rows != self._count())

    def _count(self) -> int:
        return max(len(self._states) + len(self._typed), 1)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return a row for each tool and for what is typed, one at least."""
        return self._count()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the tools; where not all fit, those that are not ready come first."""
        if not self._states and not self._typed:
            yield padded("○ No tool yet: type what it reads", width, "$quiet")
            return
        typed = [f"⌨ {quantity}: {safe_text(tool)}" for quantity, tool in self._typed]
        over = self._count() > height
        states = sorted(self._states, key=lambda state: state.link is Link.READY and over)
        if over:
            lost = any(state.link is Link.LOST for state in states)
            short = (*map(_in_short, states), *typed)
            yield padded(" · ".join(short), width, "$off bold" if lost else "")
            return
        for state in states:
            style = "" if state.link is Link.READY else "$off" if state.link is Link.LOST else "$pending"
            yield padded(_tool(state), width, style)
        yield from (padded(f"{row}, typed", width) for row in typed)


def _tool(state: ToolState) -> str:
    name = "Radio" if state.tool == RADIO else safe_text(state.kind or state.tool)
    battery = "" if state.battery is None else f" {state.battery} %"
    ours = "" if state.tool == RADIO or not state.kind else f" {safe_text(state.tool)}"
    message = f": {safe_text(state.message)}" if state.message else ""
    return f"{LINK_SHAPES[state.link]} {name} {state.link.value}{battery}{message or ours}"


def _in_short(state: ToolState) -> str:
    """A tool among others on one row; one that is ready needs no word but its shape."""
    name = "Radio" if state.tool == RADIO else safe_text(state.kind or state.tool)
    return f"{LINK_SHAPES[state.link]} {name}" + ("" if state.link is Link.READY else f" {state.link.value}")
