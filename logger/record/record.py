"""What is handed on after a job: everything an auditor needs, made from its trail alone (form: `form`)."""

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from pydantic import BaseModel

from logger import events as ev
from logger.bench.replay import margin_text, opening
from logger.job.facts import Job
from logger.job.job import apply
from logger.job.named import check_title
from logger.job.rules import Judged, judge
from logger.job.verdictwords import settle
from logger.job.zeroed import limits_of
from logger.sheets.sheet import AnyStep, MeasureStep, TorqueStep, ZeroStep
from logger.shelf.shelf import begin, load_job
from logger.trail.anchor import Anchor
from logger.trail.file import reader
from logger.trail.keys import BenchKey
from logger.trail.read import read
from logger.trail.schema import trail_id_of
from logger.trail.seal import signed
from logger.units import Quantity, decimals, show_number

from .form import CheckPart, HeadPart, OverridePart, RecordFile, SheetPart, Standing, WorthPart
from .parts import Records, acts, asks_mileage, let_pass, mileage, pull, readings, tools, turn, withdrawn
from .rounds import drive_part, rounds_of, wears
from .told import CommentPart, DuePart, FaultPart, NotePart, RefusalPart, ReviewPart, SuspectPart
from .warned import warnings_of

P = TypeVar("P", bound=BaseModel)
CALLED_BACK = "CALLED BACK: {tool} was found to read wrong by {error}; with that, a check that passed does not."
_FINER = 4
"""Further decimals of limits that were converted into another unit."""


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
        checks=_checks(job, found, verdicts),
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
        due=tuple(DuePart(what=r.event.what, after=r.event.after) for r in found if isinstance(r.event, ev.DueOpened)),
        suspects=_told(found, ev.Suspected, SuspectPart),
        faults=_told(found, ev.FaultTold, FaultPart),
        side_offset=opened.side_offset,
        refusals=tuple(
            RefusalPart(seq=r.seq, utc=r.utc, open=tuple(each.check for each in r.event.open))
            for r in found
            if isinstance(r.event, ev.CloseRefused)
        ),
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


def _checks(job: Job, found: Records, verdicts: Mapping[str, Judged]) -> tuple[CheckPart, ...]:
    # as it was read, whoever let it pass already
    as_found = judge(replace(_before_acts(found), overrides=MappingProxyType({})))
    utc = {each.seq: each.utc for each in found}
    return tuple(_check(job, judged, as_found[check], utc) for check, judged in verdicts.items())


def _before_acts(found: Records) -> Job:
    """The job just before the first act: anything loosened, turned or pulled."""
    job = begin(found[0])
    for record in found[1:]:
        if isinstance(record.event, ev.Loosened | ev.Turned | ev.PullTaken):
            break
        job = apply(job, record)
    return job


def _check(job: Job, judged: Judged, before: Judged, utc: Mapping[int, str]) -> CheckPart:
    step = job.sheet.by_id[judged.check.partition(".")[0]]
    is_pair = judged.check.endswith(".agreement")
    within = step.agree_within if is_pair and isinstance(step, MeasureStep) else None
    window, aim = (None, None) if is_pair else _bounds(step)
    return CheckPart(
        check=judged.check,
        title=check_title(job, judged.check),
        kind=step.kind,
        window=window,
        aim=None if aim is None else str(aim),
        within=str(step.within) if isinstance(step, ZeroStep) else None,
        agree_within=None if within is None else str(within),
        value=judged.text,
        unit=judged.unit,
        margin=margin_text(judged),
        verdict=judged.verdict,
        reason=judged.reason,
        warnings=judged.warnings,
        worth=_worth(judged),
        attempts=judged.attempts,
        passes=judged.passes,
        as_found=_as_found(before),
        override=_override(job, judged.check, utc),
        settle="" if judged.passes else settle(job, judged),
    )


def _bounds(step: AnyStep) -> tuple[tuple[str, str] | None, Quantity | None]:
    """The window of a check as text, and what to aim at."""
    match step:
        case MeasureStep(window=(low, high), aim=aim) | TorqueStep(window=(low, high), aim=aim):
            return (str(low), str(high)), aim
        case ZeroStep(reference=reference, within=within):
            digits = max(decimals(reference.text), decimals(within.text)) + _FINER * (reference.unit != within.unit)
            ends = (show_number(end or Fraction(0), digits) for end in limits_of(step, reference.unit))
            lowest, highest = (f"{end} {reference.unit}" for end in ends)
            return (lowest, highest), reference
        case _:
            return None, None


def _as_found(before: Judged) -> Standing | None:
    """What was read and not doubted."""
    if not before.text or before.verdict == "waiting":
        return None
    return Standing(verdict=before.verdict, value=before.text, unit=before.unit)


def _worth(judged: Judged) -> WorthPart | None:
    found = judged.decision
    if found is None:
        return None
    zone = found.acceptance
    return WorthPart(
        u=f"{found.u:.6g}",
        expanded=f"{found.expanded:.6g}",
        chance_inside=found.chance_stored if found.u else "",
        acceptance=None if zone is None else (_end(zone.low), _end(zone.high)),
        guard=f"{float(found.guard):.6g}",
        assumed=judged.assumed,
        unknown=judged.unknown,
    )


def _end(limit: Fraction | None) -> str | None:
    return None if limit is None else f"{float(limit):.9g}"


def _override(job: Job, check: str, utc: Mapping[int, str]) -> OverridePart | None:
    found = job.overrides.get(check)
    if found is None:
        return None
    return OverridePart(name=found.name, note=found.note, was=found.was, seq=found.seq, utc=utc[found.seq])


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
