"""`rejudge` and `recall`: jobs looked at again, by another sheet or rule, or once a tool was found to read wrong."""

import argparse
import asyncio
from collections.abc import Iterator
from datetime import date

from drivers.clock import SystemClock
from logger import events as ev
from logger.bench.envelope import envelope, store
from logger.errors import BadInput
from logger.job.facts import Job as Folded
from logger.job.judged import Judged
from logger.job.prompt import next_prompt
from logger.job.verdictwords import SHAPES
from logger.settings.settings import Home
from logger.sheets.problems import legible
from logger.sheets.sheet import Sheet
from logger.sheets.store import sheet_named
from logger.shelf.index import job_sums
from logger.shelf.recall import Recall, ToolError, last_calibration, need_fitting, recalled, reviewed
from logger.shelf.recall import shown as corrected_text
from logger.shelf.rejudge import Again, decided_by, differing, rejudged
from logger.shelf.shelf import begin, every_job, job_records, resolve
from logger.toolbook.file import read_toolbook
from logger.trail.keys import bench_key
from logger.trail.seal import Seal
from logger.trail.trail import Trail
from tui.asjson import as_json
from tui.exits import Exit
from tui.shell import Shell

from .counted import count

Job = tuple[ev.Record, ...]
_NAMED = 12
"""Tools that are named where none is called what was typed; those of the toolbook first."""


def rejudge(shell: Shell, args: argparse.Namespace) -> int:
    """Judge stored jobs by another sheet or decision rule, and tell what differs; the trail is not touched."""
    if args.all == (args.job is not None):
        raise BadInput("Say which job to judge again.", "Name a job, or give --all.")
    if args.sheet is None and args.decision is None:
        raise BadInput("There is nothing to judge by.", "Give --sheet NAME|FILE, --decision simple|guarded, or both.")
    path = shell.home.trail
    jobs = every_job(path) if args.all else [job_records(path, resolve(path, args.job))]
    other = sheet_named(shell.home.sheets, args.sheet).sheet if args.sheet is not None else None
    told = [_rejudged(job, other, args) for job in jobs if other is None or _opening(job).sheet == other.id]
    if args.json:
        shell.write(as_json([_as_data(job, found) for job, found in told]))
        return Exit.DONE
    for job, found in told:
        differ = len(differing(found))
        shell.out(_headline(job, f"{differ} of {count(len(found), 'check')} {'differs' if differ == 1 else 'differ'}"))
        for each in differing(found):
            shell.out(f"  {_line(each)}")
    if not told:
        shell.say(f"No job on {path} has the sheet {other.id if other else ''}.")
    return Exit.DONE


def _rejudged(job: Job, other: Sheet | None, args: argparse.Namespace) -> tuple[Job, tuple[Again, ...]]:
    own = begin(job[0]).sheet
    by = other or own
    return job, rejudged(job, own, by if args.decision is None else decided_by(by, args.decision))


def recall(shell: Shell, args: argparse.Namespace) -> int:
    """Correct what a tool read for its error, in every job it touched, and tell which verdicts change."""
    error, path = ToolError.of(args.error), shell.home.trail
    jobs = every_job(path, args.tool)
    if not jobs:
        _need_known(shell.home, args.tool)
    need_fitting(jobs, args.tool, error)
    since = _since(args.since, jobs, args.tool)
    found = [each for job in jobs if (each := recalled(job, begin(job[0]).sheet, args.tool, since, error)) is not None]
    by_id = {job[0].job: job for job in jobs}
    if args.json:
        content = [_as_data(by_id[each.job.id], each.affected, call_back=each.call_back) for each in found]
        shell.write(as_json({"tool": args.tool, "error": str(error.amount), "since": since, "jobs": content}))
    else:
        for line in _told(found, by_id):
            shell.out(line)
    if not found:
        shell.say(f"No job on {path} has a reading of {args.tool}" + (f" since {since}." if since else "."))
    elif not args.look:
        asyncio.run(_write(shell.home, [(each.job, reviewed(each, args.tool, since, error)) for each in found]))
        shell.say(f"The review is on the trail of {count(len(found), 'job')}.")
        if any(each.call_back for each in found):
            shell.say("evenhand due names a call-back until a new job of its sheet is closed on that machine.")
    return Exit.DONE


def _need_known(home: Home, tool: str) -> None:
    """Raise BadInput for a tool that neither the toolbook nor any job knows: a slip of the keys must not reassure."""
    owned = [each.id for each in read_toolbook(home.toolbook).tool]
    used = sorted({name for job in job_sums(home.trail)[0] for name in job.tools})
    known = dict.fromkeys((*owned, *used))
    if tool not in known:
        more = f" and {len(known) - _NAMED} more" if len(known) > _NAMED else ""
        listed = f"Known are: {', '.join([*known][:_NAMED])}{more}." if known else "No tool is known there yet."
        raise BadInput(f"Neither {home.trail} nor the toolbook knows a tool {legible(tool)!r}.", listed)


def _since(given: str | None, jobs: list[Job], tool: str) -> str:
    """Return the day from which readings are doubted: the one given, else that of the last calibration stated."""
    if given is None:
        return max((last_calibration(job, tool) for job in jobs), default="")
    try:
        return date.fromisoformat(given).isoformat()
    except ValueError:
        raise BadInput(f'"{given}" is not a day.', "Write it as YEAR-MONTH-DAY, such as 2026-03-31.") from None


def _told(found: list[Recall], jobs: dict[str, Job]) -> Iterator[str]:
    for each in found:
        what = "CALL BACK" if each.call_back else "stands" if each.job.closed else "open: measure again"
        counts = f"{count(each.touched, 'reading')} of it, {count(len(each.affected), 'check')}"
        yield _headline(jobs[each.job.id], f"{counts}: {what}")
        for again in each.affected:
            text = None if again.was is None or again.now is None else corrected_text(again.was, again.now)
            yield f"  {_line(again, text)}"
    if found:
        yield f"{count(len(found), 'job')} touched, {sum(each.call_back for each in found)} to call back."


async def _write(home: Home, events: list[tuple[Folded, ev.Reviewed]]) -> None:
    clock = SystemClock()
    with Trail.open(home.trail, seal=lambda: Seal(bench_key(home.key))) as trail:
        for job, event in events:
            shown = ev.Shown(prompt=next_prompt(job).key)  # a review changes nothing that is asked for
            await store(trail, envelope(clock, job.id, trail.head.seq + 1, event, shown))


# --- what both tell -------------------------------------------------------------------------------------------------


def _opening(job: Job) -> ev.JobOpened:
    event = job[0].event
    assert isinstance(event, ev.JobOpened)
    return event


def _headline(job: Job, what: str) -> str:
    opening = _opening(job)
    return f"{job[0].job}  {job[0].utc[:10]}  {opening.sheet}  {opening.machine}  by {opening.by}: {what}"


def _line(each: Again, now: str | None = None) -> str:
    return f"{each.check}: {_side(each.was)} -> {_side(each.now, now)}"


def _side(judged: Judged | None, text: str | None = None) -> str:
    if judged is None:
        return "not a check"
    said = judged.text if text is None else text
    return f"{SHAPES[judged.verdict]} {judged.verdict} {said} {judged.unit}".rstrip()


def _as_data(job: Job, found: tuple[Again, ...], **more: object) -> dict[str, object]:
    opening = _opening(job)
    checks = [
        {"check": each.check, "was": _data(each.was), "now": _data(each.now), "differs": each.differs} for each in found
    ]
    said = {"job": job[0].job, "opened": job[0].utc, "machine": opening.machine, "by": opening.by}
    return {**said, "sheet": opening.sheet, **more, "checks": checks}


def _data(judged: Judged | None) -> dict[str, str] | None:
    if judged is None:
        return None
    return {"verdict": judged.verdict, "value": judged.text, "unit": judged.unit, "reason": judged.reason}
