"""What is handed on after a job: everything an auditor needs, made from its trail alone (form: `recordform`)."""

import json
import unicodedata
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from pydantic import BaseModel

from . import events as ev
from .anchor import Anchor
from .facts import Job
from .job import apply
from .keys import BenchKey
from .recordform import (
    CheckPart,
    HeadPart,
    OverridePart,
    RecordFile,
    SheetPart,
    Standing,
    WorthPart,
)
from .recordparts import Records, acts, let_pass, mileage, pull, readings, tools, turn, withdrawn
from .recordrounds import drive_part, rounds_of, wears
from .recordtold import CommentPart, DuePart, FaultPart, NotePart, RefusalPart, ReviewPart, SuspectPart
from .replay import opening
from .rules import Judged, judge
from .seal import signed
from .sheet import ConfirmStep, MeasureStep, TorqueStep
from .shelf import begin, load_job
from .trail import read
from .trail_file import reader
from .trail_schema import trail_id_of
from .units import approx_margin
from .words import check_title, settle

P = TypeVar("P", bound=BaseModel)
OVERRIDDEN = "NOT TO BE RIDDEN OR RUN: {names} was let pass by hand, not by its window."
UNFINISHED = "NOT TO BE RIDDEN OR RUN: the job is not finished; {names} does not pass."
OPEN = "The job is open: this record is of an unfinished job."
SIMULATED = "Simulated: no machine was serviced."
CALLED_BACK = "CALLED BACK: {tool} was found to read wrong by {error}; with that, a check that passed does not."
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


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
        pulls=tuple(pull(r, r.event, back) for r in found if isinstance(r.event, ev.PullTaken)),
        overrides=let_pass(job, found),
        drive=drive_part(job),
        rounds=rounds_of(job),
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


def as_json(content: object) -> str:
    """Return JSON text whose characters can all be seen: the others stand as escapes, so that it is safe to print."""
    text = json.dumps(content, ensure_ascii=False, indent=2, allow_nan=False)
    return "".join(map(_visible, text)) + "\n"


def _visible(character: str) -> str:
    if character == "\n" or unicodedata.category(character) not in _HIDDEN:
        return character
    return json.dumps(character)[1:-1]


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


def warnings_of(job: Job, verdicts: Mapping[str, Judged]) -> tuple[tuple[str, ...], bool]:
    """Return what stands above everything else, and whether the machine is not to be ridden."""
    grave = [judged for judged in verdicts.values() if _carries_load(job, judged.check)]
    by_hand = [judged for judged in grave if judged.verdict == "overridden"]
    unsettled = [judged for judged in grave if not judged.passes]
    found = [
        text.format(names=", ".join(check_title(job, judged.check) for judged in which))
        for text, which in ((OVERRIDDEN, by_hand), (UNFINISHED, unsettled))
        if which
    ]
    let_pass = [
        f"{check_title(job, judged.check)} does not pass and was let pass: {judged.reason}"
        for judged in verdicts.values()
        if judged.verdict == "overridden" and judged not in grave
    ]
    others = let_pass + [OPEN] * (not job.closed) + [SIMULATED] * job.simulated
    return (*found, *others), bool(found)


def _called_back(found: Records) -> tuple[str, ...]:
    """A line for each tool whose last recall calls the job back."""
    last = {each.event.tool: each.event for each in found if isinstance(each.event, ev.Reviewed)}
    return tuple(CALLED_BACK.format(tool=each.tool, error=each.error) for each in last.values() if each.call_back)


def _carries_load(job: Job, check: str) -> bool:
    """Whether a check is a torque, or the locking of one (split pin, witness mark)."""
    step = job.sheet.by_id[check.partition(".")[0]]
    return isinstance(step, TorqueStep) or (isinstance(step, ConfirmStep) and bool(step.locks))


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
    bounded = step if isinstance(step, MeasureStep | TorqueStep) and not is_pair else None
    within = step.agree_within if is_pair and isinstance(step, MeasureStep) else None
    window = bounded.window if bounded is not None else None
    aim = bounded.aim if bounded is not None else None
    return CheckPart(
        check=judged.check,
        title=check_title(job, judged.check),
        kind=step.kind,
        window=None if window is None else (str(window[0]), str(window[1])),
        aim=None if aim is None else str(aim),
        agree_within=None if within is None else str(within),
        value=judged.text,
        unit=judged.unit,
        margin="" if judged.margin is None else approx_margin(judged.margin, judged.unit, 3),
        verdict=judged.verdict,
        reason=judged.reason,
        warnings=judged.warnings,
        worth=_worth(judged),
        attempts=judged.attempts,
        passes=judged.passes,
        as_found=Standing(verdict=before.verdict, value=before.text, unit=before.unit) if before.text else None,
        override=_override(job, judged.check, utc),
        settle="" if judged.passes else settle(job, judged),
    )


def _worth(judged: Judged) -> WorthPart | None:
    found = judged.decision
    if found is None:
        return None
    zone = found.acceptance
    return WorthPart(
        u=f"{found.u:.6g}",
        expanded=f"{found.expanded:.6g}",
        chance_inside=found.chance_stored,
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
