"""From the readings of a job to the advice at its adjust prompt, and from the next readings to how it came out."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from . import events as ev
from .advice import Advice, AdviceInput, Comparison, advise, compare, predict
from .drive import Exact
from .facts import Job
from .job import before_loosening
from .prompt import Prompt
from .rules import limit_in, mean_of, value_at
from .sheet import DriveTable, MeasureStep, check_id
from .sheetdrive import drive_of
from .units import Limits, factor, in_unit, position

STRAYS_MM = {"slack": 4.0, "difference": 0.4}
"""Until a sheet states better, a forecast further off than this (mm) is worth a word: common practice, no source."""
FAR_OFF = 4
"""A forecast missed by more than this many times the above is not advised on until it was read again: ours."""

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


def plan(job: Job, prompt: Prompt) -> Plan | None:
    """Return the advice for an adjust prompt; None where the sheet has no geometry or nothing was read.

    Loosening disturbs the readings that called for the adjustment; it rests on them all the same.
    """
    drive = job.sheet.drive
    if prompt.kind not in ("loosen", "turn") or drive is None:
        return None
    job = before_loosening(job) or job
    slack = _slack_by_place(job, drive)
    if not slack:
        return None
    difference = _difference(job, drive)
    before = ev.Figures(
        slack={place: _text(value) for place, value in slack.items()},
        difference=None if difference is None else _text(difference),
    )
    came_out = came_out_of(job, before)
    rounds = len(job.turns)
    stop = _doubtful(job, drive)
    if not stop and any(_surprises(what, each) for what, each in came_out.items()) and not _read_again(job, drive):
        causes = "; ".join(cause for each in came_out.values() for cause in each.causes)
        stop = f"what was read is not what the turns should give: {causes}; {REREAD}"
    if stop:
        return Plan(None, None, before, None, rounds, came_out, stop)
    given = _given(job, drive, slack, difference)
    advice = advise(given)
    return Plan(given, advice, before, expected_after(given, advice.left, advice.right), rounds, came_out)


def _given(job: Job, drive: DriveTable, slack: Mapping[str, Fraction], difference: Fraction | None) -> AdviceInput:
    slack_step, sides = job.sheet.by_id[drive.slack], job.sheet.by_id.get(drive.sides)
    assert isinstance(slack_step, MeasureStep)
    window = slack_step.window and (limit_in(slack_step.window[0], "mm"), limit_in(slack_step.window[1], "mm"))
    aim = limit_in(slack_step.aim, "mm") if slack_step.aim else sum(window or (), Fraction(0)) / 2
    pair = sides if isinstance(sides, MeasureStep) else None
    last = job.turns[-1] if job.turns else None
    return AdviceInput(
        drive=drive_of(drive),
        slack_mm={place: _decimal(value) for place, value in slack.items()},
        governing=slack_step.governs or slack_step.slots[0],
        aim_mm=aim,
        window_mm=window or None,
        difference_mm=None if difference is None else _decimal(difference),
        grows="forward" if pair is not None and pair.grows == "forward" else "rearward",
        agree_within_mm=limit_in(pair.agree_within, "mm") if pair and pair.agree_within else None,
        adjuster=drive.adjuster,
        last_turns=None if last is None else (Fraction(last.left), Fraction(last.right)),
    )


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
    governing, other = (_sets(job, step, slot) for slot in pair)
    rounds = [each for each in other if each in governing]
    if not rounds:
        return {}
    drive, last = drive_of(table), max(rounds)
    excess = drive.excess(fixed) + drive.excess(other[last]) - drive.excess(governing[last])
    return {pair[1]: Fraction(drive.slack(max(excess, 0.0))).limit_denominator(1000)}


def _sets(job: Job, step: MeasureStep, slot: str) -> dict[int, Fraction]:
    """Return the last whole plausible value of a place, in mm, for each number of turnings before it."""
    found: dict[int, Fraction] = {}
    for attempt in job.attempts.get((step.id, slot), ()):
        if len(attempt.live) != step.set_size or len(attempt.units) != 1:
            continue
        (unit,) = attempt.units
        value = mean_of(step, attempt.live)
        limits = Limits(Fraction(0), None) if step.plausible is None else in_unit(step.plausible, unit)
        if position(value, limits) == "inside":
            found[job.turns_before(attempt.since)] = value * factor(unit, "mm")
    return found


def _difference(job: Job, drive: DriveTable) -> Fraction | None:
    step = job.sheet.by_id.get(drive.sides)
    if not isinstance(step, MeasureStep):
        return None
    left, right = (value_at(job, step, slot) for slot in ("left", "right"))
    if left.value is None or right.value is None or (left.verdict, right.verdict) != ("inside", "inside"):
        return None
    return left.value * factor(left.unit, "mm") - right.value * factor(right.unit, "mm")


def came_out_of(job: Job, now: ev.Figures) -> dict[str, Comparison]:
    """Hold what was expected of the last adjustment beside what is read now."""
    turn = job.turns[-1] if job.turns else None
    if turn is None or turn.expected is None or turn.before is None:
        return {}
    found: dict[str, Comparison] = {}
    for place in now.slack:
        if place in turn.expected.slack and place in turn.before.slack:
            found["slack"] = _compared("slack", turn.before.slack[place], turn.expected.slack[place], now.slack[place])
            break
    texts = (turn.before.difference, turn.expected.difference, now.difference)
    if None not in texts:
        found["difference"] = _compared("difference", *(text or "0" for text in texts))
    return found


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


def _surprises(what: str, came_out: Comparison) -> bool:
    """Whether the machine answered the other way round, or so far off that a slip of the hand is the likelier cause."""
    return not came_out.may_advise or abs(came_out.off_mm) > FAR_OFF * STRAYS_MM[what]


def _read_again(job: Job, drive: DriveTable) -> bool:
    """Whether the surprise was looked at twice: a place was measured again since the last turning."""
    steps = {drive.slack, drive.sides}
    return any(
        sum(attempt.taken[0].seq > job.last_turned for attempt in attempts) > 1
        for place, attempts in job.attempts.items()
        if place[0] in steps
    )


def _compared(what: str, before: str, expected: str, measured: str) -> Comparison:
    return compare(Decimal(before), Fraction(expected), Decimal(measured), STRAYS_MM[what] / 2)


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


def _text(value: Fraction) -> str:
    return str(_decimal(value).quantize(Decimal("0.001")))
