"""`replay` on a terminal: the job as a timeline, and a reviewer's comments put on its trail."""

import asyncio
from collections.abc import Sequence

from drivers.clock import SystemClock
from logger import events as ev
from logger.bench.comment import add_comment
from logger.errors import BadInput
from logger.job.job import fold
from logger.shelf.shelf import begin
from tui.entry.keymap import Keymap
from tui.exits import Exit, by_signal
from tui.session.ending import Ending
from tui.shell import Shell


async def replay_screen(shell: Shell, found: Sequence[ev.Record], keymap: Keymap | None = None, *, copied: bool) -> int:
    """Show a stored job until it is left; on a copy of its trail no comment is taken."""
    from tui.apps.replayer import ReplayApp  # noqa: PLC0415  (late on purpose: line by line needs no screen library)

    job = fold(begin(found[0]), found[1:])

    async def append(event: ev.Commented) -> ev.Record:
        if copied:
            raise BadInput("The shop's copy is only read.", "Comment at the bench that wrote the job.")
        return await add_comment(shell.home, SystemClock(), job, event)

    app = ReplayApp(found, append, keymap=keymap)
    with Ending() as ending:
        try:
            await app.run_async()
        except asyncio.CancelledError:
            if not ending.caught:
                raise
    if app.fault is not None:
        raise app.fault
    return by_signal(ending.caught) if ending.caught else Exit.DONE
