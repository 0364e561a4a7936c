"""`demo`: a whole job on simulated tools, machine and mechanic, through the real drivers."""

import argparse
import asyncio
import contextlib
import secrets

from logger.bench.bench import Bench, Opening
from logger.errors import BadInput
from logger.sheets.store import open_sheet
from logger.trail.trail import Trail
from simulators.clock import HumanPace, SimClock
from simulators.demo import Demo, Handover, machine_of
from tui.plain import Plain
from tui.services import Workplace
from tui.session.session import local_offset, need_screen, play_screen, session
from tui.session.sharing import share
from tui.session.speaking import speaking
from tui.shell import Shell

BY = "Simulated mechanic"
MOST_SEED = 2**31 - 1


def demo(shell: Shell, args: argparse.Namespace) -> int:
    """Run one simulated job and keep it on the trail, marked as simulated."""
    need_screen(shell, plain=args.plain)
    seed = secrets.randbelow(1_000_000) if args.seed is None else args.seed
    if not 0 <= seed <= MOST_SEED:
        raise BadInput(f"--seed {seed} is out of range.", f"Give a whole number from 0 to {MOST_SEED}.")
    shell.say(f"Seed {seed}: the same seed gives the same run.")
    return asyncio.run(_demo(shell, args, seed))


async def _demo(shell: Shell, args: argparse.Namespace, seed: int) -> int:
    loaded = open_sheet(args.sheet)
    simulation = Demo(seed, sheet=loaded.sheet.id, pace=SimClock() if args.auto else HumanPace())
    control = Handover()
    # simulated time knows no place, so that the same seed gives the same trail anywhere
    offset = "+00:00" if args.auto else local_offset()
    opening = Opening(loaded, machine_of(loaded.sheet.id)[0], BY, simulated=True, seed=seed, offset=offset)

    async def begin(trail: Trail) -> Bench:
        return await Bench.open(trail, simulation.clock, opening)

    async def mechanic(workplace: Workplace) -> object:
        return await simulation.run(workplace.bench, control)

    beside = (*share(shell.home), *speaking(shell.home, args))

    async def play(bench: Bench) -> int | None:
        if args.plain:
            running = simulation.run(bench, control)
            with contextlib.closing(running):  # where stdout fails at once it is never awaited
                await Plain(bench, simulation.clock, BY, shell.out).watch(running, beside)
            return None
        return await play_screen(bench, (mechanic, *beside), control=control)

    return await session(shell, begin, play)
