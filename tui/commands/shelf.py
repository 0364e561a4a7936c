"""`jobs` and `record`: what is on the trail; none of them writes to it."""

import argparse
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path

from logger.errors import BadInput
from logger.keys import BenchKey, load_key
from logger.record import as_json, make_record
from logger.recordcsv import as_csv
from logger.recordform import RecordFile, record_schema
from logger.shelf import JobLine, job_lines, resolve
from tui.exits import Exit

from .shell import Shell


def jobs(shell: Shell, args: argparse.Namespace) -> int:
    """List the jobs, newest first."""
    found = job_lines(shell.home.trail)
    if args.json:
        shell.write(as_json([asdict(line) for line in found]))
        return Exit.DONE
    for line in found:
        shell.out(_line(line))
    if not found:
        shell.say(f"There is no job on {shell.home.trail} yet. Start one with: evenhand start")
    return Exit.DONE


def _line(line: JobLine) -> str:
    simulated = ", simulated" if line.simulated else ""
    return f"{line.job}  {line.state:<6}  {line.opened[:16]}Z  {line.sheet}  {line.machine}  by {line.by}{simulated}"


def record(shell: Shell, args: argparse.Namespace) -> int:
    """Hand on the record of a job, to stdout or to a file that is not there yet."""
    if args.schema:
        text = as_json(record_schema())
    elif args.job is None:
        raise BadInput("Say which job to hand on.", "Name a job such as j1, or last.")
    else:
        path = shell.home.trail
        text = _as(args.format, make_record(path, resolve(path, args.job), _own_key(shell)))
    if args.out is None:
        shell.write(text)
        return Exit.DONE
    _save(Path(args.out), text, replace=args.force)
    shell.say(f"Written: {args.out}")
    return Exit.DONE


def _own_key(shell: Shell) -> BenchKey | None:
    """The key of this bench; None where there is none yet, or it cannot be used, which is told."""
    if not shell.home.key.exists():
        return None
    try:
        return load_key(shell.home.key)
    except BadInput as error:
        shell.say(f"The record is not signed. {error}")
        return None


def _as(form: str, made: RecordFile) -> str:
    match form:
        case "csv":
            return as_csv(made)
        case "html":
            from logger.recordpage import as_html  # noqa: PLC0415  (late on purpose: it brings the plotting library)

            return as_html(made)
        case _:
            return as_json(made.model_dump(mode="json"))


def _save(path: Path, text: str, *, replace: bool) -> None:
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
