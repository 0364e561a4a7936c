"""What the shelf keeps of a job and of a machine: small summaries, added to event by event; pure.

They are made from stored events without folding and judging the job again: the verdicts are those that were shown.
Only what is said of chain wear goes through the fold.
"""

import json
import unicodedata
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from logger import events as ev
from logger.advice.wear import limit_of, pitch_of
from logger.confined import Confined
from logger.drive import elongation
from logger.errors import BadInput
from logger.events import Verdict
from logger.job.job import fold, opened
from logger.job.measured import value_at
from logger.sheets.sheet import MeasureStep, NoteStep, Sheet
from logger.units import factor, show_number

Sheets = Callable[[str], Sheet | None]
"""Gives the sheet of a SHA-256; None where this version cannot read it."""
_DIGITS = 8


class WearSum(Confined):
    """What a job read of the chain's wear; shares as decimal text, 0.01 is 1 %."""

    share: str
    u: str
    """Its standard uncertainty, 0 where nothing is known of it."""
    limit: str | None


class LetPass(Confined):
    """An override that stands."""

    check: str
    name: str
    note: str


class DueSum(Confined):
    """What was opened as becoming due."""

    what: str
    after: str


class JobSum(Confined):
    """One job as a list shows it."""

    job: str
    first: int
    events: int
    sheet: str
    sheet_sha256: str
    revision: str
    machine: str
    by: str
    people: tuple[str, ...]
    """Everyone who opened it, took it up, closed it or let something pass."""
    state: str
    """"open" or "closed"."""
    opened: str
    """UTC."""
    last: str
    """UTC of its last event."""
    closed: str | None
    simulated: bool
    verdicts: dict[str, Verdict]
    """As last shown."""
    overrides: tuple[LetPass, ...]
    tools: tuple[str, ...]
    """Those that gave a reading or a pull."""
    mileage: str | None
    mileage_unit: str
    wear: WearSum | None
    due: tuple[DueSum, ...]
    call_back: tuple[str, ...]
    """Tools after whose recall a check that passed would not."""
    kept: tuple[str, ...] = ()
    """Records that wear is worked out from, as long as the job is open."""

    @property
    def standing(self) -> tuple[LetPass, ...]:
        """The overrides that hold at its end."""
        return tuple(each for each in self.overrides if self.verdicts.get(each.check) == "overridden")


def key_of(name: str) -> str:
    """Return a name as it is compared: without regard to case, kind of blanks or composition."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


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
        kept=(_without_text(record, event),),
    )


def _without_text(record: ev.Record, event: ev.JobOpened) -> str:
    return record.model_copy(update={"event": event.model_copy(update={"sheet_text": ""})}).model_dump_json()


_OF_TOOLS = ("reading_taken", "pull_taken", "taken_back", "tool_described", "suspected")
_OF_PEOPLE = ("job_resumed", "noted", "overridden", "due_opened", "reviewed", "job_closed")
_HEEDED = frozenset((*_OF_TOOLS, *_OF_PEOPLE))


def added(found: JobSum, data: bytes, sheets: Sheets) -> JobSum:
    """Add one stored event; raises ValueError or KeyError where it is not in the form of an event."""
    raw = json.loads(data)
    event, shown = raw["event"], raw["shown"]["verdicts"]
    update: dict[str, object] = {"events": found.events + 1, "last": raw["utc"]}
    if shown:
        update["verdicts"] = {**found.verdicts, **shown}
    if event["kind"] in _HEEDED and (found.state == "open" or event["kind"] == "reviewed"):
        update |= _heeded(found, raw, event, data, sheets)
    return found.model_copy(update=update)


def _heeded(
    found: JobSum, raw: Mapping[str, object], event: Mapping[str, object], data: bytes, sheets: Sheets
) -> dict[str, object]:
    match event:
        case {"kind": "reading_taken", "tool": str(tool), "answers": answers}:
            step = answers["step"] if isinstance(answers, dict) else ""
            kept = _keep(found, data) if step and step in _wear_steps(sheets(found.sheet_sha256)) else {}
            return {"tools": _with(found.tools, tool), **kept}
        case {"kind": "pull_taken", "tool": str(tool)}:
            return {"tools": _with(found.tools, tool)}
        case {"kind": "noted", "step": str(step), "text": str(text)}:
            unit = _mileage_unit(sheets(found.sheet_sha256), step)
            return {"mileage": text, "mileage_unit": unit} if unit else {}
        case {"kind": "job_resumed", "by": str(by)}:
            return {"people": _with(found.people, by)}
        case {"kind": "overridden", "check": str(check), "name": str(name), "note": str(note)}:
            others = tuple(each for each in found.overrides if each.check != check)
            let = LetPass(check=check, name=name, note=note)
            return {"overrides": (*others, let), "people": _with(found.people, name)}
        case {"kind": "due_opened", "what": str(what), "after": str(after)}:
            return {"due": (*found.due, DueSum(what=what, after=after))}
        case {"kind": "reviewed", "call_back": bool(back), "tool": str(tool)}:
            called = tuple(each for each in found.call_back if each != tool)
            return {"call_back": (*called, tool) if back else called}
        case {"kind": "job_closed", "by": str(by)}:
            people = {"state": "closed", "closed": raw["utc"], "people": _with(found.people, by)}
            return {**people, "wear": worn(found, sheets), "kept": ()}
        case {"kind": "taken_back" | "tool_described" | "suspected"}:
            return _keep(found, data)
        case _:
            return {}


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


def _mileage_unit(sheet: Sheet | None, step: str) -> str:
    """The unit of the first note that asks for a number with a unit, where this is its step; else empty."""
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
                length, value = max(read, key=lambda each: each[0])
                new = step.pitches * pitch
                return WearSum(
                    share=show_number(elongation(length, step.pitches, pitch), _DIGITS),
                    u=f"{value.budget.u * float(factor(value.unit, 'mm') / new):.{_DIGITS}f}",
                    limit=None if (limit := limit_of(step, pitch)) is None else show_number(limit, _DIGITS),
                )
    return None


def number_of(text: str | None) -> Fraction | None:
    """Return a mileage as a number; None where what was written down is none."""
    try:
        found = None if text is None else Decimal(text.strip())
    except InvalidOperation:
        return None
    exponent = None if found is None else found.as_tuple().exponent
    # few digits, whatever a person wrote: 1e-999999999 as a fraction would fill the memory
    if found is None or not isinstance(exponent, int) or not -9 <= exponent <= 9 or abs(found) >= 10**9:
        return None
    return Fraction(found)


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
