"""What was read when in a job, between its turnings and pulls: the ground for comparing, fitting and allowing; pure."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from logger.job.facts import Job
from logger.job.weighed import budget_of, is_whole, mean_of, pair_budget, tools_of, values_of
from logger.metrology.uncertainty import Budget
from logger.sheets.sheet import DriveTable, MeasureStep
from logger.units import Limits, factor, in_unit, position

Figure = Literal["slack", "difference"]

UNSTATED_U_MM: dict[Figure, float] = {"slack": 2.0, "difference": 0.2}
"""Standard uncertainties (mm) where the sheet states no method_u: common practice, no source."""
END = 10**12
"""A sequence after every event."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One whole plausible value of the job, in mm, with the events it rests on."""

    first: int
    last: int
    mm: Fraction
    u_mm: float


# --- what was read --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Set:
    """One whole plausible set of readings with its worth, in the unit it was read in."""

    first: int
    last: int
    value: Fraction
    unit: str
    budget: Budget
    tools: frozenset[str]


def _sets(job: Job, step: MeasureStep, slot: str) -> Iterator[_Set]:
    for attempt in job.attempts.get((step.id, slot), ()):
        live = attempt.live
        if not live or not is_whole(step, live) or len(attempt.units) != 1:
            continue
        (unit,) = attempt.units
        value = mean_of(step, live)
        limits = Limits(Fraction(0), None) if step.plausible is None else in_unit(step.plausible, unit)
        if all(position(each, limits) == "inside" for each in values_of(step, live)):
            yield _Set(attempt.since, live[-1].seq, value, unit, budget_of(job, step, live), tools_of(live))


def slacks(job: Job, step: MeasureStep, slot: str) -> tuple[Seen, ...]:
    """Return the whole plausible values of one place, oldest first."""
    return tuple(
        Seen(each.first, each.last, each.value * (to_mm := factor(each.unit, "mm")), _worth(step, each.budget, to_mm))
        for each in _sets(job, step, slot)
    )


def _worth(step: MeasureStep, budget: Budget, to_mm: Fraction, what: Figure = "slack") -> float:
    return UNSTATED_U_MM[what] if step.method_u is None else budget.u * float(to_mm)


def differences(job: Job, step: MeasureStep) -> tuple[Seen, ...]:
    """Return left minus right for each left and right read next to each other, nothing turned or pulled between."""
    read = sorted(
        ((each, slot) for slot in ("left", "right") for each in _sets(job, step, slot)), key=lambda one: one[0].first
    )
    found: list[Seen] = []
    held: dict[str, _Set] = {}
    for each, slot in read:
        held[slot] = each
        ends = [one.first for one in held.values()]
        if len({one.unit for one in held.values()}) == 1 < len(held) and not _acted(job, step.id, *sorted(ends)):
            found.append(_apart(step, held["left"], held["right"]))
    return tuple(found)


def _apart(step: MeasureStep, left: _Set, right: _Set) -> Seen:
    to_mm = factor(left.unit, "mm")
    same = len(left.tools | right.tools) == 1
    worth = pair_budget(left.budget, right.budget, same_tool=same, names=("left", "right"))
    apart, ends = (left.value - right.value) * to_mm, (left.first, right.first)
    return Seen(min(ends), max(ends), apart, _worth(step, worth, to_mm, "difference"))


# --- what was done between ------------------------------------------------------------------------------------------


def pulls(job: Job, step: str) -> tuple[int, ...]:
    """Return the sequences of all pulls that disturb a measure step, in order: a pull happened even if withdrawn."""
    return tuple(
        sorted(
            pull.seq
            for torque in job.sheet.torques
            if step in torque.disturbs
            for place in torque.slots
            for pull in job.fastener((torque.id, place)).pulls
        )
    )


def _acted(job: Job, step: str, low: int, high: int) -> bool:
    acts = (*(turn.seq for turn in job.turns), *pulls(job, step))
    return any(low < act < high for act in acts)


@dataclass(frozen=True, slots=True)
class State:
    """The machine as it was read between two acts."""

    slack: Seen | None
    difference: Seen | None


@dataclass(frozen=True, slots=True)
class Round:
    """What was read from one turning to the next: seated and snug, and after the nut was tightened."""

    snug: State
    tight: State
    pulled: bool

    def before_a_turn(self) -> State:
        """Return what the next turning starts from: seated where it was read so, since loosening brings that back."""
        return State(self.snug.slack or self.tight.slack, self.snug.difference or self.tight.difference)


def rounds(job: Job) -> tuple[Round, ...]:
    """Return the job's rounds: as found, then one for each turning; empty where the sheet has no [drive]."""
    drive = job.sheet.drive
    if drive is None:
        return ()
    slack, apart = _slack_of(job, drive), _apart_of(job, drive)
    acts, marks = pulls(job, drive.slack), (0, *(turn.seq for turn in job.turns), END)
    found = []
    for low, high in pairwise(marks):
        here = [act for act in acts if low < act < high]
        first, last = (here[0], here[-1]) if here else (high, high)
        snug = State(_last(slack, low, first), _last(apart, low, first))
        found.append(Round(snug, State(_last(slack, last, high), _last(apart, last, high)), bool(here)))
    return tuple(found)


def _slack_of(job: Job, drive: DriveTable) -> tuple[Seen, ...]:
    step = job.sheet.by_id[drive.slack]
    return slacks(job, step, step.governs or step.slots[0]) if isinstance(step, MeasureStep) else ()


def _apart_of(job: Job, drive: DriveTable) -> tuple[Seen, ...]:
    step = job.sheet.by_id.get(drive.sides)
    return differences(job, step) if isinstance(step, MeasureStep) else ()


def _last(seen: tuple[Seen, ...], low: int, high: int) -> Seen | None:
    return next((each for each in reversed(seen) if low < each.first and each.last < high), None)
