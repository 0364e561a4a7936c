"""The fold: events in, the state of a job out. Live and replay both go through `apply`, and state is nothing else.

Rule of the house: an act (loosened, turned, a pull) makes everything it disturbs older than itself; nothing here
removes what happened, a withdrawn reading is marked and stays.
"""

from collections.abc import Iterable, Mapping, Set
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import TypeVar

from logger import events as ev
from logger.sheets.sheet import AdjustStep, ConfirmStep, MeasureStep, Sheet, TorqueStep, ZeroStep, check_id
from logger.units import trimmed, unit_of

from .facts import Attempt, Basis, Fastener, Job, Override, Place, Pull, Taken, Turn
from .torqued import open_pass

__all__ = [
    "Attempt",
    "Basis",
    "Fastener",
    "Job",
    "Override",
    "Place",
    "Pull",
    "Taken",
    "Turn",
    "apply",
    "before_loosening",
    "current",
    "fold",
    "open_attempt",
    "opened",
]

K = TypeVar("K")
V = TypeVar("V")


def opened(record: ev.Record, sheet: Sheet) -> Job:
    """Begin a job from its first record and the sheet that record carries."""
    event = record.event
    assert isinstance(event, ev.JobOpened)
    return Job(
        record.job,
        sheet,
        event.machine,
        event.by,
        event.simulated,
        record.utc,
        record.seq,
        side_offset=event.side_offset,
    )


def fold(job: Job, records: Iterable[ev.Record]) -> Job:
    """Apply records in order; an event that tells nothing of the job makes no new one, so that long jobs stay cheap."""
    seq = job.seq
    for record in records:
        seq, job = record.seq, _after(job, record.seq, record.event)
    return replace(job, seq=seq)


def apply(job: Job, record: ev.Record) -> Job:
    """Return the job after one more event; pure, and total over every event. A closed job stays as it was closed."""
    return replace(_after(job, record.seq, record.event), seq=record.seq)


def _after(job: Job, seq: int, event: ev.Event) -> Job:
    """Return what the event made of the job, its own sequence not yet noted."""
    if job.closed:
        return job
    match event:
        case ev.ReadingTaken(set_aside="", answers=ev.Slot() as slot):
            return _reading(job, seq, slot, event)
        case ev.ReadingTaken():  # set aside; said here, since each kind asked after below takes its time
            return job
        case ev.PullTaken():
            return _pull(job, seq, event)
        case ev.Confirmed() | ev.Untouched() | ev.Noted() | ev.Seated():
            return _seen_to(job, seq, event)
        case ev.Loosened(fasteners=names):
            return _loosen(job, seq, names)
        case ev.Turned():
            return _turn(job, seq, event)
        case ev.TakenBack(of=of):
            return _take_back(job, of)
        case ev.Overridden(check=check, name=name, note=note, was=was):
            return _override(job, check, Override(seq, name, note, was))
        case ev.ToolSeen() | ev.ToolDescribed() | ev.ToolDeclared() | ev.AdapterDeclared() | ev.Suspected():
            return _told(job, event)
        case ev.ToolsPicked(picks=picks):
            return replace(job, picked=picks)
        case ev.DueOpened(what=what):
            return replace(job, due=(*job.due, what))
        case ev.JobClosed():
            return replace(job, closed=True)
        case _:
            return job


def before_loosening(job: Job) -> Job | None:
    """Return the job with its readings as good as before the loosening that awaits a turn; None when none does."""
    if job.basis is None:
        return None
    return replace(job, disturbed=job.basis.disturbed, overrides=job.basis.overrides)


def _told(job: Job, event: ev.ToolSeen | ev.ToolDescribed | ev.ToolDeclared | ev.AdapterDeclared | ev.Suspected) -> Job:
    """Take in what is said of tools."""
    match event:
        case ev.ToolSeen(tool=tool, battery=int() as battery):
            return replace(job, batteries=_put(job.batteries, tool, battery))
        case ev.ToolDescribed(tool=tool):
            return replace(job, tools=_put(job.tools, tool, event))
        case ev.ToolDeclared():
            return replace(job, typed_with=event)
        case ev.AdapterDeclared(step=step, adapter=adapter):
            return replace(job, adapters=_put(job.adapters, step, adapter))
        case ev.Suspected(readings=readings, zero=zero):
            return replace(job, suspect=MappingProxyType({**job.suspect, **dict.fromkeys(readings, zero)}))
        case _:
            return job


def _put(mapping: Mapping[K, V], key: K, value: V) -> Mapping[K, V]:
    return MappingProxyType({**mapping, key: value})


def _drop(mapping: Mapping[str, V], *keys: str) -> Mapping[str, V]:
    if not any(key in mapping for key in keys):
        return mapping
    return MappingProxyType({key: value for key, value in mapping.items() if key not in keys})


def _override(job: Job, check: str, override: Override) -> Job:
    """Let a check pass; where an adjustment is under way for it, also for that."""
    basis = job.basis and replace(job.basis, overrides=_put(job.basis.overrides, check, override))
    let_pass = {taken.seq for attempt in job.attempts.get((check, ""), ()) for taken in attempt.taken}
    return replace(_cleared(job, let_pass), overrides=_put(job.overrides, check, override), basis=basis)


def _cleared(job: Job, zeros: Set[int]) -> Job:
    """Lift the suspicion that rests on these readings of a zero check: taken back, or let pass by a person."""
    left = {reading: zero for reading, zero in job.suspect.items() if zero not in zeros}
    return replace(job, suspect=MappingProxyType(left))


def _seen_to(job: Job, seq: int, event: ev.Confirmed | ev.Untouched | ev.Noted | ev.Seated) -> Job:
    match event:
        case ev.Confirmed(step=step):
            return replace(job, confirmed=_put(job.confirmed, step, seq), overrides=_drop(job.overrides, step))
        case ev.Untouched(step=step, place=place):
            job = replace(job, overrides=_drop(job.overrides, check_id(step, place)))
            return _with_fastener(job, (step, place), replace(job.fastener((step, place)), untouched=seq))
        case ev.Noted(step="", text=text):
            return replace(job, free_notes=(*job.free_notes, (seq, text)))
        case ev.Noted(step=step, text=text):
            return replace(job, notes=_put(job.notes, step, (seq, text)), overrides=_drop(job.overrides, step))
        case ev.Seated(step=step):
            return replace(job, seated=_put(job.seated, step, seq))


# --- readings -------------------------------------------------------------------------------------------------------


def current(attempts: tuple[Attempt, ...]) -> Attempt | None:
    """Return the attempt that counts now: the last with a reading that was not withdrawn."""
    return next((attempt for attempt in reversed(attempts) if attempt.live), None)


def open_attempt(job: Job, step: MeasureStep, attempt: Attempt | None) -> bool:
    """Whether the next reading belongs to this attempt: begun, not complete, in one unit, not disturbed or suspect."""
    if attempt is None or len(attempt.units) != 1 or any(each.seq in job.suspect for each in attempt.live):
        return False
    return len(attempt.live) < step.set_size and not job.is_disturbed(step.id, attempt.since)


def _goes_on(job: Job, step: MeasureStep | ZeroStep, last: Attempt, slot: ev.Slot) -> bool:
    """Whether a reading belongs to the last attempt: one of its set, or a further repeat that was asked for."""
    if isinstance(step, ZeroStep):
        return False
    return slot.more or open_attempt(job, step, last)


def _reading(job: Job, seq: int, slot: ev.Slot, event: ev.ReadingTaken) -> Job:
    step = job.sheet.by_id.get(slot.step)
    if not isinstance(step, MeasureStep | ZeroStep):
        return job
    place = (slot.step, slot.place)
    taken = _taken(job, seq, slot, event)
    attempts = job.attempts.get(place, ())
    last = current(attempts)
    if last is not None and _goes_on(job, step, last, slot):
        longer = replace(last, taken=(*last.taken, taken))
        attempts = tuple(longer if attempt is last else attempt for attempt in attempts)
    else:
        attempts = (*attempts, Attempt(len(attempts) + 1, (taken,)))
    return replace(
        job,
        attempts=_put(job.attempts, place, attempts),
        overrides=_drop(job.overrides, check_id(*place), f"{step.id}.agreement"),
        last_counted=seq,
        basis=None,
    )


def _taken(job: Job, seq: int, slot: ev.Slot, event: ev.ReadingTaken) -> Taken:
    return Taken(
        seq,
        slot.part,
        Decimal(event.value),
        event.value,
        event.unit,
        event.tool,
        event.tool_kind,
        event.source,
        battery=job.batteries.get(event.tool),
        mode=event.mode,
    )


def _take_back(job: Job, of: int) -> Job:
    """Mark a reading (with the other half of its difference) or a pull as withdrawn."""
    for place, attempts in job.attempts.items():
        if any(each.seq == of for attempt in attempts for each in attempt.taken):
            step = job.sheet.by_id[place[0]]
            halves = 2 if isinstance(step, MeasureStep) and step.takes == "difference" else 1
            changed = tuple(_without(attempt, of, halves) for attempt in attempts)
            job = replace(job, attempts=_put(job.attempts, place, changed))
    for place, fastener in job.fasteners.items():
        if any(pull.seq == of for pull in fastener.pulls):
            pulls = tuple(replace(p, withdrawn=True) if p.seq == of else p for p in fastener.pulls)
            job = _with_fastener(job, place, replace(fastener, pulls=pulls))
    return replace(_cleared(job, {of}), last_counted=_last_counted(job))


def _without(attempt: Attempt, of: int, halves: int) -> Attempt:
    live = [each.seq for each in attempt.live]
    if of not in live:
        return attempt
    first = live.index(of) // halves * halves
    gone = live[first : first + halves]
    return replace(attempt, taken=tuple(replace(t, withdrawn=t.withdrawn or t.seq in gone) for t in attempt.taken))


def _last_counted(job: Job) -> int:
    readings = (t.seq for attempts in job.attempts.values() for a in attempts for t in a.live)
    pulls = (p.seq for f in job.fasteners.values() for p in f.pulls if p.asked and not p.withdrawn)
    return max((*readings, *pulls), default=0)


# --- acts -----------------------------------------------------------------------------------------------------------


def disturb(job: Job, seq: int, steps: Iterable[str]) -> Job:
    """Make every step named older than `seq`, and end the overrides of its checks."""
    known = [step for step in steps if step in job.sheet.by_id]
    checks = [check for step in known for check in (step, *job.sheet.by_id[step].checks)]
    disturbed = MappingProxyType({**job.disturbed, **dict.fromkeys(known, seq)})
    return replace(job, disturbed=disturbed, overrides=_drop(job.overrides, *checks))


def _disturb_by(job: Job, seq: int, torque: str) -> Job:
    """Disturb what moving a fastener of a torque step disturbs, and what locks it (pin, witness mark)."""
    step = job.sheet.by_id.get(torque)
    if not isinstance(step, TorqueStep):
        return job
    locks = (each.id for each in job.sheet.step if isinstance(each, ConfirmStep) and torque in each.locks)
    return disturb(job, seq, (*step.disturbs, *locks))


def _with_fastener(job: Job, place: Place, fastener: Fastener) -> Job:
    return replace(job, fasteners=_put(job.fasteners, place, fastener))


def _pull(job: Job, seq: int, event: ev.PullTaken) -> Job:
    meant, job = event.answers or event.touches, replace(job, basis=None)
    if meant is None:
        return _pull_anywhere(job, seq)
    place = (meant.step, meant.place)
    before = job.fastener(place)
    if event.direction == "anticlockwise":
        after = replace(before, undone=seq)
    else:
        pull = _pull_of(job, seq, event, place)
        after = replace(before, pulls=(*before.pulls, pull))
        job = replace(job, last_pulled=place, last_counted=seq if pull.asked else job.last_counted)
    job = replace(job, overrides=_drop(job.overrides, check_id(*place)))
    return _disturb_by(_with_fastener(job, place, after), seq, place[0])


def _pull_anywhere(job: Job, seq: int) -> Job:
    """Nobody knows what this pull moved: it may have been any fastener, so it disturbs each and all they disturb."""
    for torque in job.sheet.torques:
        job = _disturb_by(disturb(job, seq, (torque.id,)), seq, torque.id)
    return job


def _pull_of(job: Job, seq: int, event: ev.PullTaken, place: Place) -> Pull:
    unit, step = unit_of(event.unit), job.sheet.by_id.get(place[0])
    texts = [text for text in (event.own_peak, event.host_peak) if text is not None]
    peaks = [Decimal(text) for text in texts] if unit is not None and unit[0] == "torque" else []
    samples = [Decimal(text) for _, text in event.trace] if peaks else []
    missed = event.under_read if event.own_peak is None else None
    return Pull(
        seq,
        peaks[0] if peaks else None,
        max([*peaks, *samples], default=None),
        trimmed(texts[0]) if texts else "",
        event.unit,
        event.tool,
        event.answers is not None and not event.set_aside,
        event.invalid,
        how=event.how,
        adapter=event.adapter,
        number=open_pass(job, step, place[1]) if isinstance(step, TorqueStep) else 1,
        battery=job.batteries.get(event.tool),
        under_read=None if missed is None else Decimal(missed),
        set_aside=event.set_aside,
    )


def _loosen(job: Job, seq: int, names: tuple[str, ...]) -> Job:
    basis = job.basis or Basis(job.disturbed, job.overrides)
    job = replace(job, loosened=seq, basis=basis)
    for place in job.sheet.fasteners(names):
        job = _with_fastener(job, place, replace(job.fastener(place), loosened=seq))
        job = replace(job, overrides=_drop(job.overrides, check_id(*place)))
        job = _disturb_by(job, seq, place[0])
    return job


def _turn(job: Job, seq: int, event: ev.Turned) -> Job:
    left, right = Decimal(event.left), Decimal(event.right)
    advised = [None if text is None else Decimal(text) for text in (event.advised_left, event.advised_right)]
    turn = Turn(seq, event.step, left, right, [left, right] == advised, event.before, event.expected)
    step = job.sheet.by_id.get(event.step)
    job = replace(job, turns=(*job.turns, turn), basis=None)
    if not isinstance(step, AdjustStep):
        return job
    for place in job.sheet.fasteners(step.loosen):
        job = _with_fastener(job, place, replace(job.fastener(place), turned=seq))
    return disturb(job, seq, step.disturbs)
