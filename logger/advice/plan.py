"""From the readings of a job to the advice at its adjust prompt, and from the next readings to how it came out."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from logger import events as ev
from logger.drive import Exact
from logger.job.facts import Job
from logger.job.job import before_loosening
from logger.job.measured import value_at
from logger.job.prompt import Prompt
from logger.sheets.sheet import DriveTable, MeasureStep, check_id

from .advice import Advice, AdviceInput, advise, predict
from .cameout import Comparison, came_out_of, every_outcome
from .ownpairs import Fitted, Shift, fitted_of, shift_of
from .startingpoint import carried_places, check_of, implausible, starting_point
from .wear import worn_chain
from .whynot import why_not
from .words import worn_out

REREAD = "take back what was read since, and measure both sides and the slack again before turning anything"
DIGITS = 3
"""Decimals of what was read, in mm; fewer of what was carried from an earlier round."""
STANDS = (
    "it was read again and stands: find out which of these it is before anything is turned; what is turned all the "
    "same, report in flats"
)


@dataclass(frozen=True, slots=True)
class Plan:
    """What is advised at an adjust prompt, with what it was worked out from."""

    given: AdviceInput | None
    advice: Advice | None
    before: ev.Figures
    expected: ev.Figures | None
    rounds: int
    """How many times the adjusters were turned before in this job."""
    came_out: Mapping[str, Comparison]
    """The last adjustment: expected beside measured, for `slack` and `difference`."""
    stop: str = ""
    """Why nothing is advised; empty when something is."""
    fitted: tuple[Fitted, ...] = ()
    """The advance per flat that this job's own readings show: to be looked at, used nowhere."""
    shift: Shift | None = None
    """What tightening the nut did the last time it was read before and after."""
    allowing: Advice | None = None
    """What would be advised if tightening did the same again; expected figures are those with the nut tight."""
    why_not: tuple[str, ...] = ()
    """After three rounds: why it may not be converging."""
    called: str = "slack"
    """What the sheet calls the slack."""
    carried: tuple[str, ...] = ()
    """Places whose slack was not read now, but carried from an earlier round to the present one."""


def plan(job: Job, prompt: Prompt) -> Plan | None:
    """Return the advice for an adjust prompt; None where the sheet has no geometry or nothing was read.

    Loosening disturbs the readings that called for the adjustment; it rests on them all the same.
    """
    drive = job.sheet.drive
    if prompt.kind not in ("loosen", "turn") or drive is None:
        return None
    job = before_loosening(job) or job
    given = starting_point(job, drive)
    if given is None:
        return None
    carried, named = carried_places(job, drive), given.called
    before = ev.Figures(
        slack={place: _text(value, carried.get(place, DIGITS)) for place, value in given.slack_mm.items()},
        difference=None if given.difference_mm is None else _text(given.difference_mm),
    )
    came_out = came_out_of(job, given)
    unfit = _unfit(job, drive)
    if unfit:
        return Plan(None, None, before, None, len(job.turns), came_out, unfit, called=named, carried=tuple(carried))
    stop = _surprised(job, drive, given, came_out)
    if stop:  # what is turned all the same is held against its forecast, so that it can end this
        return Plan(given, None, before, None, len(job.turns), came_out, stop, called=named, carried=tuple(carried))
    return replace(_advised(job, given, before, came_out), called=named, carried=tuple(carried))


def _advised(job: Job, given: AdviceInput, before: ev.Figures, came_out: Mapping[str, Comparison]) -> Plan:
    advice, shift, fitted = advise(given), shift_of(job, given), fitted_of(job, given)
    advice = replace(advice, notes=(*advice.notes, *_worn_all_the_same(job)))
    return Plan(
        given,
        advice,
        before,
        expected_after(given, advice.left, advice.right),
        len(job.turns),
        came_out,
        fitted=fitted,
        shift=shift,
        allowing=None if shift is None else advise(replace(given, nut=shift.nut)),
        why_not=why_not(job, given, advice, shift, fitted),
    )


# --- why nothing is advised -----------------------------------------------------------------------------------------


def _unfit(job: Job, drive: DriveTable) -> str:
    """Say why this machine, or what was read of it, is nothing to turn by; empty when it is."""
    worn = worn_chain(job)
    return worn_out(worn) if worn is not None else _doubtful(job, drive)


def _doubtful(job: Job, drive: DriveTable) -> str:
    """Say which value is too strange to turn anything by, although it was read twice; empty when none is.

    One that somebody overrode is left out of the advice instead; without the slack that governs there is none.
    """
    for each, slot in implausible(job, drive):
        check = check_of(each, slot)
        if check not in job.overrides:
            return f"{check_id(each.id, slot)} is not plausible: take it back and measure again, or override {check}"
        if each.id == drive.slack and slot == (each.governs or each.slots[0]):
            return f"{check_id(each.id, slot)} is not plausible, and nothing can be worked out from it"
    return ""


def _worn_all_the_same(job: Job) -> Iterator[str]:
    """Yield what stands against adjusting a chain whose wear check somebody let pass."""
    worn = worn_chain(replace(job, overrides={}))
    if worn is not None:
        yield f"{worn_out(worn)}; it was overridden"


def _surprised(job: Job, drive: DriveTable, given: AdviceInput, came_out: Mapping[str, Comparison]) -> str:
    """Say that the machine does not answer as it should; empty when it does, or when a slip was read again.

    What came out the other way round stops the advice until a turning that tells came out otherwise: read again, it
    is no slip of the hand, and advice would only make it worse.
    """
    other_way, again = _other_way(job, given), _read_again(job, drive)
    if not other_way and (again or not any(each.surprises for each in came_out.values())):
        return ""
    found = other_way or came_out
    causes = dict.fromkeys(cause for each in found.values() for cause in each.causes)
    return f"what was read is not what the turns should give: {'; '.join(causes)}; {STANDS if again else REREAD}"


def _other_way(job: Job, given: AdviceInput) -> Mapping[str, Comparison]:
    """Return the last turning that tells, if it came out the other way round; empty where it did not."""
    for found in every_outcome(job, given):
        if any(not each.may_advise for each in found.values()):
            return found
        if any(each.tells for each in found.values()):
            return {}
    return {}


def _read_again(job: Job, drive: DriveTable) -> bool:
    """Whether a surprise was looked at twice: the slack and both sides were measured again since the last turning."""
    return all(_twice(job, step, slot) for step in _steps(job, drive) for slot in _looked_at(step, drive))


def _looked_at(step: MeasureStep, drive: DriveTable) -> tuple[str, ...]:
    return (step.governs or step.slots[0],) if step.id == drive.slack else step.slots


def _twice(job: Job, step: MeasureStep, slot: str) -> bool:
    """Whether a place was read more than once since the last turning, and what was read last still stands."""
    attempts = job.attempts.get((step.id, slot), ())
    since = [taken for each in attempts for taken in each.taken if taken.seq > job.last_turned]
    return len(since) >= 2 * step.set_size and value_at(job, step, slot).verdict == "inside"


def _steps(job: Job, drive: DriveTable) -> tuple[MeasureStep, ...]:
    steps = (job.sheet.by_id.get(drive.slack), job.sheet.by_id.get(drive.sides))
    return tuple(step for step in steps if isinstance(step, MeasureStep))


# --- as text --------------------------------------------------------------------------------------------------------


def expected_after(given: AdviceInput, left: Exact, right: Exact) -> ev.Figures:
    """Return what these turns would give, as it goes on the trail; a place that would run taut is named so."""
    after = predict(given, left, right)
    return ev.Figures(
        slack={place: f"{value:.1f}" for place, value in after.expected_slack_mm.items() if value is not None},
        difference=None if given.difference_mm is None else f"{float(after.expected_difference_mm):.2f}",
        taut=tuple(place for place, value in after.expected_slack_mm.items() if value is None),
    )


def flats_text(flats: Fraction) -> str:
    """Flats as decimal text; half flats end in .5."""
    return str(Decimal(flats.numerator) / flats.denominator)


def _text(value: Decimal, digits: int = DIGITS) -> str:
    return str(value.quantize(Decimal(1).scaleb(-digits)))
