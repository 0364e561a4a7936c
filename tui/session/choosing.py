"""What there is to choose from before a job, and the screens that ask for it."""

import asyncio
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from logger.errors import BadInput
from logger.events import SideOffset
from logger.job.candidates import Need, picks_of, used
from logger.job.job import Job, fold
from logger.settings.settings import Home
from logger.sheets.sheet import Sheet
from logger.sheets.store import open_sheet, own_sheets, sheet_named, shipped
from logger.shelf.index import Wanted, job_sums
from logger.shelf.shelf import begin, records
from logger.toolbook.calibration import calibration
from logger.toolbook.toolbook import Tool
from tui.choice import NEW, Asks, Choice, Depot, Owned, PastJob, Weighed
from tui.entry.keymap import Keymap
from tui.exits import Exit, by_signal
from tui.shell import Shell

from .ending import Ending
from .kit import Kit
from .session import named

_MOST = 500
"""Jobs that are looked through for machines and people."""
_LAST = 20
"""Jobs of one sheet that are looked through for the last real one."""
_FLAGS: dict[str, str] = {"machine": "The machine", "by": "The name"}
_ALONE = "such as --tool jaws, or for one step --tool axle_nut=lever"
OffsetOf = Callable[[str], SideOffset | None]
"""What is known of a machine's sides."""


def depot_of(home: Home, kit: Kit, given: Choice, offset_of: OffsetOf = lambda _: None) -> Depot:
    """Return what there is to choose from where this is given: sheets (one's own and the shipped ones), jobs, tools."""
    sheets, unusable = (
        _sheets(home) if given.sheet is None else ({given.sheet: sheet_named(home.sheets, given.sheet).sheet}, ())
    )
    asks = given.sheet is None or given.machine is None or given.by is None
    jobs = tuple(
        PastJob(job.job, job.sheet, job.machine, job.by, job.state, job.opened, job.simulated)
        for job in (job_sums(home.trail, most=_MOST)[0] if asks else ())
    )
    tools = {tool.id: _owned(tool) for tool in kit.book.active}
    return Depot(sheets, jobs, tools, _weigher(home, kit, sheets, offset_of), unusable)


def _weigher(home: Home, kit: Kit, sheets: Mapping[str, Sheet], offset_of: OffsetOf) -> Callable[[Choice], Weighed]:
    """Return what holds the tools against a choice; what it looked up once it knows."""

    @cache
    def needed(name: str, machine: str) -> tuple[Need, ...]:
        found = kit.needs(sheets[name], offset_of(machine))
        asks = any(need.asks for need in found)
        return kit.needs(sheets[name], offset_of(machine), _used_last(home.trail, sheets[name])) if asks else found

    def weigh(choice: Choice) -> Weighed:
        name, machine = choice.sheet or "", choice.machine or ""
        found = needed(name, machine)
        return Weighed(found, kit.cannot(sheets[name], offset_of(machine), picks_of(found, choice.tools)))

    return weigh


def _used_last(trail: Path, sheet: Sheet) -> Mapping[str, str]:
    """Return what served each step of a sheet in its last job that was not simulated."""
    jobs = job_sums(trail, Wanted(sheet=sheet.id), most=_LAST)[0]
    last = next((job.job for job in jobs if not job.simulated), None)
    if last is None:
        return {}
    first, *rest = records(trail, last)
    return used(fold(begin(first), rest))


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


def _owned(tool: Tool) -> Owned:
    accuracy = f", ± {tool.accuracy}" if tool.accuracy is not None else ", no accuracy stated"
    stands = calibration(tool, datetime.now(tz=UTC).astimezone().date())
    soon = f"calibration {stands}" if stands.state == "due" else ""
    return Owned(f"{tool.id}: {tool.kind}{accuracy}; calibration {stands}", soon)


def check(asks: Asks, answer: str) -> None:
    """Raise BadInput for a machine or a person that cannot be taken."""
    if asks in _FLAGS:
        named(_FLAGS[asks], answer)


async def choose(depot: Depot, given: Choice, keymap: Keymap | None = None) -> Choice | int:
    """Ask for what is not given yet; the exit code when the person left, or a signal ended it."""
    found: Choice | None = None
    with Ending() as ending:
        from tui.apps.chooser import ChooserApp  # noqa: PLC0415  (late on purpose: only a terminal needs the screen library)

        app = ChooserApp(depot, given, check, keymap=keymap)
        try:
            found = await app.run_async()
        except asyncio.CancelledError:
            if not ending.caught:
                raise
    if app.fault is not None:
        raise app.fault
    if ending.caught:
        return by_signal(ending.caught)
    return Exit.DONE if found is None else found


def complete(shell: Shell, kit: Kit, given: Choice, offset_of: OffsetOf, *, plain: bool) -> Choice | int:
    """Return the whole choice, or the exit code when the person left.

    BadInput where something is missing and there is no screen to ask on. On a screen whatever is not given is asked:
    at least that the kit is laid out, and the cautions read.
    """
    if not plain and shell.has_screen:
        return asyncio.run(choose(depot_of(shell.home, kit, given, offset_of), given, kit.keymap()))
    asked = {"SHEET": given.sheet, "--machine": given.machine, "--by": given.by}
    missing = [name for name, value in asked.items() if value is None]
    if missing:
        raise BadInput(f"The following arguments are required: {', '.join(missing)}.", "See: evenhand start --help")
    return given


def mind(kit: Kit, job: Job, by: str) -> Choice | int:
    """Let a person who takes a job up acknowledge its cautions; the exit code when they left."""
    depot = Depot({job.sheet.id: job.sheet}, (), {}, lambda _: Weighed())
    given = Choice(NEW, job.sheet.id, job.machine, by, kit="read")
    return asyncio.run(choose(depot, given, kit.keymap()))


# --- tools that are named beforehand --------------------------------------------------------------------------------


def tools_given(kit: Kit, wanted: Iterable[Need], texts: Iterable[str]) -> dict[str, str]:
    """Return the tool for each need that `--tool NAME` or `--tool STEP=NAME` answers; BadInput where one cannot.

    A name alone is for everything that such a tool is needed for and that no other word is about.
    """
    needs = {need.key: need for need in wanted}
    pairs = [(key, name) for key, _, name in (text.rpartition("=") for text in texts)]
    found: dict[str, str] = {}
    for key, name in sorted(pairs, key=lambda pair: not pair[0]):
        serves = _served(kit, needs, key, name)
        for each in serves if key else [each for each in serves if each not in {pair[0] for pair in pairs}]:
            if found.setdefault(each, name) != name:
                raise BadInput(f"--tool {found[each]} and --tool {name} are both for {needs[each].title}.", _name(each))
    return found


def _served(kit: Kit, needs: Mapping[str, Need], key: str, name: str) -> list[str]:
    """The needs that a tool is named for; BadInput where it is no tool, or there is none."""
    tool = next((tool for tool in kit.book.active if tool.id == name), None)
    if tool is None:
        ids = ", ".join(tool.id for tool in kit.book.active) or "none"
        raise BadInput(f'--tool "{name[:40]}" is no tool in use of the toolbook.', f"In use: {ids}; {_ALONE}.")
    if key and key not in needs:
        raise BadInput(f'--tool: "{key[:40]}" is nothing a tool is used for here.', f"Name one of: {', '.join(needs)}.")
    fits = [each.key for each in needs.values() if any(name == one.tool for one in each.candidates)]
    serves = [each for each in fits if key in ("", each)]
    if not serves:
        for_what = needs[key].title if key else "any step of this sheet"
        raise BadInput(f"--tool {name} is a {tool.kind}, which is not used for {for_what}.", "Leave it out.")
    return serves


def _name(key: str) -> str:
    return f"Name one of them, or say what each is for: --tool {key}=NAME."
