"""A session: the trail opened for writing, a bench on it, something that plays it, and a clean end whatever happens."""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from drivers.clock import SystemClock
from logger.bench.bench import Bench, Opening
from logger.errors import BadInput
from logger.trail.file import little_room, need_room
from logger.trail.keys import bench_key
from logger.trail.seal import Seal
from logger.trail.trail import Trail
from tui import lines
from tui.entry.pedal import Pedal
from tui.entry.person import Person
from tui.entry.typed_lines import STDIN, TypedLines
from tui.exits import Exit, by_signal
from tui.host.clockwatch import watch_the_clock
from tui.plain import Plain
from tui.safe import safe_text
from tui.services import Service
from tui.shell import Shell

from .ending import Ending

if TYPE_CHECKING:
    from simulators.demo import Handover

Begin = Callable[[Trail], Awaitable[Bench]]
Play = Callable[[Bench], Awaitable[int | None]]
"""Plays a job to its end; the exit code, or None where the state of the job says it."""
MOST_NAME = 64


async def session(shell: Shell, begin: Begin, play: Play) -> int:
    """Open the trail, begin, play; return the exit code. A signal leaves the job open, with its name on the trail."""
    with Ending() as ending, Trail.open(shell.home.trail, seal=lambda: Seal(bench_key(shell.home.key))) as trail:
        if little := little_room(trail.path):
            shell.say(little)
        bench: Bench | None = None
        code: int | None = None
        try:
            bench = await begin(trail)
            code = await play(bench)
        except asyncio.CancelledError:
            if not ending.caught:
                raise
        if ending.caught:
            return await _end(bench, ending)
        if code is not None and bench is not None:  # of the screen nothing is left on the terminal
            shell.out(safe_text(lines.left(bench.moment)))
            return code
        return Exit.DONE if bench is not None and bench.moment.job.closed else Exit.LEFT_OPEN


async def _end(bench: Bench | None, ending: Ending) -> int:
    task = asyncio.current_task()
    if task is not None:
        task.uncancel()
    if bench is not None and not bench.moment.job.closed:
        await bench.interrupted(ending.why)
    return by_signal(ending.caught)


def opening(begin: Opening) -> Begin:
    """Return what opens a new job; BadInput when machine or name are not 1 to 64 characters."""
    named("--machine", begin.machine)
    named("--by", begin.by)

    async def opened(trail: Trail) -> Bench:
        need_room(trail.path)
        return await Bench.open(trail, SystemClock(), begin)

    return opened


def named(flag: str, text: str) -> str:
    """Return the name of a person or a machine; BadInput when it is blank, too long or holds what cannot be shown."""
    if not text.strip() or len(text) > MOST_NAME or not text.isprintable():
        raise BadInput(f"{flag} needs 1 to {MOST_NAME} characters that can be shown.", f"Give {flag} again.")
    return text


def need_screen(shell: Shell, *, plain: bool) -> None:
    """Raise BadInput when a screen is wanted where none can be drawn."""
    if not plain and not shell.has_screen:
        raise BadInput(
            "This is not a terminal, so there is no screen.",
            "Add --plain to go line by line, or run it without redirecting its input, its output or stderr.",
        )


def local_offset() -> str:
    """Return the present offset from UTC of this host, "+01:00"."""
    text = f"{datetime.now(tz=UTC).astimezone():%z}"
    return f"{text[:3]}:{text[3:5]}"


async def play_plain(
    shell: Shell, bench: Bench, by: str, services: Sequence[Service], pedal: Pedal | None = None
) -> None:
    """Play a job by lines: typed readings and words from stdin, everything said on stdout."""
    await Plain(bench, SystemClock(), by, shell.out, pedal).run(TypedLines(STDIN), (*services, watch_the_clock))


async def play_screen(
    bench: Bench,
    services: Sequence[Service],
    person: Person | None = None,
    control: "Handover | None" = None,
) -> int:
    """Play a job on the screen, and return its exit code; `control` is the reins of a simulated mechanic."""
    from tui.apps.app import EvenhandApp  # noqa: PLC0415  (late on purpose: the line-by-line session needs no screen library)

    app = EvenhandApp(bench, (*services, watch_the_clock), control, person=person or Person())
    ended = await app.run_async()
    if app.fault is not None:
        raise app.fault
    return Exit.LEFT_OPEN if ended is None else ended
