"""The fold: events in, the state of a job out. Live and replay both go through `apply`, and state is nothing else.

Rule of the house: an act (loosened, turned, a pull) makes everything it disturbs older than itself; nothing here
removes what happened, a withdrawn reading is marked and stays.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType
from typing import TypeVar

from . import events as ev
from .sheet import AdjustStep, ConfirmStep, MeasureStep, Sheet, TorqueStep, check_id

K = TypeVar("K")
V = TypeVar("V")
Place = tuple[str, str]
"""A step and a place or fastener of it; the second is empty where the step has only one."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One counted reading."""

    seq: int
    part: str
    value: Decimal
    text: str
    unit: str
    tool: str
    tool_kind: str
    source: str
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Attempt:
    """The readings that together make one value: repeats, or the halves of a difference."""

    number: int
    taken: tuple[Taken, ...]

    @property
    def live(self) -> tuple[Taken, ...]:
        """The readings that were not withdrawn."""
        return tuple(each for each in self.taken if not each.withdrawn)

    @property
    def since(self) -> int:
        """Sequence of the oldest live reading; an act after it makes the whole attempt stale."""
        return min((each.seq for each in self.live), default=0)


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull on one fastener; `peak` decides, `most` is the largest value seen at any instant."""

    seq: int
    peak: Decimal | None
    most: Decimal | None
    text: str
    unit: str
    tool: str
    asked: bool
    """Whether a prompt asked for this fastener."""
    invalid: str = ""
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Fastener:
    """What happened to one fastener of a torque step."""

    loosened: int = 0
    untouched: int = 0
    pulls: tuple[Pull, ...] = ()

    @property
    def pulled(self) -> int:
        """Sequence of the last pull, 0 before any."""
        return self.pulls[-1].seq if self.pulls else 0

    @property
    def is_loose(self) -> bool:
        """Loosened, and not pulled since."""
        return self.loosened > self.pulled


@dataclass(frozen=True, slots=True)
class Turn:
    """One turning of the adjusters, with what was expected of it."""

    seq: int
    step: str
    left: Decimal
    right: Decimal
    as_advised: bool
    expected: ev.Expected | None


@dataclass(frozen=True, slots=True)
class Override:
    """A check that a person let pass."""

    seq: int
    name: str
    note: str
    was: str


def _empty() -> Mapping[K, V]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Job:
    """Everything known of one job after its events so far."""

    id: str
    sheet: Sheet
    machine: str
    by: str
    simulated: bool
    opened_utc: str
    seq: int
    """Sequence of the last event folded in."""
    attempts: Mapping[Place, tuple[Attempt, ...]] = field(default_factory=_empty)
    fasteners: Mapping[Place, Fastener] = field(default_factory=_empty)
    confirmed: Mapping[str, int] = field(default_factory=_empty)
    notes: Mapping[str, tuple[int, str]] = field(default_factory=_empty)
    free_notes: tuple[tuple[int, str], ...] = ()
    disturbed: Mapping[str, int] = field(default_factory=_empty)
    """Sequence of the last act that disturbed each step."""
    turns: tuple[Turn, ...] = ()
    seated: Mapping[str, int] = field(default_factory=_empty)
    loosened: int = 0
    """Sequence of the last loosening of anything."""
    overrides: Mapping[str, Override] = field(default_factory=_empty)
    last_pulled: Place | None = None
    last_counted: int = 0
    """Sequence of the last reading or pull that counts and was not withdrawn: what `back` takes back."""
    closed: bool = False

    def fastener(self, place: Place) -> Fastener:
        """What happened to one fastener; a fresh one when nothing did."""
        return self.fasteners.get(place, Fastener())

    def turned(self, step: str) -> int:
        """Sequence of the last turning of an adjust step, 0 before any."""
        return max((turn.seq for turn in self.turns if turn.step == step), default=0)

    @property
    def last_turned(self) -> int:
        """Sequence of the last turning of anything, 0 before any."""
        return self.turns[-1].seq if self.turns else 0


def opened(record: ev.Record, sheet: Sheet) -> Job:
    """Begin a job from its first record and the sheet that record carries."""
    event = record.event
    assert isinstance(event, ev.JobOpened)
    return Job(record.job, sheet, event.machine, event.by, event.simulated, record.utc, record.seq)


def fold(job: Job, records: Iterable[ev.Record]) -> Job:
    """Apply records in order."""
    for record in records:
        job = apply(job, record)
    return job


def apply(job: Job, record: ev.Record) -> Job:
    """Return the job after one more event; pure, and total over every event there is."""
    seq, job = record.seq, replace(job, seq=record.seq)
    match record.event:
        case ev.ReadingTaken(answers=ev.Slot() as slot) as event:
            return _reading(job, seq, slot, event)
        case ev.PullTaken() as event:
            return _pull(job, seq, event)
        case ev.Confirmed(step=step):
            return replace(job, confirmed=_put(job.confirmed, step, seq), overrides=_drop(job.overrides, step))
        case ev.Untouched(step=step, place=place):
            fastener = replace(job.fastener((step, place)), untouched=seq)
            return replace(job, fasteners=_put(job.fasteners, (step, place), fastener))
        case ev.Noted(step="", text=text):
            return replace(job, free_notes=(*job.free_notes, (seq, text)))
        case ev.Noted(step=step, text=text):
            return replace(job, notes=_put(job.notes, step, (seq, text)), overrides=_drop(job.overrides, step))
        case ev.Loosened(fasteners=names):
            return _loosen(job, seq, names)
        case ev.Turned() as event:
            return _turn(job, seq, event)
        case ev.Seated(step=step):
            return replace(job, seated=_put(job.seated, step, seq))
        case ev.TakenBack(of=of):
            return _take_back(job, of)
        case ev.Overridden(check=check, name=name, note=note, was=was):
            return replace(job, overrides=_put(job.overrides, check, Override(seq, name, note, was)))
        case ev.JobClosed():
            return replace(job, closed=True)
        case _:
            return job


def _put(mapping: Mapping[K, V], key: K, value: V) -> Mapping[K, V]:
    return MappingProxyType({**mapping, key: value})


def _drop(mapping: Mapping[str, V], *keys: str) -> Mapping[str, V]:
    if not any(key in mapping for key in keys):
        return mapping
    return MappingProxyType({key: value for key, value in mapping.items() if key not in keys})


def disturb(job: Job, seq: int, steps: Iterable[str]) -> Job:
    """Make every step named older than `seq`, and end the overrides of its checks."""
    known = [step for step in steps if step in job.sheet.by_id]
    checks = [check for step in known for check in (step, *job.sheet.by_id[step].checks)]
    disturbed = MappingProxyType({**job.disturbed, **dict.fromkeys(known, seq)})
    return replace(job, disturbed=disturbed, overrides=_drop(job.overrides, *checks))


def _reading(job: Job, seq: int, slot: ev.Slot, event: ev.ReadingTaken) -> Job:
    step = job.sheet.by_id.get(slot.step)
    if not isinstance(step, MeasureStep):
        return job
    place = (slot.step, slot.place)
    taken = Taken(
        seq, slot.part, Decimal(event.value), event.value, event.unit, event.tool, event.tool_kind, event.source
    )
    attempts = job.attempts.get(place, ())
    if attempts and open_attempt(step, attempts[-1], job.disturbed.get(step.id, 0)):
        attempts = (*attempts[:-1], replace(attempts[-1], taken=(*attempts[-1].taken, taken)))
    else:
        attempts = (*attempts, Attempt(len(attempts) + 1, (taken,)))
    return replace(
        job,
        attempts=_put(job.attempts, place, attempts),
        overrides=_drop(job.overrides, check_id(*place), f"{step.id}.agreement"),
        last_counted=seq,
    )


def open_attempt(step: MeasureStep, attempt: Attempt, disturbed: int) -> bool:
    """Whether the next reading still belongs to this attempt: begun, not complete, and not disturbed since."""
    return 0 < len(attempt.live) < step.set_size and attempt.since > disturbed


def _pull(job: Job, seq: int, event: ev.PullTaken) -> Job:
    meant = event.answers or event.touches
    if event.direction == "anticlockwise":
        return _loosen(job, seq, (check_id(meant.step, meant.place),) if meant else ())
    if meant is None:
        return disturb(job, seq, [each for torque in job.sheet.torques for each in torque.disturbs])
    place = (meant.step, meant.place)
    peaks = [Decimal(text) for text in (event.own_peak, event.host_peak) if text is not None]
    samples = [Decimal(text) for _, text in event.trace]
    pull = Pull(
        seq,
        peaks[0] if peaks else None,
        max([*peaks, *samples], default=None),
        event.own_peak or event.host_peak or "",
        event.unit,
        event.tool,
        event.answers is not None and not event.set_aside,
        event.invalid,
    )
    before = job.fastener(place)
    job = replace(
        job,
        fasteners=_put(job.fasteners, place, replace(before, pulls=(*before.pulls, pull))),
        last_pulled=place,
        last_counted=seq if pull.asked else job.last_counted,
        overrides=_drop(job.overrides, check_id(*place)),
    )
    step = job.sheet.by_id.get(meant.step)
    return disturb(job, seq, step.disturbs) if isinstance(step, TorqueStep) else job


def _loosen(job: Job, seq: int, names: tuple[str, ...]) -> Job:
    job = replace(job, loosened=seq)
    for place in job.sheet.fasteners(names):
        fastener = replace(job.fastener(place), loosened=seq)
        job = replace(
            job, fasteners=_put(job.fasteners, place, fastener), overrides=_drop(job.overrides, check_id(*place))
        )
        step = job.sheet.by_id[place[0]]
        if isinstance(step, TorqueStep):
            job = disturb(job, seq, step.disturbs)
            job = disturb(job, seq, locks_of(job.sheet, step.id))
    return job


def locks_of(sheet: Sheet, torque: str) -> tuple[str, ...]:
    """The confirm steps that lock a torque step (pin, witness mark); loosening undoes them."""
    return tuple(step.id for step in sheet.step if isinstance(step, ConfirmStep) and torque in step.locks)


def _turn(job: Job, seq: int, event: ev.Turned) -> Job:
    advised = (event.advised_left, event.advised_right)
    turn = Turn(
        seq,
        event.step,
        Decimal(event.left),
        Decimal(event.right),
        None not in advised and (Decimal(event.left), Decimal(event.right)) == tuple(Decimal(a or 0) for a in advised),
        event.expected,
    )
    step = job.sheet.by_id.get(event.step)
    job = replace(job, turns=(*job.turns, turn))
    return disturb(job, seq, step.disturbs) if isinstance(step, AdjustStep) else job


def _take_back(job: Job, of: int) -> Job:
    """Mark a reading (with the other half of its difference) or a pull as withdrawn."""
    for place, attempts in job.attempts.items():
        for index, attempt in enumerate(attempts):
            if any(each.seq == of for each in attempt.taken):
                changed = (*attempts[:index], _without(job, place, attempt, of), *attempts[index + 1 :])
                job = replace(job, attempts=_put(job.attempts, place, changed))
                return replace(job, last_counted=_last_counted(job))
    for place, fastener in job.fasteners.items():
        if any(pull.seq == of for pull in fastener.pulls):
            pulls = tuple(replace(p, withdrawn=True) if p.seq == of else p for p in fastener.pulls)
            job = replace(job, fasteners=_put(job.fasteners, place, replace(fastener, pulls=pulls)))
            return replace(job, last_counted=_last_counted(job))
    return job


def _without(job: Job, place: Place, attempt: Attempt, of: int) -> Attempt:
    step = job.sheet.by_id[place[0]]
    halves = 2 if isinstance(step, MeasureStep) and step.takes == "difference" else 1
    index = next((i for i, each in enumerate(attempt.live) if each.seq == of), None)
    if index is None:
        return attempt
    first = index - index % halves
    gone = {each.seq for each in attempt.live[first : first + halves]}
    return replace(attempt, taken=tuple(replace(t, withdrawn=t.withdrawn or t.seq in gone) for t in attempt.taken))


def _last_counted(job: Job) -> int:
    readings = (t.seq for attempts in job.attempts.values() for a in attempts for t in a.live)
    pulls = (p.seq for f in job.fasteners.values() for p in f.pulls if p.asked and not p.withdrawn)
    return max((*readings, *pulls), default=0)
