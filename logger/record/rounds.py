"""How a job's adjustment went, for its record: slack and sides round by round, and the wear of the chain; pure."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from logger.advice.history import END, Seen, State, differences, pulls, rounds, slacks
from logger.advice.wear import Wear, wear_of
from logger.job.facts import Job
from logger.sheets.amounts import exact
from logger.sheets.sheet import MeasureStep
from logger.units import Quantity, show_number

from .adjusted import DrivePart, RoundPart, WearPart

_MM = 3
"""Decimals of a length worked out for the record; what was read stands beside it as received."""


def drive_part(job: Job) -> DrivePart | None:
    """Return the windows that the adjustment goes by; None where the sheet has no [drive]."""
    drive = job.sheet.drive
    slack = job.sheet.by_id.get(drive.slack) if drive is not None else None
    if drive is None or not isinstance(slack, MeasureStep):
        return None
    sides = job.sheet.by_id.get(drive.sides)
    low, high = slack.window or (None, None)
    return DrivePart(
        slack=slack.id,
        slack_title=slack.title,
        governs=slack.governs or slack.slots[0],
        low_mm=_mm(low),
        high_mm=_mm(high),
        aim_mm=_mm(slack.aim),
        sides=sides.id if isinstance(sides, MeasureStep) else "",
        sides_title=sides.title if isinstance(sides, MeasureStep) else "",
        agree_mm=_mm(sides.agree_within) if isinstance(sides, MeasureStep) else None,
    )


def _mm(amount: Quantity | None) -> str | None:
    return None if amount is None else show_number(exact(amount), _MM)


def rounds_of(job: Job, loosened: Sequence[int] = ()) -> tuple[RoundPart, ...]:
    """Return what was read in each round, seated and snug first, then with the nut tight.

    `loosened` are the numbers of all loosenings: what was read after one is snug again, though a pull came too early.
    """
    return tuple(_rounds(job, loosened))


def _rounds(job: Job, loosened: Sequence[int]) -> Iterator[RoundPart]:
    for after, each in enumerate(rounds(job)):
        early = each.pulled and each.snug.slack is None
        states = _after_early_pull(job, after, loosened) if early else (each.snug, each.tight)
        for tight, state in zip((False, True), states, strict=True):
            if state.slack is not None or state.difference is not None:
                yield _round(after, state, tight=tight)


def _after_early_pull(job: Job, after: int, loosened: Sequence[int]) -> tuple[State, State]:
    """What was read snug, and tight, in a round whose first pull came before its slack was read."""
    drive = job.sheet.drive
    slack, sides = (job.sheet.by_id.get(each) for each in (drive.slack, drive.sides)) if drive else (None, None)
    marks = (0, *(turn.seq for turn in job.turns), END)
    acts = pulls(job, slack.id) if slack is not None else ()

    def last(seen: Sequence[Seen], *, snug: bool) -> Seen | None:
        here = (each for each in reversed(seen) if marks[after] < each.first and each.last < marks[after + 1])
        return next((each for each in here if _is_snug(each, acts, (marks[after], *loosened)) is snug), None)

    lengths = slacks(job, slack, slack.governs or slack.slots[0]) if isinstance(slack, MeasureStep) else ()
    apart = differences(job, sides) if isinstance(sides, MeasureStep) else ()
    snug, tight = (State(last(lengths, snug=is_snug), last(apart, snug=is_snug)) for is_snug in (True, False))
    return snug, tight


def _is_snug(seen: Seen, acts: Sequence[int], loosened: Sequence[int]) -> bool:
    """Whether what came last before a reading was no pull but a loosening, or the turning."""
    return max((act for act in acts if act < seen.first), default=0) < max(
        (act for act in loosened if act < seen.first), default=0
    )


def _round(after: int, state: State, *, tight: bool) -> RoundPart:
    slack, apart = state.slack, state.difference
    return RoundPart(
        after=after,
        tight=tight,
        slack=_seen(slack),
        slack_u=_worth(slack),
        difference=_seen(apart),
        difference_u=_worth(apart),
    )


def _seen(seen: Seen | None) -> str | None:
    return None if seen is None else show_number(seen.mm, _MM)


def _worth(seen: Seen | None) -> str | None:
    return None if seen is None else f"{seen.u_mm:.3f}"


def wears(job: Job) -> tuple[WearPart, ...]:
    """Return what each wear check says of the chain."""
    steps = (step for step in job.sheet.step if isinstance(step, MeasureStep) and step.pitches is not None)
    return tuple(_wear(found) for step in steps if (found := wear_of(job, step)) is not None)


def _wear(found: Wear) -> WearPart:
    return WearPart(
        step=found.step,
        pitches=found.pitches,
        pitch_mm=show_number(found.pitch_mm, _MM),
        length_mm=show_number(found.length_mm, _MM),
        elongation=_share(found.share),
        limit=None if found.limit is None else _share(found.limit),
    )


def _share(share: Fraction) -> str:
    return show_number(share, 6)
