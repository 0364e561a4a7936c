"""The moments of a replay that matter: a job that is on a trail already, and the keys a reviewer presses."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.bench.comment import add_comment
from logger.job.job import fold
from logger.settings.settings import Home
from logger.sheets.store import open_sheet
from logger.shelf.shelf import begin, job_records
from logger.trail.trail import Trail
from simulators.clock import SimClock
from simulators.demo import Demo, Handover
from tests.played import WHOLE, Ticking, play
from tui.apps.replayer import ReplayApp
from tui.screens.replay import View

from .stage import Size, seen


@dataclass(frozen=True, slots=True)
class Replayed:
    """One moment of a replay: what it is called, whether the job is a simulated one, and the keys."""

    name: str
    keys: tuple[str, ...]
    simulated: bool = False

    def __str__(self) -> str:
        return self.name


def replays() -> Iterator[Replayed]:
    """Give every moment of a replay."""
    views = list(View)
    yield Replayed("30_replay_of_a_warning", ("f3",))
    yield Replayed("31_replay_of_a_pull", ("end", *("f6",) * views.index(View.PULL)), simulated=True)
    yield Replayed("32_replay_expected_beside_measured", ("end", *("f6",) * views.index(View.TURNINGS)))
    yield Replayed("33_replay_signed_off", ("f8", *"Sam", "f3", *"agreed", "f2", "end"))


async def records_of(moment: Replayed, folder: Path) -> tuple[ev.Record, ...]:
    """Return the job of a moment, made where it is not there yet."""
    home = Home(folder / ("simulated" if moment.simulated else "played"))
    if not home.trail.exists():
        await (_simulate(home.trail) if moment.simulated else play(home.trail, WHOLE))
    return tuple(job_records(home.trail, "j1"))


async def _simulate(path: Path) -> None:
    demo = Demo(7, pace=SimClock())
    with Trail.open(path) as trail:
        opening = Opening(open_sheet("courier-chain"), "Depot motorcycle 7", "A. Mechanic", simulated=True, seed=7)
        await demo.run(await Bench.open(trail, demo.clock, opening), Handover())


async def replay_shown(moment: Replayed, records: tuple[ev.Record, ...], size: Size, folder: Path) -> str:
    """Return what the screen of a replay shows after the keys; a comment goes to a trail of its own."""
    home = Home(folder / f"{moment.name}-{size[0]}")

    async def append(event: ev.Commented) -> ev.Record:
        await play(home.trail, WHOLE)
        return await add_comment(home, Ticking(1_767_700_000 * 10**9), fold(begin(records[0]), records[1:]), event)

    app = ReplayApp(records, append, environment={}, opened_ns=0)
    async with app.run_test(size=size) as pilot:
        await pilot.press(*moment.keys)
        await pilot.pause()
        return seen(pilot)
