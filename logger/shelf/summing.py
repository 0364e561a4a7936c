"""How the sum of a job is made: added to event by event; pure.

Sums are made from stored events without folding and judging the job again: the verdicts are those that were shown.
Only what is said of chain wear goes through the fold.
"""

import json
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import get_args

from logger import events as ev
from logger.advice.wear import limit_of, pitch_of
from logger.drive import elongation
from logger.errors import BadInput
from logger.job.job import fold, opened
from logger.job.measured import Value, value_at
from logger.job.named import spoken
from logger.sheets.sheet import MeasureStep, NoteStep, Sheet
from logger.units import factor, show_number

from .sums import DueSum, JobSum, LetPass, WearSum

Sheets = Callable[[str], Sheet | None]
"""Gives the sheet of a SHA-256; None where this version cannot read it."""
_DIGITS = 8


def begun(record: ev.Record) -> JobSum | None:
    """Begin a summary with the opening of a job; None for any other event."""
    event = record.event
    if not isinstance(event, ev.JobOpened):
        return None
    return JobSum(
        job=record.job,
        first=record.seq,
        events=1,
        sheet=event.sheet,
        sheet_sha256=event.sheet_sha256,
        revision=event.revision,
        machine=event.machine,
        by=event.by,
        people=(event.by,),
        state="open",
        opened=record.utc,
        last=record.utc,
        closed=None,
        simulated=event.simulated,
        verdicts=dict(record.shown.verdicts),
        overrides=(),
        tools=(),
        mileage=None,
        mileage_unit="",
        wear=None,
        due=(),
        call_back=(),
        called_back_at=0,
        kept=(_without_text(record, event),),
    )


def _without_text(record: ev.Record, event: ev.JobOpened) -> str:
    return record.model_copy(update={"event": event.model_copy(update={"sheet_text": ""})}).model_dump_json()


_OF_TOOLS = ("reading_taken", "pull_taken", "taken_back", "tool_described", "suspected")
_OF_PEOPLE = ("job_resumed", "noted", "overridden", "due_opened", "reviewed", "job_closed")
_HEEDED = frozenset((*_OF_TOOLS, *_OF_PEOPLE))


_VERDICTS = frozenset(get_args(ev.Verdict))


def added(found: JobSum, data: bytes, sheets: Sheets) -> JobSum:
    """Add one stored event; raises ValueError or KeyError where it is not in the form of an event."""
    raw = json.loads(data)
    event, shown = raw["event"], raw["shown"]["verdicts"]
    update: dict[str, object] = {"events": found.events + 1, "last": raw["utc"]}
    if shown:
        if not _VERDICTS.issuperset(shown.values()):
            raise ValueError("a verdict is none")
        update["verdicts"] = {**found.verdicts, **shown}
    if event["kind"] in _HEEDED and (found.state == "open" or event["kind"] == "reviewed"):
        update |= _heeded(found, raw, event, data, sheets)
    return found.model_copy(update=update)


def _heeded(
    found: JobSum, raw: Mapping[str, object], event: Mapping[str, object], data: bytes, sheets: Sheets
) -> dict[str, object]:
    """Return what an event changes in the sum of its job; read as it is, since a model of each would cost the most."""
    match event:
        case {"kind": "reading_taken", "tool": str(tool), "answers": answers}:
            step = answers["step"] if isinstance(answers, dict) else ""
            kept = _keep(found, data) if step and step in _wear_steps(sheets(found.sheet_sha256)) else {}
            return {"tools": _with(found.tools, tool), **kept}
        case {"kind": "pull_taken", "tool": str(tool)}:
            return {"tools": _with(found.tools, tool)}
        case {"kind": "noted", "step": str(step), "text": str(text)}:
            unit = mileage_unit(sheets(found.sheet_sha256), step)
            return {"mileage": text, "mileage_unit": unit} if unit else {}
        case {"kind": "job_resumed", "by": str(by)}:
            return {"people": _with(found.people, by)}
        case {"kind": "overridden", "check": str(check), "name": str(name), "note": str(note)}:
            others = tuple(each for each in found.overrides if each.check != check)
            let = LetPass(check=check, name=name, note=note, title=_title(sheets(found.sheet_sha256), check))
            return {"overrides": (*others, let), "people": _with(found.people, name)}
        case {"kind": "due_opened", "what": str(what), "after": str(after)}:
            return {"due": (*found.due, DueSum(what=what, after=after))}
        case {"kind": "reviewed", "call_back": bool(back), "tool": str(tool)}:
            called = tuple(each for each in found.call_back if each != tool)
            if not back:
                return {"call_back": called}
            again = tool in found.call_back  # the same review, made again, calls nobody back anew
            at = found.called_back_at if again else raw["seq"]
            return {"call_back": (*called, tool), "called_back_at": at}
        case {"kind": "job_closed", "by": str(by)}:
            closed = {"state": "closed", "closed": raw["utc"], "people": _with(found.people, by)}
            return {**closed, "wear": worn(found, sheets), "kept": ()}
        case {"kind": "taken_back" | "tool_described" | "suspected"}:
            return _keep(found, data)
        case _:
            return {}


def _title(sheet: Sheet | None, check: str) -> str:
    """A check as a person says it, "Axle nut" or "Adjuster lock nuts, left"."""
    step_id, _, place = check.partition(".")
    step = None if sheet is None else sheet.by_id.get(step_id)
    if step is None:
        return ""
    return f"{step.title}, {spoken(place)}" if place else step.title


def _keep(found: JobSum, data: bytes) -> dict[str, object]:
    return {"kept": (*found.kept, data.decode())}


def _with(names: tuple[str, ...], name: str) -> tuple[str, ...]:
    return names if name in names else (*names, name)


def settled(found: JobSum, sheets: Sheets) -> JobSum:
    """Return a summary with the wear of a job that is still open worked out."""
    return found if found.state == "closed" else found.model_copy(update={"wear": worn(found, sheets)})


# --- what the sheet says --------------------------------------------------------------------------------------------


def _wear_steps(sheet: Sheet | None) -> frozenset[str]:
    steps = () if sheet is None else sheet.step
    return frozenset(step.id for step in steps if isinstance(step, MeasureStep) and step.pitches is not None)


def mileage_unit(sheet: Sheet | None, step: str) -> str:
    """Return the unit of the first note that asks for a number with a unit, where this is its step; else empty."""
    notes = (each for each in (() if sheet is None else sheet.step) if isinstance(each, NoteStep))
    first = next((each for each in notes if each.value == "number" and each.unit), None)
    return first.unit if first is not None and first.id == step else ""


def worn(found: JobSum, sheets: Sheets) -> WearSum | None:
    """Work out the wear from the records kept: the longest place of the first wear check that was read whole."""
    sheet = sheets(found.sheet_sha256)
    pitch = None if sheet is None else pitch_of(sheet)
    if sheet is None or pitch is None or len(found.kept) < 2:
        return None
    first, *others = map(ev.Record.model_validate_json, found.kept)
    job = fold(opened(first, sheet), others)
    for step in sheet.step:
        if isinstance(step, MeasureStep) and step.pitches is not None:
            values = [value_at(job, step, slot) for slot in step.slots]
            read = [(each.value * factor(each.unit, "mm"), each) for each in values if each.value is not None]
            if read:
                return _wear_sum(step, step.pitches, pitch, *max(read, key=lambda each: each[0]))
    return None


def _wear_sum(step: MeasureStep, pitches: int, pitch: Fraction, length: Fraction, value: Value) -> WearSum:
    """Return the wear that a length over so many pitches tells, as shares of a new chain; lengths in mm."""
    limit = limit_of(step, pitch)
    return WearSum(
        share=show_number(elongation(length, pitches, pitch), _DIGITS),
        u=f"{value.budget.u * float(factor(value.unit, 'mm') / (pitches * pitch)):.{_DIGITS}f}",
        limit=None if limit is None else show_number(limit, _DIGITS),
    )


def sheets_of(texts: Mapping[str, str], load: Callable[[str], Sheet]) -> Sheets:
    """Return what gives sheets by their SHA-256 from their texts, each read once."""
    known: dict[str, Sheet | None] = {}

    def give(sha256: str) -> Sheet | None:
        if sha256 not in known:
            try:
                known[sha256] = load(texts[sha256])
            except (BadInput, KeyError):
                known[sha256] = None
        return known[sha256]

    return give
