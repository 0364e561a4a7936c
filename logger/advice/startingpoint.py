"""What the advice starts from: a job's readings by place, what they are worth, and what its sheet asks for; pure."""

import math
from collections.abc import Mapping
from fractions import Fraction

from logger.job.facts import Job
from logger.job.judged import limit_in
from logger.job.measured import value_at
from logger.job.weighed import side_offset
from logger.sheets.drive import drive_of
from logger.sheets.sheet import DriveTable, MeasureStep, check_id
from logger.units import as_decimal, factor, in_unit, position

from .advice import AdviceInput
from .history import UNSTATED_U_MM, Figure, Seen, differences, slacks


def starting_point(job: Job, drive: DriveTable) -> AdviceInput | None:
    """Return what the advice starts from, with what the readings are worth; None without the governing slack."""
    slack = _slack_by_place(job, drive)
    return _given(job, drive, slack, _difference(job, drive)) if slack else None


def carried_places(job: Job, drive: DriveTable) -> dict[str, int]:
    """Return the places whose slack is carried from an earlier round, each with the decimals it is good for in mm."""
    step = job.sheet.by_id[drive.slack]
    assert isinstance(step, MeasureStep)
    governing = value_at(job, step, step.governs or step.slots[0])
    digits = min(governing.digits, 2) if governing.unit == "mm" else 1
    found = _slack_by_place(job, drive)
    return {slot: digits for slot in step.slots if slot in found and _fresh(job, step, slot) is None}


def implausible(job: Job, drive: DriveTable) -> tuple[tuple[MeasureStep, str], ...]:
    """Return the places whose value stands, read twice, although it is not plausible."""
    steps = (job.sheet.by_id.get(drive.slack), job.sheet.by_id.get(drive.sides))
    return tuple(
        (step, slot)
        for step in steps
        if isinstance(step, MeasureStep)
        for slot in step.slots
        if _is_implausible(job, step, slot)
    )


def _is_implausible(job: Job, step: MeasureStep, slot: str) -> bool:
    value = value_at(job, step, slot)
    if step.plausible is None or value.value is None or value.verdict != "inside":
        return False
    return position(value.value, in_unit(step.plausible, value.unit)) != "inside"


def check_of(step: MeasureStep, slot: str) -> str:
    """Return the check by which a place passes: its own, or of a pair without a window the agreement."""
    own = check_id(step.id, slot)
    return own if own in step.checks else f"{step.id}.agreement"


def _is_left_out(job: Job, step: MeasureStep, slot: str) -> bool:
    """Whether a value that is not plausible was let pass: nothing is worked out from it."""
    return check_of(step, slot) in job.overrides and _is_implausible(job, step, slot)


def _given(job: Job, drive: DriveTable, slack: Mapping[str, Fraction], difference: Fraction | None) -> AdviceInput:
    slack_step, sides = job.sheet.by_id[drive.slack], job.sheet.by_id.get(drive.sides)
    assert isinstance(slack_step, MeasureStep)
    pair = sides if isinstance(sides, MeasureStep) else None
    last, governing = job.turns[-1] if job.turns else None, slack_step.governs or slack_step.slots[0]
    offset, offset_u = _side_offset(job, pair)
    slack_u = _last_u(slacks(job, slack_step, governing), "slack")
    apart_u = math.hypot(_last_u(differences(job, pair), "difference"), offset_u) if pair else 0.0
    window = _window(job, slack_step, slack_u)
    return AdviceInput(
        drive=drive_of(drive),
        slack_mm={place: as_decimal(value) for place, value in slack.items()},
        governing=governing,
        aim_mm=limit_in(slack_step.aim, "mm") if slack_step.aim else sum(window or (), Fraction(0)) / 2,
        window_mm=window,
        difference_mm=None if difference is None else as_decimal(difference),
        grows="forward" if pair is not None and pair.grows == "forward" else "rearward",
        offset_mm=offset,
        agree_within_mm=_agreement(job, pair, apart_u) if pair else None,
        adjuster=drive.adjuster,
        tightens=drive.tighten,
        last_turns=None if last is None else (Fraction(last.left), Fraction(last.right)),
        slack_u_mm=slack_u,
        difference_u_mm=apart_u,
        called=called(slack_step),
    )


def called(step: MeasureStep) -> str:
    """What a sheet calls the slack: "slack" where its title says so, else the title up to its first comma."""
    title = step.title.partition(",")[0]
    if "slack" in title.lower():
        return "slack"
    return title[:1].lower() + title[1:] if title[1:2].islower() else title


def _window(job: Job, step: MeasureStep, u_mm: float) -> tuple[Fraction, Fraction] | None:
    """The window in mm; of a guarded decision what is left of it, since only that passes."""
    if step.window is None:
        return None
    low, high = (limit_in(limit, "mm") for limit in step.window)
    guard = _guard(job, step, u_mm)
    near = low + (guard if step.guarded != "high" else 0), high - (guard if step.guarded != "low" else 0)
    return near if near[0] <= near[1] else (low, high)


def _agreement(job: Job, pair: MeasureStep, u_mm: float) -> Fraction | None:
    if pair.agree_within is None:
        return None
    within = limit_in(pair.agree_within, "mm")
    left = within - _guard(job, pair, u_mm)
    return left if left > 0 else within


def _guard(job: Job, step: MeasureStep, u_mm: float) -> Fraction:
    if job.sheet.decision == "simple":
        return Fraction(0)
    return limit_in(step.guard, "mm") if step.guard is not None else Fraction(2 * u_mm).limit_denominator(10**6)


def _last_u(seen: tuple[Seen, ...], what: Figure) -> float:
    return seen[-1].u_mm if seen else UNSTATED_U_MM[what]


def _side_offset(job: Job, pair: MeasureStep | None) -> tuple[Fraction, float]:
    """The machine's proven left minus right when its axle is square, in mm, and its standard uncertainty."""
    found = None if pair is None else side_offset(job, pair, "mm")
    return (Fraction(0), 0.0) if found is None else (found[0], found[1].u)


def _slack_by_place(job: Job, drive: DriveTable) -> dict[str, Fraction]:
    """Slack in mm by place; a place not read again keeps its distance (as excess length) from the governing one."""
    step = job.sheet.by_id[drive.slack]
    assert isinstance(step, MeasureStep)
    governing = step.governs or step.slots[0]
    now = {slot: _fresh(job, step, slot) for slot in step.slots}
    fixed = now.get(governing)
    if fixed is None:
        return {}
    found = {governing: fixed}
    for slot in step.slots:
        value = now[slot]
        if slot != governing and _is_left_out(job, step, slot):
            continue
        found |= {slot: value} if value is not None else _carried(job, step, (governing, slot), fixed, drive)
    return found


def _fresh(job: Job, step: MeasureStep, slot: str) -> Fraction | None:
    value = value_at(job, step, slot)
    if value.verdict != "inside" or value.value is None:
        return None
    return max(Fraction(0), value.value * factor(value.unit, "mm"))


def _carried(
    job: Job, step: MeasureStep, pair: tuple[str, str], fixed: Fraction, table: DriveTable
) -> dict[str, Fraction]:
    """Carry the last known distance between two places (uneven chain, eccentric sprockets) to the present slack.

    Both must have been read between the same two turnings, and a value that is not plausible is no ground for advice.
    """
    governing, other = ({job.turns_before(seen.first): seen.mm for seen in slacks(job, step, slot)} for slot in pair)
    both = [each for each in other if each in governing]
    if not both:
        return {}
    drive, last = drive_of(table), max(both)
    excess = drive.excess(fixed) + drive.excess(other[last]) - drive.excess(governing[last])
    return {pair[1]: Fraction(drive.slack(max(excess, 0.0))).limit_denominator(1000)}


def _difference(job: Job, drive: DriveTable) -> Fraction | None:
    step = job.sheet.by_id.get(drive.sides)
    if not isinstance(step, MeasureStep):
        return None
    left, right = (value_at(job, step, slot) for slot in ("left", "right"))
    if left.value is None or right.value is None or (left.verdict, right.verdict) != ("inside", "inside"):
        return None
    if any(_is_left_out(job, step, slot) for slot in ("left", "right")):
        return None
    return left.value * factor(left.unit, "mm") - right.value * factor(right.unit, "mm")
