"""What a job's own readings, in pairs, show of the adjuster's thread and of the nut; pure."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from logger.drive import Drive, Fit, Move, fit_advance
from logger.job.facts import Job, Turn

from .advice import AdviceInput, Nut
from .history import Figure, Round, Seen, rounds

# --- the thread -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fitted:
    """The effective advance per flat that this job's own readings show, beside the nominal one (mm)."""

    what: Figure
    """Which readings show it."""
    fit: Fit
    nominal_mm: Fraction

    @property
    def differs(self) -> bool:
        """Whether it differs by more than its expanded uncertainty."""
        return self.fit.differs(self.nominal_mm)


def fitted_of(job: Job, given: AdviceInput) -> tuple[Fitted, ...]:
    """Fit the advance per flat from the slacks and, apart, from the sides; only where enough was turned to tell."""
    nominal = given.drive.per_flat_mm
    fits = ((what, fit_advance(each)) for what, each in moves_of(job, given).items())
    return tuple(Fitted(what, fit, nominal) for what, fit in fits if fit is not None and fit.tells(nominal))


def moves_of(job: Job, given: AdviceInput) -> dict[Figure, tuple[Move, ...]]:
    """Return every turning that was read before and after, as the slack and as the sides show it."""
    return {"slack": tuple(_of_slack(job, given)), "difference": tuple(_of_sides(job, given))}


def _turnings(job: Job) -> Iterator[tuple[Turn, Round, Round]]:
    """Each turning between the rounds before and after it."""
    every = rounds(job)
    return zip(job.turns, every, every[1:], strict=False)


def _of_slack(job: Job, given: AdviceInput) -> Iterator[Move]:
    drive, last = given.drive, 0
    for turn, before, after in _turnings(job):
        old, new = before.before_a_turn().slack, after.snug.slack
        if old is None or new is None:
            continue
        flats = given.left_share * Fraction(turn.left) + (1 - given.left_share) * Fraction(turn.right)
        u_old, u_new = (drive.movement_u(each.mm, each.u_mm) for each in (old, new))
        yield Move(drive.movement(old.mm, new.mm), float(flats), u_old, u_new, joined=old.first == last)
        last = new.first


def _of_sides(job: Job, given: AdviceInput) -> Iterator[Move]:
    last = 0
    for turn, before, after in _turnings(job):
        old, new = before.before_a_turn().difference, after.snug.difference
        if old is None or new is None:
            continue
        moved = given.sense * float(new.mm - old.mm)
        flats = float(turn.left - turn.right)
        yield Move(moved, flats, old.u_mm, new.u_mm, joined=old.first == last)
        last = new.first


# --- the nut ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Shift:
    """What was read after the nut was tightened less what was read just before, nothing turned between (mm)."""

    slack_mm: float | None
    slack_u_mm: float
    difference_mm: float | None
    difference_u_mm: float
    nut: Nut

    @property
    def tells(self) -> bool:
        """Whether it is more than its expanded uncertainty."""
        slack = self.slack_mm is not None and abs(self.slack_mm) > 2 * self.slack_u_mm
        return slack or (self.difference_mm is not None and abs(self.difference_mm) > 2 * self.difference_u_mm)


def shift_of(job: Job, given: AdviceInput) -> Shift | None:
    """Return what the last tightening did that was read before and after; None where none was."""
    every = rounds(job)
    for each in reversed(every):
        found = _shift(each, given.drive, holds=every[-1].tight.slack is not None)
        if found is not None:
            return found
    return None


def _shift(each: Round, drive: Drive, *, holds: bool) -> Shift | None:
    slack = _pair(each.snug.slack, each.tight.slack)
    sides = _pair(each.snug.difference, each.tight.difference)
    if slack is None and sides is None:
        return None
    moved = 0.0 if slack is None else drive.movement(slack[0].mm, slack[1].mm)
    apart = Fraction(0) if sides is None else sides[1].mm - sides[0].mm
    return Shift(
        None if slack is None else float(slack[1].mm - slack[0].mm),
        0.0 if slack is None else math.hypot(slack[0].u_mm, slack[1].u_mm),
        None if sides is None else float(apart),
        0.0 if sides is None else math.hypot(sides[0].u_mm, sides[1].u_mm),
        Nut(movement_mm=moved, difference_mm=apart, holds=holds),
    )


def _pair(before: Seen | None, after: Seen | None) -> tuple[Seen, Seen] | None:
    return None if before is None or after is None else (before, after)
