"""From the readings of a job to the advice at its adjust prompt, and from the next readings to how it came out."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from . import events as ev
from .advice import Advice, AdviceInput, advise, predict
from .advicewords import worn_out
from .cameout import Comparison, came_out_of
from .drive import Exact
from .facts import Job
from .job import before_loosening
from .measured import value_at
from .ownpairs import Fitted, Shift, fitted_of, shift_of
from .prompt import Prompt
from .sheet import DriveTable, MeasureStep, check_id
from .startingpoint import starting_point
from .units import in_unit, position
from .wear import worn_chain
from .whynot import why_not

REREAD = "take the last reading back and measure both sides and the slack again before turning anything"


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
    before = ev.Figures(
        slack={place: _text(value) for place, value in given.slack_mm.items()},
        difference=None if given.difference_mm is None else _text(given.difference_mm),
    )
    came_out = came_out_of(job, given)
    stop = _stop(job, drive, came_out)
    if stop:
        return Plan(None, None, before, None, len(job.turns), came_out, stop)
    return _advised(job, given, before, came_out)


def _advised(job: Job, given: AdviceInput, before: ev.Figures, came_out: Mapping[str, Comparison]) -> Plan:
    advice, shift, fitted = advise(given), shift_of(job, given), fitted_of(job, given)
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


def _stop(job: Job, drive: DriveTable, came_out: Mapping[str, Comparison]) -> str:
    """Say why nothing is to be turned now; empty when something may be."""
    worn = worn_chain(job)
    if worn is not None:
        return worn_out(worn)
    doubt = _doubtful(job, drive)
    if doubt or not any(each.surprises for each in came_out.values()) or _read_again(job, drive):
        return doubt
    causes = dict.fromkeys(cause for each in came_out.values() for cause in each.causes)
    return f"what was read is not what the turns should give: {'; '.join(causes)}; {REREAD}"


def _doubtful(job: Job, drive: DriveTable) -> str:
    """Say which value is too strange to turn anything by, although it was read twice; empty when none is."""
    for step in (job.sheet.by_id.get(drive.slack), job.sheet.by_id.get(drive.sides)):
        if not isinstance(step, MeasureStep) or step.plausible is None:
            continue
        for slot in step.slots:
            value = value_at(job, step, slot)
            read = value.value if value.verdict == "inside" else None
            if read is not None and position(read, in_unit(step.plausible, value.unit)) != "inside":
                return f"{check_id(step.id, slot)} is not plausible: take it back and measure again, or override"
    return ""


def _read_again(job: Job, drive: DriveTable) -> bool:
    """Whether the surprise was looked at twice: a place was measured again since the last turning."""
    steps = {drive.slack, drive.sides}
    return any(
        sum(attempt.taken[0].seq > job.last_turned for attempt in attempts) > 1
        for place, attempts in job.attempts.items()
        if place[0] in steps
    )


# --- as text --------------------------------------------------------------------------------------------------------


def expected_after(given: AdviceInput, left: Exact, right: Exact) -> ev.Figures:
    """Return what these turns would give, as it goes on the trail; a place that would run taut is left out."""
    after = predict(given, left, right)
    return ev.Figures(
        slack={place: f"{value:.1f}" for place, value in after.expected_slack_mm.items() if value is not None},
        difference=None if given.difference_mm is None else f"{float(after.expected_difference_mm):.2f}",
    )


def flats_text(flats: Fraction) -> str:
    """Flats as decimal text; half flats end in .5."""
    return format(_decimal(flats), "f")


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def _text(value: Decimal) -> str:
    return str(value.quantize(Decimal("0.001")))
