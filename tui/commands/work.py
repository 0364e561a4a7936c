"""`start` and `resume`: a job on real tools, typed readings, or both."""

import argparse
import asyncio
from collections.abc import Sequence

from drivers.clock import SystemClock
from logger.bench import Bench, Opening
from logger.sheetstore import open_sheet
from logger.shelf import resolve
from logger.sideoffset import last_side_offset, side_offset_of
from logger.trail import Trail
from tui.choice import NEW, Choice
from tui.services import Service

from .choosing import complete
from .kit import Kit, forewarning, kit_of, radio_service
from .session import Begin, local_offset, named, need_screen, opening, play_plain, play_screen, session
from .sharing import share
from .shell import Shell
from .speaking import speaking


def start(shell: Shell, args: argparse.Namespace) -> int:
    """Begin a job and play it; on a terminal, what was not given is asked for, or an open job is taken up."""
    kit = kit_of(shell.home)
    job = NEW if args.sheet or args.machine or args.by else None
    given = Choice(job, args.sheet, args.machine, args.by)
    choice = complete(shell, kit, given, plain=args.plain)
    if isinstance(choice, int):
        return choice
    need_screen(shell, plain=args.plain)
    if choice.job:
        args.job, args.by = choice.job, None
        return resume(shell, args)
    loaded = open_sheet(str(choice.sheet))
    for warning in loaded.warnings:
        shell.say(f"Warning: {warning}")
    machine = str(choice.machine)
    given_offset = side_offset_of(*args.side_offset) if args.side_offset else None
    known = given_offset or last_side_offset(shell.home.trail, machine)
    begin = opening(Opening(loaded, machine, str(choice.by), offset=local_offset(), side_offset=known))
    return asyncio.run(_work(shell, args, begin, kit, cautions_read=bool(choice.cautions)))


def resume(shell: Shell, args: argparse.Namespace) -> int:
    """Take up an open job and play it on."""
    need_screen(shell, plain=args.plain)
    kit = kit_of(shell.home)
    job = resolve(shell.home.trail, args.job, state="open")
    by = "" if args.by is None else named("--by", args.by)

    async def begin(trail: Trail) -> Bench:
        return await Bench.resume(trail, SystemClock(), job, by)

    return asyncio.run(_work(shell, args, begin, kit))


async def _work(shell: Shell, args: argparse.Namespace, begin: Begin, kit: Kit, *, cautions_read: bool = False) -> int:
    async def play(bench: Bench) -> int | None:
        job = bench.moment.job
        if cautions_read:
            await bench.cautions_read()
        cannot: tuple[str, ...] = ()
        pedal = kit.pedal()
        services: Sequence[Service] = ()
        if not job.simulated:  # a simulated job has no business with real tools
            bench.describe, cannot = kit.describe, kit.cannot(job.sheet, job.side_offset)
            bench.typed_by = kit.typed_by
            services = () if args.no_radio else (radio_service(kit.book, kit.radio, pedal),)
        services = (*services, *share(shell.home), *speaking(shell.home, args))
        if args.plain:
            for sentence in cannot:
                shell.out(f"Warning: {sentence}")
            await play_plain(shell, bench, args.by or job.by, services, pedal)
            return None
        beside = (forewarning(cannot), *services)
        return await play_screen(bench, beside, keymap=kit.keymap(), pedal=pedal, by=args.by or "")

    return await session(shell, begin, play)
