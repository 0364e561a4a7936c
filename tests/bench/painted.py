"""The screen of a job on the terminal it was started on, timed from within; `paint_speed` gives it a pseudo-terminal.

`python -m tests.bench.painted FOLDER READINGS SECONDS`: so many readings, then a wrench that streams at 10 Hz for so
many seconds, then the same time with nothing to do. What was found goes to FOLDER/found.json.
"""

import asyncio
import json
import sys
import time
from pathlib import Path
from typing import Any

import tui.apps.app
from drivers.clock import SystemClock
from drivers.reading import ToolReading, TorqueSample
from logger.bench.bench import Bench, Opening
from logger.bench.moment import Moment
from logger.sheets.store import open_sheet
from logger.trail.trail import Trail
from tests.tui.hand import CALIPER, WRENCH, Hand, StillClock, at
from tui.apps.app import EvenhandApp, Shown

SLACK = ("300.0", "345.0", "300.0", "348.0")
PACE_S = 0.03
"""Between two readings: longer than a frame, and not in step with frames."""


class Watched(EvenhandApp):
    """Notes when a reading was on the disk, when its bell rang, and when what it changed was painted."""

    CSS_PATH = str(Path(tui.apps.app.__file__).with_name("evenhand.tcss"))

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.stored_ns = self.painted_ns = self.belled_ns = 0
        self.painted = asyncio.Event()
        self._drawn = False
        bench.listeners.append(self._note)

    def _note(self, _: Moment) -> None:
        self.stored_ns = time.perf_counter_ns()

    async def on_shown(self, message: Shown) -> None:
        """Draw, and wait for the paint that shows it."""
        await super().on_shown(message)
        if not self.painted_ns:
            self._drawn = True

    def bell(self) -> None:
        """Ring, and note it."""
        super().bell()
        self.belled_ns = self.belled_ns or time.perf_counter_ns()

    def post_display_hook(self) -> None:
        """A paint has been handed to the terminal."""
        if self._drawn:
            self._drawn, self.painted_ns = False, time.perf_counter_ns()
            self.painted.set()

    def fresh(self) -> None:
        """Forget the last paint."""
        self.painted.clear()
        self.painted_ns = self.belled_ns = 0
        self._drawn = False


async def readings(app: Watched, bench: Bench, count: int, clock: SystemClock) -> dict[str, list[float]]:
    """Let a caliper send readings for the sides, taken back in between; return ms to the paint and to the bell."""
    paints, bells, work = [], [], []
    first = bench.moment.prompt.key
    for number in range(count):
        await asyncio.sleep(PACE_S + number % 17 / 1000)
        if bench.moment.prompt.step != "sides" or number % 4 == 3:
            while bench.moment.job.last_counted and bench.moment.prompt.key != first:
                await bench.take_back("read wrongly")
            await asyncio.sleep(PACE_S)
        app.fresh()
        text = ("36.20", "36.95", "37.25")[number % 3]
        reading = ToolReading(CALIPER, "length", text, "mm", "sig", f"{number:04x}", clock.now(), "caliper")
        await bench.arrive(reading)
        busy = time.process_time()
        await asyncio.wait_for(app.painted.wait(), 5)
        work.append((time.process_time() - busy) * 1000)
        paints.append((app.painted_ns - app.stored_ns) / 1e6)
        if app.belled_ns:
            bells.append((app.belled_ns - app.stored_ns) / 1e6)
    return {"paint": paints, "bell": bells, "work": work}


async def stream(bench: Bench, clock: SystemClock, seconds: float) -> float:
    """Let a wrench stream at 10 Hz; return the share of a core."""
    began, busy = time.perf_counter(), time.process_time()
    for number in range(int(seconds * 10)):
        climbs = number % 40
        text = f"{min(climbs * 3, 80 - climbs) if climbs < 30 else 0}.0"
        await bench.arrive(TorqueSample(WRENCH, text, "N·m", clock.now()))
        await asyncio.sleep(max(0.0, began + (number + 1) / 10 - time.perf_counter()))
    return (time.process_time() - busy) / (time.perf_counter() - began)


async def idle(seconds: float) -> float:
    """Return the share of a core with nothing to do."""
    began, busy = time.perf_counter(), time.process_time()
    await asyncio.sleep(seconds)
    return (time.process_time() - busy) / (time.perf_counter() - began)


async def main(folder: Path, count: int, seconds: float) -> None:
    """Play, and leave what was found."""
    clock = SystemClock()
    found: dict[str, Any] = {}
    with Trail.open(folder / "trail.sqlite") as trail:
        opening = Opening(open_sheet("courier-chain"), "Depot motorcycle 7", "A. Mechanic")
        bench = await Bench.open(trail, clock, opening)
        await Hand(bench, StillClock()).until(at("sides"), slack=SLACK)
        app = Watched(bench)

        async def play() -> None:
            await asyncio.sleep(1)
            found.update(await readings(app, bench, count, clock))
            found["stream"] = await stream(bench, clock, seconds)
            found["idle"] = await idle(seconds)
            app.exit(0)

        async with asyncio.TaskGroup() as group:
            group.create_task(play())
            await app.run_async()
    (folder / "found.json").write_text(json.dumps(found), encoding="utf-8")


if __name__ == "__main__":
    asyncio.run(main(Path(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])))
