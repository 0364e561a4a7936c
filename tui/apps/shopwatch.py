"""All benches of a shop, live: a table on the screen, or a line for each change."""

import asyncio
import random
from collections.abc import AsyncIterator, Callable
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import DataTable, Static

from logger.collector.view import EMPTY, BenchRow, Floor, counts, seen
from logger.errors import NothingToTalkTo
from logger.shop.topics import collector_state, need_id, watched
from logger.shop.wireport import Broker, Message, wait_before
from tui.safe import safe, safe_text

from .ourapp import OurApp

COLUMNS = {
    "Bench": 12,
    "State": 14,
    "Who": 12,
    "Machine": 24,
    "Prompt": 34,
    "Last verdict": 30,
    "Overrides": 30,
    "Checks": 40,
}
"""Heading -> most cells: what needs a person stands left of what is only counted."""
_SHAPES = {"ready": "■", "lost": "▼", "disconnected": "○", "sleeping": "○", "init": "○", "": "?"}
PAUSE_S = 0.1
"""Between two paints, however many messages arrive."""


async def floors(broker: Broker, shop: str) -> AsyncIterator[tuple[Floor, str]]:
    """Yield the floor after each message, with what is wrong with the line; a broker that is away is waited for."""
    floor, attempt = EMPTY, 0
    need_id("The shop", shop)
    will = Message(f"{shop}/1/watcher/$gone", b"")
    while True:
        attempt += 1
        try:
            async with broker.connect(will) as line:
                await line.subscribe((*watched(shop), collector_state(shop)))
                yield floor, ""
                async for message in line.messages():
                    attempt = 0
                    floor = seen(floor, shop, message)
                    yield floor, ""
        except NothingToTalkTo as error:
            yield floor, error.message
        await asyncio.sleep(wait_before(max(1, attempt), random.random()))


def cells(row: BenchRow) -> tuple[str, ...]:
    """Return a row's cells as plain text; what a bench that is not here showed last is marked as of then."""
    state = f"{_SHAPES.get(row.state, '?')} {row.state or 'unknown'}"
    if row.job is None:
        return (row.bench, state, "", "", "", "", "", "")
    job = row.job
    prompt = job.prompt if row.here else f"(then) {job.prompt}"
    simulated = " (simulated)" if job.simulated else ""
    overrides = f"⚑ {', '.join(job.overrides)}" if job.overrides else ""
    return (row.bench, state, job.by, job.machine + simulated, prompt, job.last, overrides, counts(job))


async def watch_lines(broker: Broker, shop: str, out: Callable[[str], None]) -> int:
    """Say a line for each bench that changed."""
    shown: dict[str, tuple[str, ...]] = {}
    trouble = ""
    async for floor, wrong in floors(broker, shop):
        if wrong and wrong != trouble:
            out(wrong)
        trouble = wrong
        for row in floor.in_order():
            now = cells(row)
            if shown.get(row.bench) != now:
                shown[row.bench] = now
                out("  ".join(cell for cell in now if cell))
    return 0


class ShopWatch(OurApp[int]):
    """One table; nothing on it can be changed from here."""

    TITLE = "Evenhand: all benches"
    CSS = "#told { dock: top; height: 1; } #keys { dock: bottom; height: 1; } DataTable { height: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("f12", "leave", "Leave")]

    def __init__(self, broker: Broker, shop: str) -> None:
        super().__init__()
        self._broker = broker
        self._shop = shop
        self._floor: tuple[Floor, str] = (EMPTY, "")
        self._painted: tuple[Floor, str] | None = None

    def compose(self) -> ComposeResult:
        """Lay out the table under one line of state."""
        yield Static(id="told")
        yield DataTable[object](cursor_type="row", zebra_stripes=False)
        yield Static("F12 Leave", id="keys")

    def on_mount(self) -> None:
        """Begin to listen, and to paint what changed."""
        self.query_one(DataTable).add_columns(*COLUMNS)
        self.run_worker(self._listen(), exit_on_error=True)
        self.set_interval(PAUSE_S, self._paint)

    async def _listen(self) -> None:
        async for floor in floors(self._broker, self._shop):
            self._floor = floor

    def _paint(self) -> None:
        if self._painted == self._floor:
            return
        self._painted = floor, wrong = self._floor
        table = self.query_one(DataTable)
        place = table.cursor_row
        table.clear()
        for row in floor.in_order():
            # as text of rich: the table cannot tell how wide its own library's content is, and would cut it off
            table.add_row(
                *(Text(safe_text(cell, most)) for cell, most in zip(cells(row), COLUMNS.values(), strict=True))
            )
        table.move_cursor(row=place)
        here = sum(row.here for row in floor.rows.values())
        collector = floor.collector or "unknown"
        line = wrong or f"{here} of {len(floor.rows)} benches here; collector {collector}"
        self.query_one("#told", Static).update(safe(f"Shop {self._shop}: {line}"))

    def action_leave(self) -> None:
        """End."""
        self.exit(0)


async def watch_screen(broker: Broker, shop: str) -> int:
    """Show the table until it is left."""
    app = ShopWatch(broker, shop)
    left = await app.run_async()
    if app.fault is not None:
        raise app.fault
    return left or 0
