"""`history` and `due`: what the jobs of a machine tell together, and what is due next; neither writes to it."""

import argparse
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime
from fractions import Fraction

from logger.errors import BadInput
from logger.shelf.index import ask
from logger.shelf.machines import goes_back, wear_lines
from logger.shelf.sums import DueItem, Forecast, JobSum, MachineSum
from logger.toolbook.calibration import calibration
from logger.toolbook.file import read_toolbook
from logger.toolbook.toolbook import Tool
from logger.trail.file import is_there
from tui.asjson import as_json
from tui.exits import Exit
from tui.shell import Shell
from tui.textplot import textplot

from .counted import count, machines_there

_KEPT = {"kept", "sheet_sha256"}
_FAR = date.max.toordinal()
_ENOUGH = 2
"""Mileages that make a plot: readings at one alone show nothing that a sentence does not."""


def history(shell: Shell, args: argparse.Namespace) -> int:
    """Tell every job of one machine, and how its chain wears over its mileage."""
    path = shell.home.trail
    found = ask(path, lambda index: index.machine(args.machine)) if is_there(path) else None
    if found is None:
        raise BadInput(f"No job on {path} is of a machine {args.machine!r}.", machines_there(path))
    machine, jobs = found
    if args.json:
        told = [job.model_dump(mode="json", exclude=_KEPT) for job in jobs]
        shell.write(as_json({"machine": machine.model_dump(mode="json"), "jobs": told}))
        return Exit.DONE
    shell.out(f"{machine.machine}: {count(machine.jobs, 'job')}, the last on {machine.last}")
    for job in jobs:
        shell.out(_line(job))
    back = goes_back(jobs)
    for sentence in back:
        shell.out(f"The mileage goes back: {sentence}")
    for line in _wear(machine.wear, back) if machine.wear is not None else ("No chain wear was read at a mileage.",):
        shell.out(line)
    for item in machine.due:
        shell.out(f"{_when(item, machine, None)}: {_what(item)}")
    return Exit.DONE


def _line(job: JobSum) -> str:
    mileage = f"{job.mileage} {job.mileage_unit}" if job.mileage else "no mileage"
    wear = "" if job.wear is None else f"  wear {float(job.wear.share):.2%}".replace("%", " %")
    let = f"  ⚑ overridden: {', '.join(each.check for each in job.standing)}" if job.standing else ""
    return f"{job.job}  {job.opened[:10]}  {mileage:>12}  {job.state:<6}  {job.sheet}  by {job.by}{wear}{let}"


def _wear(found: Forecast, back: Sequence[str]) -> Iterator[str]:
    points = [(float(mileage), float(share) * 100) for _, mileage, share in found.points]
    if len({mileage for mileage, _ in points}) < _ENOUGH:
        yield from ("Chain wear:", *wear_lines(found, back))
        return
    yield f"Chain wear in % over {found.unit}: ● read, · fitted, ─ the limit"
    slope, start = (None if text is None else float(text) * 100 for text in (found.slope, found.intercept))
    fitted = None if slope is None or start is None else lambda x: slope * x + start
    last = points[-1][0]
    until = min(float(found.at), 3 * last) if found.at is not None else last
    yield from textplot(points, fitted, None if found.limit is None else float(found.limit) * 100, until)
    yield from wear_lines(found)


# --- what is due ----------------------------------------------------------------------------------------------------


def due(shell: Shell, args: argparse.Namespace) -> int:
    """Tell machines by what is due on them next, and tools by calibration."""
    path, today = shell.home.trail, datetime.now(tz=UTC).date()
    machines = ask(path, lambda index: index.machines()) if is_there(path) else []
    items = sorted(
        ((item, machine) for machine in machines for item in machine.due), key=lambda each: _urgency(each[0], each[1])
    )
    tools = sorted(read_toolbook(shell.home.toolbook).active, key=lambda tool: (tool.due or "9999", tool.id))
    if args.json:
        shell.write(as_json(_as_data(items, tools, today)))
        return Exit.DONE
    for item, machine in items:
        shell.out(f"{_when(item, machine, today)}  {machine.machine}: {_what(item)}")
    idle = [machine for machine in machines if not machine.due]
    for machine in idle:
        shell.out(f"{'nothing':<32}  {machine.machine}: last job {machine.last_job} on {machine.last}")
    for tool in tools:
        shell.out(f"{calibration(tool, today)!s:<32}  tool {tool.id}, {tool.kind}" + _calibrated(tool))
    if not machines and not tools:
        shell.say(f"There is no job on {path} and no tool in {shell.home.toolbook} yet.")
    return Exit.DONE


def _calibrated(tool: Tool) -> str:
    return f": calibration due {tool.due}" if tool.due else ""


def _what(item: DueItem) -> str:
    """What is due, and of which job where that does not say it already."""
    said = item.what.startswith(f"Job {item.job} ")
    return item.what if said else f"{item.what} (job {item.job})"


def _urgency(item: DueItem, machine: MachineSum) -> tuple[int, int, Fraction, str]:
    """What is due now first, then by day, then by how much mileage is left, then what tells neither."""
    day = date.fromisoformat(item.day).toordinal() if item.day else _FAR
    left = Fraction(item.at) - Fraction(machine.mileage or 0) if item.at else Fraction(0)
    rank = 0 if item.now else 1 if item.day else 2 if item.at else 3
    return rank, day, left, machine.machine


def _when(item: DueItem, machine: MachineSum, today: date | None) -> str:
    if item.now:
        said = "NOW"
    elif item.day is not None:
        past = today is not None and item.day < today.isoformat()
        about = "about " if item.is_expected else ""
        said = f"{'past, ' if past else ''}{about}{item.day}" + (f", {item.at} {machine.unit}" if item.at else "")
    elif item.at is not None:
        said = f"at {item.at} {machine.unit}"
    else:
        said = f"after {item.after}"
    return f"{said:<32}" if today is not None else said


def _as_data(items: Sequence[tuple[DueItem, MachineSum]], tools: Sequence[Tool], today: date) -> dict[str, object]:
    stated = [(tool, calibration(tool, today)) for tool in tools]
    return {
        "today": today.isoformat(),
        "machines": [
            {"machine": machine.machine, "mileage": machine.mileage, "unit": machine.unit}
            | item.model_dump(mode="json")
            for item, machine in items
        ],
        "tools": [
            {"tool": tool.id, "kind": tool.kind, "due": tool.due, "state": found.state, "days": found.days}
            for tool, found in stated
        ],
    }
