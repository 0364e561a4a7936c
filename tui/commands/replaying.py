"""`replay`: a stored job told again, at once, at its own pace, event by event, or held against what was shown."""

import argparse
import asyncio
import math
from collections.abc import AsyncIterator, Sequence

from logger import events as ev
from logger.bench.moment import Moment
from logger.bench.replay import differences, local_time, moments, opening, origin, pause, retold
from logger.errors import BadInput
from logger.program import PROGRAM
from logger.settings.file import load_settings
from logger.shelf.shelf import job_records, resolve
from tui import lines
from tui.entry.keymap import Keymap
from tui.entry.typed_lines import STDIN, TypedLines
from tui.exits import Exit
from tui.shell import Shell

from .counted import count
from .replayscreen import replay_screen

MOST_PAUSE = 30.0
"""Seconds: a longer pause of the job is told, and cut to this before it is divided by the speed."""
MOST_SPEED = 10_000


def replay(shell: Shell, args: argparse.Namespace) -> int:
    """Show a job again on the screen, or line by line; with --check, exit 4 where it differs from what was shown."""
    if args.step and args.speed is not None:
        raise BadInput("--step and --speed do not go together.", "Give one of them.")
    speed = None if args.speed is None else _speed(args.speed)
    path = shell.home.trail
    found = job_records(path, resolve(path, args.job))
    if shell.has_screen and speed is None and not (args.plain or args.step or args.check):
        keymap = Keymap(load_settings(shell.home.folder).keys.given)
        return asyncio.run(replay_screen(shell, found, keymap, copied=args.shop is not None))
    return asyncio.run(_replay(shell, found, speed, step=args.step, check=args.check))


def _speed(text: str) -> float:
    try:
        speed = float(text.removesuffix("x"))
    except ValueError:
        speed = math.nan
    if not 0 < speed <= MOST_SPEED:
        raise BadInput(f'--speed "{text[:20]}" is no speed.', f"Give a number up to {MOST_SPEED}: 1 is as recorded.")
    return speed


async def _replay(shell: Shell, found: Sequence[ev.Record], speed: float | None, *, step: bool, check: bool) -> int:
    typed = TypedLines(STDIN) if step else None
    offset, before, differ = opening(found[0]).offset, None, 0
    for moment in moments(found):
        if before is not None and speed is not None:
            await _wait(shell, pause(before.record, moment.record), speed)
        for line in _told(before, moment, offset):
            shell.out(line)
        for difference in differences(before, moment) if check else ():
            differ += 1
            shell.out(f"  DIFFERS: {difference}")
        before = moment
        if typed is not None and moment.record is not found[-1] and not await _goes_on(shell, typed):
            break
    if check:
        shell.say(f"{count(differ, 'difference')} from what was shown.")
        if differ:
            shell.say(origin(opening(found[0]), PROGRAM))
    return Exit.DAMAGED if differ else Exit.DONE


async def _wait(shell: Shell, seconds: float, speed: float) -> None:
    if seconds > MOST_PAUSE:
        shell.say(f"({round(seconds)} s passed; {MOST_PAUSE:.0f} s of them are waited for)")
    await asyncio.sleep(min(seconds, MOST_PAUSE) / speed)


async def _goes_on(shell: Shell, typed: AsyncIterator[str]) -> bool:
    """Wait for Enter; False at "quit" or at the end of what is typed."""
    shell.say("Enter: the next event; q: end")
    line = await anext(typed, None)
    return line is not None and line.strip().lower() not in ("q", "quit")


def _told(before: Moment | None, moment: Moment, offset: str) -> tuple[str, ...]:
    record = moment.record
    verdicts = () if before is None else lines.verdicts(before.verdicts, moment)
    asks = not moment.job.closed and (before is None or before.prompt != moment.prompt)
    more = (*lines.refused(moment), *verdicts, *((lines.next_line(moment),) if asks else ()))
    return (
        f"{record.seq}  {local_time(record.utc, offset)}  {lines.told(moment) or retold(record.event)}",
        *(f"  {line}" for line in more),
    )
