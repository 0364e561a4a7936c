"""After three rounds: why an adjustment may not be converging, from what the job's own readings show; pure."""

import math
from collections.abc import Iterator

from logger.drive import Move
from logger.job.facts import Job

from .advice import Advice, AdviceInput
from .history import Figure
from .ownpairs import Fitted, Shift, moves_of

ROUNDS = 3
"""After so many turnings somebody who goes on should know why the first ones did not do: ours."""
UNKNOWN = "the readings of this job show no cause: have somebody else read and turn one round"


def why_not(
    job: Job, given: AdviceInput, advice: Advice, shift: Shift | None, fitted: tuple[Fitted, ...]
) -> tuple[str, ...]:
    """Return why it may not be converging, each as a sentence's beginning; nothing before the third round."""
    if len(job.turns) < ROUNDS:
        return ()
    found = (
        *_too_fine(given, advice),
        *_scatter(given),
        *_tight_spot(given),
        *_seating(moves_of(job, given), given, fitted),
        *_nut(shift),
        *_thread(fitted),
    )
    return found or (UNKNOWN,)


def _too_fine(given: AdviceInput, advice: Advice) -> Iterator[str]:
    """The aim is finer than a flat can reach."""
    flat = float(given.drive.per_flat_mm)
    if not advice.fits:
        yield "no whole or half flat brings everything in: the aim is finer than a flat can reach"
    elif given.window_mm is not None:
        low, high = given.window_mm
        if given.drive.movement(high, low) < flat / 2:
            yield f"half a flat on both sides steps over the whole window: a flat moves its side {flat:.3f} mm"
    if given.agree_within_mm is not None and given.agree_within_mm < given.drive.per_flat_mm / 4:
        yield f"the sides are to agree more finely than half a flat can bring them: a flat is {flat:.3f} mm"


def _scatter(given: AdviceInput) -> Iterator[str]:
    """The readings themselves are no finer than what is asked for."""
    if given.window_mm is not None and 4 * given.slack_u_mm > float(given.window_mm[1] - given.window_mm[0]):
        yield f"the {given.called} is only read to ± {2 * given.slack_u_mm:.1f} mm, which is wider than the window"
    if given.agree_within_mm is not None and 2 * given.difference_u_mm > float(given.agree_within_mm):
        yield f"left minus right is only read to ± {2 * given.difference_u_mm:.2f} mm, wider than what is to agree"


def _tight_spot(given: AdviceInput) -> Iterator[str]:
    """Another place is tighter than the one that steers."""
    governing = float(given.slack_mm[given.governing])
    for place, slack in given.slack_mm.items():
        if governing - float(slack) > 2 * math.sqrt(2) * given.slack_u_mm:
            yield (
                f"{place} has {governing - float(slack):.1f} mm less {given.called} than {given.governing}: "
                "the tightest spot is not the one marked; find it again"
            )


def _seating(moves: dict[Figure, tuple[Move, ...]], given: AdviceInput, fitted: tuple[Fitted, ...]) -> Iterator[str]:
    """The axle did not come to rest where its adjusters put it, now one way and now the other."""
    thread = {each.what for each in fitted if each.differs}
    every = [move for what, each in moves.items() if what not in thread for move in each]
    flat = float(given.drive.per_flat_mm)
    missed = sum(abs(move.mm - move.flats * flat) > 2 * math.hypot(move.u_before, move.u_after) for move in every)
    if missed:
        yield (
            f"{missed} of {len(every)} changes were not what the flats should give, by more than the readings scatter: "
            "seat it against both adjusters each time, and count the flats aloud"
        )


def _nut(shift: Shift | None) -> Iterator[str]:
    if shift is not None and shift.tells:
        yield "tightening the nut pulls the axle: allow for it, or snug the nut harder before measuring"


def _thread(fitted: tuple[Fitted, ...]) -> Iterator[str]:
    for each in fitted:
        if each.differs and each.fit.per_flat_mm < 0:
            yield "the flats move their side the other way round here: the sides, the gauge or the turns are swapped"
        elif each.differs:
            yield (
                f"a flat moves its side {each.fit.per_flat_mm:.3f} mm here, not {float(each.nominal_mm):.3f} mm: "
                "look at the thread and at the flats per turn"
            )
