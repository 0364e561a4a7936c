"""A process that plays jobs line by line on a trail until it is killed, and tells of each event it acknowledges."""

import asyncio
from collections.abc import AsyncIterator
from multiprocessing.connection import Connection
from pathlib import Path

from drivers.clock import SystemClock
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.bench.moment import Moment
from logger.sheets.file import load_sheet
from logger.shelf.shelf import every_job
from logger.trail.keys import bench_key
from logger.trail.seal import Seal
from logger.trail.trail import Trail
from tests.logger.walk import SMALL
from tui.plain import Plain


def play_until_killed(path: Path, told: Connection) -> None:
    """Play job after job on the trail at `path`, and tell of each event once it is acknowledged."""
    asyncio.run(_play(path, told))


def left_open(path: Path) -> list[str]:
    """The jobs of a trail that were not closed, in the order they were opened."""
    return [job[0].job for job in every_job(path) if not any(isinstance(each.event, ev.JobClosed) for each in job)]


async def _play(path: Path, told: Connection) -> None:
    def tell(moment: Moment) -> None:
        told.send((moment.record.model_dump_json(), moment.prompt.key))

    with Trail.open(path, seal=lambda: Seal(bench_key(path.parent / "bench.key"))) as trail:
        while True:
            bench = await _bench(trail)
            tell(bench.moment)
            bench.listeners.append(tell)
            await Plain(bench, SystemClock(), "Robin", lambda _: None).run(_answers(bench))


async def _bench(trail: Trail) -> Bench:
    open_jobs = left_open(trail.path)
    if open_jobs:
        return await Bench.resume(trail, SystemClock(), open_jobs[0])
    return await Bench.open(trail, SystemClock(), Opening(load_sheet(SMALL, "small"), "Belt 7", "Robin"))


async def _answers(bench: Bench) -> AsyncIterator[str]:
    while not bench.moment.job.closed:
        yield _answer(bench.moment)


def _answer(moment: Moment) -> str:
    prompt, adjusted = moment.prompt, moment.job.turned("adjust") > 0
    match prompt.kind, prompt.step:
        case "measure", "gap":
            return "32.0 mm" if adjusted else "45.0 mm"
        case "measure", _:
            return "36.5 mm" if adjusted or prompt.place == "left" else "37.4 mm"
        case "turn", _:
            return "turned 1 1"
        case "loosen", _:
            return "loosened"
        case "torque", _:
            return "40 N·m"
        case "close", _:
            return "close"
        case _:
            return "done"
