"""`jobs` and `record`: what is on the trail; none of them writes to it.

`jobs` is asked often and needs the index alone, so what makes a record is imported by `record`.
"""

import argparse
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, get_args

from logger.errors import BadInput
from logger.eventparts import Verdict
from logger.shelf.index import Wanted, ask, job_sums
from logger.shelf.sums import JobSum
from tui.asjson import as_json
from tui.exits import Exit
from tui.shell import Shell

from .counted import machines_there

if TYPE_CHECKING:
    from logger.record.form import RecordFile
    from logger.trail.keys import BenchKey

_SHOWN = 100
"""Jobs that are listed where nothing else was asked for."""
_MOST = 1_000_000
"""Jobs that may be asked for."""


def jobs(shell: Shell, args: argparse.Namespace) -> int:
    """List the jobs that are wanted, newest first."""
    most = args.last if args.last is not None else -1 if args.json else _SHOWN
    if args.last is not None and not 1 <= args.last <= _MOST:
        raise BadInput(f"--last {args.last} is no number of jobs.", f"Give 1 to {_MOST}.")
    found, more = job_sums(shell.home.trail, _wanted(args), most)
    if args.json:
        shell.write(as_json([_as_data(job) for job in found]))
        return Exit.DONE
    for job in found:
        shell.out(_line(job))
    if more:
        shell.say(f"There are older ones; --last {10 * most} shows more.")
    if not found:
        shell.say(_none(shell.home.trail, args))
    return Exit.DONE


def _none(trail: Path, args: argparse.Namespace) -> str:
    """Say why nothing is listed: no job yet, no such machine, or none that is so in all that was asked for."""
    first, _ = job_sums(trail, most=1)
    if not first:
        return f"There is no job on {trail} yet. Start one with: evenhand start"
    if args.machine and not job_sums(trail, Wanted(machine=args.machine), most=1)[0]:
        return (
            f'No machine on {trail} is called "{args.machine}", nor is that a part of its name. {machines_there(trail)}'
        )
    return f"No job on {trail} matches. List all of them with: evenhand jobs"


def _wanted(args: argparse.Namespace) -> Wanted:
    if args.verdict is not None and args.verdict not in get_args(Verdict):
        raise BadInput(f'"{args.verdict[:20]}" is no verdict.', f"One of: {', '.join(get_args(Verdict))}.")
    return Wanted(
        machine=args.machine or "",
        sheet=args.sheet or "",
        tool=args.tool or "",
        by=args.by or "",
        since=_day(args.since),
        until=_day(args.until),
        verdict=args.verdict or "",
        overridden=args.overridden,
    )


def _day(given: str | None) -> str:
    if given is None:
        return ""
    try:
        return date.fromisoformat(given).isoformat()
    except ValueError:
        raise BadInput(f'"{given[:20]}" is not a day.', "Write it as YEAR-MONTH-DAY, such as 2026-03-31.") from None


def _line(job: JobSum) -> str:
    simulated = ", simulated" if job.simulated else ""
    let = f"  ⚑ overridden: {', '.join(each.check for each in job.standing)}" if job.standing else ""
    back = f"  CALL BACK: {', '.join(job.call_back)}" if job.call_back else ""
    when = f"{job.opened[:16]}Z"
    return f"{job.job}  {job.state:<6}  {when}  {job.sheet}  {job.machine}  by {job.by}{simulated}{let}{back}"


def _as_data(job: JobSum) -> dict[str, object]:
    return {**job.model_dump(mode="json", exclude={"kept"}), "standing": [each.check for each in job.standing]}


def record(shell: Shell, args: argparse.Namespace) -> int:
    """Hand on the record of a job, to stdout or to a file that is not there yet."""
    from logger.record.form import record_schema  # noqa: PLC0415
    from logger.record.record import make_record  # noqa: PLC0415  (late on purpose: see the module's first lines)
    from logger.shelf.shelf import resolve  # noqa: PLC0415

    if args.schema:
        text = as_json(record_schema())
    elif args.job is None:
        raise BadInput("Say which job to hand on.", "Name a job such as j1, or last.")
    else:
        path = shell.home.trail
        text = _as(args.format, make_record(path, resolve(path, args.job), _own_key(shell)), path)
    if args.out is None:
        shell.write(text)
        return Exit.DONE
    _save(Path(args.out), text, replace=args.force)
    shell.say(f"Written: {args.out}")
    return Exit.DONE


def _own_key(shell: Shell) -> "BenchKey | None":
    """The key of this bench; None where there is none yet, or it cannot be used, which is told."""
    if not shell.home.key.exists():
        return None
    from logger.trail.keys import load_key  # noqa: PLC0415  (late on purpose: it brings the cryptography)

    try:
        return load_key(shell.home.key)
    except BadInput as error:
        shell.say(f"The record is not signed. {error}")
        return None


def _as(form: str, made: "RecordFile", trail: Path) -> str:
    match form:
        case "csv":
            from logger.record.table import as_csv  # noqa: PLC0415  (late on purpose, as the others)

            return as_csv(made)
        case "html":
            from logger.record.page import as_html  # noqa: PLC0415  (late on purpose: it brings the plotting library)
            from logger.record.story import story_of  # noqa: PLC0415

            known = ask(trail, lambda index: index.machine(made.machine))
            return as_html(made, None if known is None else story_of(known[1], made.job))
        case _:
            return as_json(made.model_dump(mode="json"))


def _save(path: Path, text: str, *, replace: bool) -> None:
    if not path.name:
        raise BadInput(f"{path} is a folder.", "Name a file with --out.")
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="")
        if replace:
            part.replace(path)
        else:
            path.hardlink_to(part)
    except FileExistsError:
        raise BadInput(f"{path} is there already.", "Name another file, or add --force to replace it.") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"{path} cannot be written: {why}.", "Name another file with --out.") from error
    finally:
        with suppress(OSError, ValueError):
            part.unlink(missing_ok=True)
