"""What is handed on after a job: everything an auditor needs, made from its trail alone (form: `form`)."""

from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel

from logger import events as ev
from logger.bench.replay import opening
from logger.job.facts import Job
from logger.job.rules import judge
from logger.shelf.shelf import load_job
from logger.trail.anchor import Anchor
from logger.trail.file import reader
from logger.trail.keys import BenchKey
from logger.trail.read import read
from logger.trail.schema import trail_id_of
from logger.trail.seal import signed

from .checks import checks_of
from .form import HeadPart, RecordFile, SheetPart
from .parts import Records, acts, asks_mileage, let_pass, mileage, pull, readings, tools, turn, withdrawn
from .rounds import drive_part, rounds_of, wears
from .told import CommentPart, DuePart, FaultPart, NotePart, RefusalPart, ReviewPart, SuspectPart
from .warned import warnings_of

P = TypeVar("P", bound=BaseModel)
CALLED_BACK = "CALLED BACK: {tool} was found to read wrong by {error}; with that, a check that passed does not."


def make_record(path: Path, job_id: str, key: BenchKey | None = None) -> RecordFile:
    """Make the record of a job as it stands, its head signed where a key is given.

    BadInput without such a job, TrailDamaged where the trail is not sound as a whole.
    """
    job, found = load_job(path, job_id)
    opened, verdicts = opening(found[0]), judge(job)
    warnings, unsafe = warnings_of(job, verdicts)
    back = withdrawn(found)
    return RecordFile(
        job=job.id,
        state="closed" if job.closed else "open",
        machine=opened.machine,
        mileage=mileage(job),
        mileage_asked=asks_mileage(job),
        by=opened.by,
        simulated=opened.simulated,
        seed=opened.seed,
        opened=found[0].utc,
        closed=next((each.utc for each in found if isinstance(each.event, ev.JobClosed)), None),
        offset=opened.offset,
        program=opened.program,
        sheet=_sheet(job, opened),
        not_to_be_ridden=unsafe,
        warnings=(*_called_back(found), *warnings),
        checks=checks_of(job, found, verdicts),
        readings=readings(job, found, back),
        pulls=tuple(pull(job, r, r.event, back) for r in found if isinstance(r.event, ev.PullTaken)),
        overrides=let_pass(job, found),
        drive=drive_part(job),
        rounds=rounds_of(job, [each.seq for each in found if isinstance(each.event, ev.Loosened)]),
        wear=wears(job),
        turns=tuple(turn(r, r.event) for r in found if isinstance(r.event, ev.Turned)),
        acts=tuple(act for r in found for act in acts(r)),
        notes=_told(found, ev.Noted, NotePart),
        tools=tools(found),
        due=_due(found),
        suspects=_told(found, ev.Suspected, SuspectPart),
        faults=_told(found, ev.FaultTold, FaultPart),
        side_offset=opened.side_offset,
        refusals=_refusals(found),
        comments=_told(found, ev.Commented, CommentPart),
        reviews=_told(found, ev.Reviewed, ReviewPart),
        undecoded=sum(isinstance(each.event, ev.FrameUndecoded) for each in found),
        head=_head(path, found[-1].seq, key),
    )


def _told(found: Records, kind: type[BaseModel], part: type[P]) -> tuple[P, ...]:
    """Every event of a kind as a part that carries the same, with its number and time."""
    return tuple(
        part.model_validate({"seq": each.seq, "utc": each.utc, **each.event.model_dump(exclude={"kind"})})
        for each in found
        if isinstance(each.event, kind)
    )


def _due(found: Records) -> tuple[DuePart, ...]:
    return tuple(DuePart(what=r.event.what, after=r.event.after) for r in found if isinstance(r.event, ev.DueOpened))


def _refusals(found: Records) -> tuple[RefusalPart, ...]:
    return tuple(
        RefusalPart(seq=r.seq, utc=r.utc, open=tuple(each.check for each in r.event.open))
        for r in found
        if isinstance(r.event, ev.CloseRefused)
    )


# --- the job --------------------------------------------------------------------------------------------------------


def _sheet(job: Job, opened: ev.JobOpened) -> SheetPart:
    return SheetPart(
        id=opened.sheet,
        title=job.sheet.title,
        revision=opened.revision,
        sha256=opened.sheet_sha256,
        decision=job.sheet.decision,
        conditions=dict(job.sheet.conditions),
        cautions=job.sheet.cautions,
    )


def _called_back(found: Records) -> tuple[str, ...]:
    """A line for each tool whose last recall calls the job back."""
    last = {each.event.tool: each.event for each in found if isinstance(each.event, ev.Reviewed)}
    return tuple(CALLED_BACK.format(tool=each.tool, error=each.error) for each in last.values() if each.call_back)


def _head(path: Path, after: int, key: BenchKey | None) -> HeadPart:
    """The last event of the whole trail; only what follows the job is read for it."""
    *_, last = read(path, after=after - 1)
    with reader(path) as connection:
        head = Anchor(last.seq, last.hash, trail_id_of(connection))
    if key is not None:
        head = signed(head, key)
    return HeadPart(
        trail=head.trail,
        seq=head.seq,
        sha256=head.hash.hex(),
        words=head.words,
        key=head.key.hex(),
        signature=head.signature.hex(),
    )
