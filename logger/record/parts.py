"""What happened in a job, part by part, for its record: readings, pulls, turnings, acts, tools; pure."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from logger import events as ev
from logger.job.facts import Job
from logger.job.judged import number
from logger.job.named import check_title
from logger.job.torquepass import at_fastener, window_of
from logger.sheets.sheet import NoteStep, TorqueStep, check_id
from logger.units import decimals, in_unit, position

from .adjusted import ActPart, TurnPart
from .checked import LetPassPart
from .form import MileagePart
from .taken import PullPart, ReadingPart, ToolPart, Withdrawn

Records = Sequence[ev.Record]


def withdrawn(found: Records) -> dict[int, Withdrawn]:
    """Number of each event that was taken back -> by which event, when and why."""
    return {
        each.event.of: Withdrawn(why=each.event.why, seq=each.seq, utc=each.utc)
        for each in found
        if isinstance(each.event, ev.TakenBack)
    }


def let_pass(job: Job, found: Records) -> tuple[LetPassPart, ...]:
    """Every override that was made, in order."""
    standing = {override.seq for override in job.overrides.values()}
    return tuple(
        LetPassPart(
            seq=each.seq,
            utc=each.utc,
            title=check_title(job, each.event.check),
            stands=each.seq in standing,
            **each.event.model_dump(exclude={"kind"}),
        )
        for each in found
        if isinstance(each.event, ev.Overridden)
    )


def mileage(job: Job) -> MileagePart | None:
    """What was written down last for the first note step that asks for a number with a unit."""
    for step in _mileages(job):
        if step.id in job.notes:
            return MileagePart(title=step.title, value=job.notes[step.id][1], unit=step.unit)
    return None


def asks_mileage(job: Job) -> bool:
    """Whether the sheet asks for a number with a unit to be written down."""
    return any(True for _ in _mileages(job))


def _mileages(job: Job) -> Iterator[NoteStep]:
    return (s for s in job.sheet.step if isinstance(s, NoteStep) and s.value == "number" and s.unit)


def readings(job: Job, found: Records, back: Mapping[int, Withdrawn]) -> tuple[ReadingPart, ...]:
    """Every reading, whether it counted or not, with the number of the attempt it belongs to."""
    numbers = {
        taken.seq: attempt.number
        for attempts in job.attempts.values()
        for attempt in attempts
        for taken in attempt.taken
    }
    return tuple(
        _reading(each, each.event, back).model_copy(
            update={"attempt": numbers.get(each.seq), "suspect": each.seq in job.suspect}
        )
        for each in found
        if isinstance(each.event, ev.ReadingTaken)
    )


def _reading(record: ev.Record, event: ev.ReadingTaken, back: Mapping[int, Withdrawn]) -> ReadingPart:
    answers = event.answers
    return ReadingPart(
        seq=record.seq,
        utc=event.received.utc,
        step=answers.step if answers else "",
        place=answers.place if answers else "",
        part=answers.part if answers else "",
        attempt=None,
        suspect=False,
        set_aside=event.set_aside,
        value=event.value,
        unit=event.unit,
        quantity=event.quantity,
        tool=event.tool,
        tool_kind=event.tool_kind,
        source=event.source,
        raw=event.raw,
        characteristic=event.characteristic,
        mode=event.mode,
        key_gap_ms=event.key_gap_ms,
        withdrawn=back.get(record.seq),
    )


def pull(job: Job, record: ev.Record, event: ev.PullTaken, back: Mapping[int, Withdrawn]) -> PullPart:
    """One pull, with where it stands at its fastener."""
    meant = event.answers or event.touches
    apart = {"kind", "answers", "touches", "received"}
    kept: dict[str, Any] = {name: getattr(event, name) for name in ev.PullTaken.model_fields.keys() - apart}
    return PullPart(
        seq=record.seq,
        utc=event.received.utc,
        step=meant.step if meant else "",
        place=meant.place if meant else "",
        asked=event.answers is not None,
        withdrawn=back.get(record.seq),
        **_at_fastener(job, record.seq, meant),
        **kept,
    )


def _at_fastener(job: Job, seq: int, meant: ev.Slot | None) -> dict[str, Any]:
    """The torque of a pull at its fastener, the window of its pass, and where in it that stands."""
    step = None if meant is None else job.sheet.by_id.get(meant.step)
    pulls = () if meant is None else job.fastener((meant.step, meant.place)).pulls
    found = next((each for each in pulls if each.seq == seq), None)
    if found is None or found.peak is None or not isinstance(step, TorqueStep):
        return {"at_fastener": None, "window": None, "stands": None}
    window, value = window_of(step, found.number), at_fastener(found, Fraction(found.peak))
    limits, digits = in_unit(window, found.unit), decimals(found.text)
    text = found.text if found.adapter is None else number(value, found.unit, digits + 1, limits).removeprefix("≈ ")
    return {
        "at_fastener": text,
        "window": (str(window[0]), str(window[1])),
        "stands": position(value, limits),
    }


def turn(record: ev.Record, event: ev.Turned) -> TurnPart:
    """A turning as the record has it, in flats, with what was read before (mm) and expected after."""
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


def acts(record: ev.Record) -> tuple[ActPart, ...]:
    """The act that an event tells of, if any: loosened, seated, confirmed or left untouched."""
    match record.event:
        case ev.Loosened(fasteners=names) as event:
            return (_act(record, event.kind, names, ()),)
        case (ev.Seated(step=step, items=items) | ev.Confirmed(step=step, items=items)) as event:
            return (_act(record, event.kind, (step,), items),)
        case ev.Untouched(step=step, place=place) as event:
            return (_act(record, event.kind, (check_id(step, place),), ()),)
        case _:
            return ()


def _act(record: ev.Record, what: str, names: tuple[str, ...], items: tuple[str, ...]) -> ActPart:
    return ActPart.model_validate({"seq": record.seq, "utc": record.utc, "what": what, "names": names, "items": items})


def tools(found: Records) -> tuple[ToolPart, ...]:
    """Every tool that gave something, was seen or described, in order of appearance, with what was told last."""
    tools: dict[str, ToolPart] = {}
    for record in found:
        match record.event:
            case ev.ToolSeen(tool=tool, tool_kind=kind) as seen if kind != "radio":
                told = seen.model_dump(include={"serial", "model", "firmware", "address", "battery"})
                tools[tool] = tools.get(tool, _unseen(tool)).model_copy(update={"kind": kind, **told})
            case ev.ToolDescribed(tool=tool, tool_kind=kind) as stated:
                told = stated.model_dump(include=_STATED)
                tools[tool] = tools.get(tool, _unseen(tool)).model_copy(update={"kind": kind, **told})
            case ev.ReadingTaken(tool=tool) | ev.PullTaken(tool=tool):
                tools.setdefault(tool, _unseen(tool))
            case _:
                continue
    return tuple(tools.values())


_STATED = {"profile", "accuracy", "resolution", "calibration_u", "calibrated", "due", "certificate", "stated_by"}


def _unseen(tool: str) -> ToolPart:
    """A tool of which nothing is known but that it gave something."""
    nothing = dict.fromkeys(
        ("kind", "profile", "serial", "model", "firmware", "address", "certificate", "stated_by"), ""
    )
    unknown = dict.fromkeys(("battery", "accuracy", "resolution", "calibration_u", "calibrated", "due"))
    return ToolPart.model_validate({"tool": tool, **nothing, **unknown})
