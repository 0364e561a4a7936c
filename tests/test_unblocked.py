"""Nothing of ours makes the loop wait: a whole job with every blocking call in it refused, on the bench and screen."""

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest
from blockbuster import BlockingError, blockbuster_ctx

from logger.bench.bench import Bench, Opening
from logger.sheets.store import open_sheet
from logger.shelf.shelf import load_job
from logger.trail.trail import Trail
from simulators.clock import SimClock
from simulators.demo import Demo, Handover
from tests.tui.stage import seen
from tui.apps.app import EvenhandApp, Waits
from tui.screens.closed import ClosedScreen
from tui.services import Workplace

BEFORE_THE_FIRST_READING = {
    "drivers/profile/file.py": {"shipped_profiles"},
    "drivers/radio/ble.py": {"__aenter__"},  # bleak is imported with the radio
}


@pytest.fixture
def refused() -> Iterator[None]:
    """Refuse a blocking call in a running loop that any module of ours makes."""
    with blockbuster_ctx(["logger", "drivers", "simulators", "tui"]) as watch:
        for function in watch.functions.values():
            for file, names in BEFORE_THE_FIRST_READING.items():
                function.can_block_in(file, names)
        yield


async def _opened(trail: Trail, demo: Demo) -> Bench:
    opening = Opening(open_sheet("courier-chain"), "Depot motorcycle 7", "Simulated mechanic", simulated=True, seed=3)
    return await Bench.open(trail, demo.clock, opening)


@pytest.fixture
def trail(tmp_path: Path) -> Iterator[Trail]:
    with Trail.open(tmp_path / "trail.sqlite") as opened:
        yield opened


async def test_the_watch_sees_a_blocking_call(trail: Trail, refused: None) -> None:
    with pytest.raises(BlockingError):
        load_job(trail.path, "j1")


async def test_a_whole_job_never_makes_the_loop_wait(trail: Trail, request: pytest.FixtureRequest) -> None:
    demo = Demo(3, pace=SimClock())
    bench = await _opened(trail, demo)
    request.getfixturevalue("refused")
    assert (await demo.run(bench, Handover())).closed


async def test_nor_does_the_screen(trail: Trail, request: pytest.FixtureRequest) -> None:
    demo = Demo(3, pace=SimClock())
    bench, over = await _opened(trail, demo), asyncio.Event()

    async def mechanic(workplace: Workplace) -> None:
        try:
            await demo.run(workplace.bench, Handover())
        finally:
            over.set()

    app = EvenhandApp(bench, (mechanic,), environment={}, waits=Waits(back_off=(), drain_s=0.001))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        request.getfixturevalue("refused")
        while not over.is_set():
            await pilot.pause()
        await pilot.pause()
        assert bench.moment.job.closed, seen(pilot)
        assert isinstance(pilot.app.screen, ClosedScreen)
