"""What is handed on after a job: everything an auditor needs, made from its trail alone (form: `recordform`)."""

import json
import unicodedata
from collections.abc import Mapping, Sequence
from pathlib import Path

from . import events as ev
from .job import Job, apply
from .recordform import (
    ActPart,
    CheckPart,
    DuePart,
    HeadPart,
    NotePart,
    OverridePart,
    PullPart,
    ReadingPart,
    RecordFile,
    RefusalPart,
    SheetPart,
    Standing,
    ToolPart,
    TurnPart,
    Withdrawn,
)
from .replay import opening
from .rules import Judged, judge
from .sheet import ConfirmStep, MeasureStep, TorqueStep
from .shelf import begin, load_job
from .trail import read
from .trail_file import reader, trail_id_of
from .units import approx_margin
from .words import check_title, settle

Records = Sequence[ev.Record]
OVERRIDDEN = "NOT TO BE RIDDEN OR RUN: {names} was let pass by hand, not by its window."
UNFINISHED = "NOT TO BE RIDDEN OR RUN: the job is not finished; {names} does not pass."
OPEN = "The job is open: this record is of an unfinished job."
SIMULATED = "Simulated: no machine was serviced."
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


def make_record(path: Path, job_id: str) -> RecordFile:
    """Make the record of a job as it stands; BadInput without such a job, TrailDamaged where it cannot be read."""
    job, found = load_job(path, job_id)
    opened, verdicts = opening(found[0]), judge(job)
    warnings, unsafe = warnings_of(job, verdicts)
    back = _withdrawn(found)
    return RecordFile(
        job=job.id,
        state="closed" if job.closed else "open",
        machine=opened.machine,
        by=opened.by,
        simulated=opened.simulated,
        seed=opened.seed,
        opened=found[0].utc,
        closed=next((each.utc for each in found if isinstance(each.event, ev.JobClosed)), None),
        offset=opened.offset,
        program=opened.program,
        sheet=_sheet(job, opened),
        not_to_be_ridden=unsafe,
        warnings=warnings,
        checks=_checks(job, found, verdicts),
        readings=tuple(_reading(r, r.event, back) for r in found if isinstance(r.event, ev.ReadingTaken)),
        pulls=tuple(_pull(r, r.event, back) for r in found if isinstance(r.event, ev.PullTaken)),
        turns=tuple(_turn(r, r.event) for r in found if isinstance(r.event, ev.Turned)),
        acts=tuple(act for r in found for act in _acts(r)),
        notes=tuple(
            NotePart(seq=r.seq, utc=r.utc, step=r.event.step, text=r.event.text)
            for r in found
            if isinstance(r.event, ev.Noted)
        ),
        tools=_tools(found),
        due=tuple(DuePart(what=r.event.what, after=r.event.after) for r in found if isinstance(r.event, ev.DueOpened)),
        refusals=tuple(
            RefusalPart(seq=r.seq, utc=r.utc, open=tuple(each.check for each in r.event.open))
            for r in found
            if isinstance(r.event, ev.CloseRefused)
        ),
        undecoded=sum(isinstance(each.event, ev.FrameUndecoded) for each in found),
        head=_head(path, found[-1].seq),
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


def _carries_load(job: Job, check: str) -> bool:
    """Whether a check is a torque, or the locking of one (split pin, witness mark)."""
    step = job.sheet.by_id[check.partition(".")[0]]
    return isinstance(step, TorqueStep) or (isinstance(step, ConfirmStep) and bool(step.locks))


def _checks(job: Job, found: Records, verdicts: Mapping[str, Judged]) -> tuple[CheckPart, ...]:
    as_found = judge(_before_acts(found))
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
        attempts=judged.attempts,
        passes=judged.passes,
        as_found=Standing(verdict=before.verdict, value=before.text, unit=before.unit) if before.text else None,
        override=_override(job, judged.check, utc),
        settle="" if judged.passes else settle(job, judged),
    )


def _override(job: Job, check: str, utc: Mapping[int, str]) -> OverridePart | None:
    found = job.overrides.get(check)
    if found is None:
        return None
    return OverridePart(name=found.name, note=found.note, was=found.was, seq=found.seq, utc=utc[found.seq])


# --- what happened --------------------------------------------------------------------------------------------------


def _withdrawn(found: Records) -> dict[int, Withdrawn]:
    return {
        each.event.of: Withdrawn(why=each.event.why, seq=each.seq, utc=each.utc)
        for each in found
        if isinstance(each.event, ev.TakenBack)
    }


def _reading(record: ev.Record, event: ev.ReadingTaken, back: Mapping[int, Withdrawn]) -> ReadingPart:
    answers = event.answers
    return ReadingPart(
        seq=record.seq,
        utc=event.received.utc,
        step=answers.step if answers else "",
        place=answers.place if answers else "",
        part=answers.part if answers else "",
        set_aside=event.set_aside,
        value=event.value,
        unit=event.unit,
        quantity=event.quantity,
        tool=event.tool,
        tool_kind=event.tool_kind,
        source=event.source,
        raw=event.raw,
        characteristic=event.characteristic,
        withdrawn=back.get(record.seq),
    )


def _pull(record: ev.Record, event: ev.PullTaken, back: Mapping[int, Withdrawn]) -> PullPart:
    meant = event.answers or event.touches
    kept = event.model_dump(exclude={"kind", "answers", "touches", "received"})
    return PullPart(
        seq=record.seq,
        utc=event.received.utc,
        step=meant.step if meant else "",
        place=meant.place if meant else "",
        asked=event.answers is not None,
        withdrawn=back.get(record.seq),
        **kept,
    )


def _turn(record: ev.Record, event: ev.Turned) -> TurnPart:
    return TurnPart(
        seq=record.seq,
        utc=record.utc,
        step=event.step,
        left=event.left,
        right=event.right,
        advised_left=event.advised_left,
        advised_right=event.advised_right,
        before=event.before,
        expected=event.expected,
    )


def _acts(record: ev.Record) -> tuple[ActPart, ...]:
    match record.event:
        case ev.Loosened(fasteners=names) as event:
            return (_act(record, event.kind, names, ()),)
        case (ev.Seated(step=step, items=items) | ev.Confirmed(step=step, items=items)) as event:
            return (_act(record, event.kind, (step,), items),)
        case ev.Untouched(step=step, place=place) as event:
            return (_act(record, event.kind, (f"{step}.{place}" if place else step,), ()),)
        case _:
            return ()


def _act(record: ev.Record, what: str, names: tuple[str, ...], items: tuple[str, ...]) -> ActPart:
    return ActPart.model_validate({"seq": record.seq, "utc": record.utc, "what": what, "names": names, "items": items})


def _tools(found: Records) -> tuple[ToolPart, ...]:
    """Every tool that gave something or was seen, in order of appearance, with what it told last."""
    tools: dict[str, ToolPart] = {}
    for record in found:
        match record.event:
            case ev.ToolSeen(tool=tool, tool_kind=kind) as seen if kind != "radio":
                tools[tool] = ToolPart(
                    tool=tool,
                    kind=kind,
                    serial=seen.serial,
                    model=seen.model,
                    firmware=seen.firmware,
                    address=seen.address,
                    battery=seen.battery,
                )
            case ev.ReadingTaken(tool=tool) | ev.PullTaken(tool=tool) if tool not in tools:
                tools[tool] = ToolPart(tool=tool, kind="", serial="", model="", firmware="", address="", battery=None)
            case _:
                continue
    return tuple(tools.values())


def _head(path: Path, after: int) -> HeadPart:
    """The last event of the whole trail; only what follows the job is read for it."""
    *_, last = read(path, after=after - 1)
    with reader(path) as connection:
        return HeadPart(trail=trail_id_of(connection), seq=last.seq, sha256=last.hash.hex())
