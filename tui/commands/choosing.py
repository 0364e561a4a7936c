"""What there is to choose from before a job, and the screens that ask for it."""

import asyncio
from datetime import UTC, datetime
from pathlib import Path

from logger.errors import BadInput
from logger.settings import Home
from logger.sheet import Sheet
from logger.sheetstore import open_sheet, own_sheets, shipped
from logger.shelfindex import job_sums
from logger.toolbook import Tool, calibration
from tui.choice import Asks, Choice, Depot, PastJob
from tui.exits import Exit, by_signal
from tui.keymap import Keymap

from .ending import Ending
from .kit import Kit
from .session import named
from .shell import Shell

_MOST = 500
"""Jobs that are looked through for machines and people."""
_FLAGS: dict[str, str] = {"machine": "The machine", "by": "The name"}


def depot_of(home: Home, kit: Kit, sheet: str | None) -> Depot:
    """Return the sheets (one's own and the shipped ones, or the one that was given), jobs and tools of a home."""
    sheets, unusable = _sheets(home) if sheet is None else ({sheet: open_sheet(sheet).sheet}, ())
    tools = tuple(_told(tool) for tool in kit.book.active)
    jobs = tuple(
        PastJob(job.job, job.sheet, job.machine, job.by, job.state, job.opened, job.simulated)
        for job in job_sums(home.trail, most=_MOST)[0]
    )
    return Depot(sheets, jobs, tools, {name: kit.cannot(each) for name, each in sheets.items()}, unusable)


def _sheets(home: Home) -> tuple[dict[str, Sheet], tuple[str, ...]]:
    """Open one's own sheets, then the shipped ones; return also why one's own cannot be used."""
    sheets: dict[str, Sheet] = {}
    unusable: list[str] = []
    for name in (*own_sheets(home.sheets), *shipped()):
        try:
            sheets[name] = open_sheet(name).sheet
        except BadInput as error:
            unusable.append(f"the sheet {Path(name).name} is not offered: {error}")
    return sheets, tuple(unusable)


def _told(tool: Tool) -> str:
    accuracy = f", ± {tool.accuracy}" if tool.accuracy is not None else ", no accuracy stated"
    today = datetime.now(tz=UTC).astimezone().date()
    return f"{tool.id}: {tool.kind}{accuracy}; calibration {calibration(tool, today)}"


def check(asks: Asks, answer: str) -> None:
    """Raise BadInput for a machine or a person that cannot be taken."""
    if asks in _FLAGS:
        named(_FLAGS[asks], answer)


async def choose(depot: Depot, given: Choice, keymap: Keymap | None = None) -> Choice | int:
    """Ask for what is not given yet; the exit code when the person left, or a signal ended it."""
    from tui.chooser import ChooserApp  # noqa: PLC0415  (late on purpose: only a terminal needs the screen library)

    found: Choice | None = None
    with Ending() as ending:
        try:
            found = await ChooserApp(depot, given, check, keymap=keymap).run_async()
        except asyncio.CancelledError:
            if not ending.caught:
                raise
    if ending.caught:
        return by_signal(ending.caught)
    return Exit.DONE if found is None else found


def complete(shell: Shell, kit: Kit, given: Choice, *, plain: bool) -> Choice | int:
    """Return the whole choice, or the exit code when the person left.

    BadInput where something is missing and there is no screen to ask on.
    """
    asked = {"SHEET": given.sheet, "--machine": given.machine, "--by": given.by}
    missing = [name for name, value in asked.items() if value is None]
    if missing and (plain or not shell.has_screen):
        raise BadInput(f"The following arguments are required: {', '.join(missing)}.", "See: evenhand start --help")
    if not missing:
        return given
    return asyncio.run(choose(depot_of(shell.home, kit, given.sheet), given, kit.keymap()))
