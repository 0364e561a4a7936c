"""`start` and `resume`: a job on real tools, typed readings, or both."""

import argparse
import asyncio
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from drivers.clock import SystemClock
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.bench.moment import Moment
from logger.errors import BadInput
from logger.job.candidates import picks_of
from logger.job.facts import Job
from logger.job.picked import pick_at, picks_at, typed_from
from logger.sheets.sheet import TorqueStep
from logger.sheets.store import sheet_named
from logger.shelf.shelf import begin as begin_job
from logger.shelf.shelf import records, resolve
from logger.shelf.sideoffset import last_side_offset, side_offset_of
from logger.shelf.sums import JobSum
from logger.trail.file import is_there
from logger.trail.trail import Trail
from tui.choice import NEW, Choice
from tui.entry.person import Person
from tui.services import Service
from tui.session.choosing import OffsetOf, complete, mind, tools_given
from tui.session.kit import Kit, forewarning, kit_of, let_go, radio_service
from tui.session.mileage import earlier_jobs, mileage_watch
from tui.session.session import Begin, local_offset, named, need_screen, opening, play_plain, play_screen, session
from tui.session.sharing import share
from tui.session.speaking import speaking
from tui.shell import Shell


def start(shell: Shell, args: argparse.Namespace) -> int:
    """Begin a job and play it; on a terminal, what was not given is asked for, or an open job is taken up."""
    kit = kit_of(shell.home)
    offset_of = _offsets(shell, args)
    choice = complete(shell, kit, _given(shell, kit, args, offset_of), offset_of, plain=args.plain)
    if isinstance(choice, int):
        return choice
    need_screen(shell, plain=args.plain)
    if choice.job:
        args.job, args.by = choice.job, choice.by
        return resume(shell, args)
    loaded = sheet_named(shell.home.sheets, str(choice.sheet))
    for warning in loaded.warnings:
        shell.say(f"Warning: {warning}")
    machine = str(choice.machine)
    known = offset_of(machine)
    begin = opening(Opening(loaded, machine, str(choice.by), offset=local_offset(), side_offset=known))
    picks = picks_of(kit.needs(loaded.sheet, known), choice.tools)
    return asyncio.run(
        _work(shell, args, begin, kit, Before(bool(choice.cautions), picks, earlier_jobs(shell.home.trail, machine)))
    )


def _offsets(shell: Shell, args: argparse.Namespace) -> OffsetOf:
    """Return what tells the side offset of a machine: as given, else as its last job had it."""
    given = side_offset_of(*args.side_offset) if args.side_offset else None
    return cache(lambda machine: given or last_side_offset(shell.home.trail, machine))


def _given(shell: Shell, kit: Kit, args: argparse.Namespace, offset_of: OffsetOf) -> Choice:
    """Return what the command line chooses."""
    if args.tool and not args.sheet:
        raise BadInput("--tool needs SHEET, since what a tool is used for stands in the sheet.", "Name the sheet too.")
    tools: dict[str, str] = {}
    if args.tool:
        wanted = kit.needs(sheet_named(shell.home.sheets, args.sheet).sheet, offset_of(args.machine or ""))
        tools = tools_given(kit, wanted, args.tool)
    job = NEW if args.sheet or args.machine or args.by else None
    return Choice(job, args.sheet, args.machine, args.by, tools)


def resume(shell: Shell, args: argparse.Namespace) -> int:
    """Take up an open job and play it on."""
    need_screen(shell, plain=args.plain)
    kit = kit_of(shell.home)
    job = resolve(shell.home.trail, args.job, state="open")
    by = "" if args.by is None else named("--by", args.by)
    begun = _begun(shell, job)
    read = False if args.plain else _minded(shell, kit, begun, by)
    if not isinstance(read, bool):
        return read
    goes_on = "" if by else f"Goes on as {begun.by}; --by NAME for another."
    before = Before(read, earlier=earlier_jobs(shell.home.trail, begun.machine), goes_on=goes_on)

    async def begin(trail: Trail) -> Bench:
        return await Bench.resume(trail, SystemClock(), job, by)

    return asyncio.run(_work(shell, args, begin, kit, before))


def _begun(shell: Shell, name: str) -> Job:
    """Return a job as it was opened; BadInput where there is none of that name."""
    first = next(records(shell.home.trail, name), None) if is_there(shell.home.trail) else None
    if first is None:
        raise BadInput(f"There is no job {name} on {shell.home.trail}.", "List them with: evenhand jobs")
    return begin_job(first)


def _minded(shell: Shell, kit: Kit, job: Job, by: str) -> bool | int:
    """Ask a person who has not read the cautions of a job yet to do so; whether they did now, or the exit code."""
    rest, who = records(shell.home.trail, job.id), by or job.by
    if job.simulated or any(isinstance(each.event, ev.CautionsRead) and each.event.by == who for each in rest):
        return False
    found = mind(kit, job, who)
    return True if isinstance(found, Choice) else found


@dataclass(frozen=True, slots=True)
class Before:
    """What a person said before the job, for the trail."""

    cautions_read: bool = False
    picks: tuple[ev.Pick, ...] = ()
    earlier: tuple[JobSum, ...] = ()
    """The jobs of the machine."""
    goes_on: str = ""
    """As whom a job is taken up, where nobody said it."""


async def _work(shell: Shell, args: argparse.Namespace, begin: Begin, kit: Kit, before: Before) -> int:
    async def play(bench: Bench) -> int | None:
        if before.picks:
            await bench.pick_tools(before.picks)
        if before.cautions_read:
            await bench.cautions_read(args.by or "")
        gone = () if bench.moment.job.simulated else await let_go(bench, kit.book, args.by or "")
        job = bench.moment.job
        cannot: tuple[str, ...] = ()
        pedal = kit.pedal()
        pedal.wanted = lambda: picked_now(bench.moment)
        services: Sequence[Service] = ()
        if not job.simulated:  # a simulated job has no business with real tools
            bench.describe, cannot = kit.describe, (*gone, *kit.cannot(job.sheet, job.side_offset, job.picked))
            bench.typed_by = kit.typed_by
            services = () if args.no_radio else (radio_service(kit.book, kit.radio, pedal),)
        services = (*services, mileage_watch(before.earlier), *share(shell.home), *speaking(shell.home, args))
        if args.plain:
            if before.goes_on:
                shell.say(before.goes_on)
            for sentence in cannot:
                shell.out(f"Warning: {sentence}")
            await play_plain(shell, bench, args.by or job.by, services, pedal)
            return None
        beside = (forewarning((*filter(None, (before.goes_on,)), *cannot)), *services)
        return await play_screen(bench, beside, Person(args.by or "", kit.keymap(), pedal))

    return await session(shell, begin, play)


def picked_now(moment: Moment) -> str:
    """Return the tool for what is asked now, where one was picked: that, or the one that was named since."""
    job, step = moment.job, moment.prompt.step
    torque = isinstance(job.sheet.by_id.get(step), TorqueStep)
    said = typed_from(job, step, "torque" if torque else "length") if picks_at(job, step) else None
    meant = pick_at(job, step) if said is not None and said.tool == said.tool_kind else said
    return "" if meant is None else meant.tool
