"""Doubts that must be settled before a value is judged, and what is worth a warning though it changes no verdict.

Each doubt is one sentence that says what is wrong and what to do; a second attempt, another tool or an override
settles it.
"""

from decimal import Decimal
from fractions import Fraction
from itertools import combinations

from logger.metrology.outlook import resolution_fitness
from logger.sheets.sheet import MeasureStep
from logger.units import Limits, factor, in_unit, position

from .facts import Attempt, Job, Place, Taken
from .judged import limit_in
from .weighed import is_whole, mean_of, tools_of, values_of

LOW_BATTERY = 15
"""A battery at this many percent or less is worth a warning: ours."""
EMPTY_BATTERY = 5
"""At this many percent or less a reading is not trusted: ours."""

_INCH = Fraction(254, 10)


def doubt_of(job: Job, step: MeasureStep, slot: str, attempt: Attempt) -> str:
    """Return why a whole attempt in one unit gives no verdict yet, with what to do; empty when it can be judged."""
    return (
        _suspect(job, attempt)
        or _implausible(job, step, slot, attempt)
        or _changed_tool(job, step, slot, attempt)
        or _battery(attempt)
        or _overdue(job, attempt)
    )


def warnings_of(job: Job, attempt: Attempt) -> tuple[str, ...]:
    """Return what should be known of the tools of an attempt."""
    low = {each.tool: each.battery for each in attempt.live if each.battery is not None}
    batteries = (
        f"the battery of {tool} is at {battery} %: change it soon"
        for tool, battery in sorted(low.items())
        if EMPTY_BATTERY < battery <= LOW_BATTERY
    )
    return (*batteries, *_without_zero_check(job, attempt))


def resolution_doubt(step: MeasureStep, resolution: Fraction, limits: Limits, unit: str) -> tuple[str, str]:
    """Hold a resolution against a window, both in `unit`: a doubt (above a quarter) and a warning (above a tenth)."""
    fitness = resolution_fitness(resolution, limits)
    if fitness == "fit":
        return "", ""
    steps = f"it reads in steps of {float(resolution):g} {unit}"
    if fitness == "coarse" or step.allow_coarse:
        share = "a tenth" if fitness == "coarse" else "a quarter"
        return "", f"{steps}, more than {share} of the window: a finer tool would be better"
    return f"{steps}, more than a quarter of the window: take it with a finer tool", ""


# --- tools ----------------------------------------------------------------------------------------------------------


def _suspect(job: Job, attempt: Attempt) -> str:
    tool = next((each.tool for each in attempt.live if each.seq in job.suspect), "")
    return f"a later zero check of {tool} failed: take it again" if tool else ""


def _battery(attempt: Attempt) -> str:
    for each in attempt.live:
        if each.battery is not None and each.battery <= EMPTY_BATTERY:
            return f"the battery of {each.tool} was at {each.battery} %: change it, then take it again"
    return ""


def _overdue(job: Job, attempt: Attempt) -> str:
    for tool in sorted(tools_of(attempt.live)):
        due = job.tools[tool].due if tool in job.tools else None
        if due is not None and due < job.opened_utc[: len("YYYY-MM-DD")]:
            return f"the calibration of {tool} was due on {due}: take it with another tool, or override with a note"
    return ""


def _without_zero_check(job: Job, attempt: Attempt) -> tuple[str, ...]:
    """Name tools that the sheet has a zero check for and that were never checked in this job."""
    kinds = {kind for step in job.sheet.zeros for kind in step.tools}
    checked = {
        each.tool for step in job.sheet.zeros for found in job.attempts.get((step.id, ""), ()) for each in found.live
    }
    bare = {each.tool for each in attempt.live if each.tool_kind in kinds and each.tool not in checked}
    return tuple(f"no zero check of {tool} yet" for tool in sorted(bare))


# --- unit or mode changed in mid-job --------------------------------------------------------------------------------


def _changed_tool(job: Job, step: MeasureStep, slot: str, attempt: Attempt) -> str:
    """Doubt the first attempt after a tool's unit or mode changed, until a second one there bears it out.

    What a person typed carries the unit that they wrote, and going back to how the tool began is no change.
    """
    for tool in sorted({each.tool for each in attempt.live if each.source != "typed"}):
        mine = [each for each in attempt.live if each.tool == tool]
        if any(not _same(mine[0], each) for each in mine):
            return f"{tool} changed its mode within one value: take it again"
        seen = _history(job, tool)
        if not seen or seen[0][1].seq > mine[0].seq or _same(seen[0][1], mine[0]):
            continue
        last_other = max(each.seq for _, each in seen if not _same(each, mine[0]) and each.seq < mine[0].seq)
        where = next((place for place, each in seen if each.seq > last_other), None)
        if where == (step.id, slot) and not _borne_out(job, step, slot, mine[0], last_other):
            return f"{tool} changed from {_how(seen[0][1])} to {_how(mine[0])}: check its setting, then take it again"
    return ""


def _history(job: Job, tool: str) -> list[tuple[Place, Taken]]:
    """Every plausible reading of a tool at a measure step that was not taken back, in order."""
    found = [
        (place, each)
        for place, attempts in job.attempts.items()
        if isinstance(step := job.sheet.by_id[place[0]], MeasureStep)
        for attempt in attempts
        if len(attempt.units) != 1 or _outside(step, attempt) is None
        for each in attempt.live
        if each.tool == tool
    ]
    return sorted(found, key=lambda entry: entry[1].seq)


def _same(one: Taken, other: Taken) -> bool:
    modes = {one.mode, other.mode} - {""}
    return one.unit == other.unit and len(modes) < 2


def _how(taken: Taken) -> str:
    return f"{taken.unit} ({taken.mode})" if taken.mode else taken.unit


def _borne_out(job: Job, step: MeasureStep, slot: str, mine: Taken, since: int) -> bool:
    """Whether two whole attempts at this place, since the change and as the tool is set now, are alike."""
    after = [
        each
        for each in job.attempts.get((step.id, slot), ())
        if each.live
        and each.since > since
        and is_whole(step, each.live)
        and all(taken.tool == mine.tool and _same(taken, mine) for taken in each.live)
    ]
    return any(_alike(step, one, other) for one, other in combinations(after, 2))


# --- plausible ------------------------------------------------------------------------------------------------------


def _implausible(job: Job, step: MeasureStep, slot: str, attempt: Attempt) -> str:
    found = _outside(step, attempt)
    if found is None or step.plausible is None:
        return ""
    if _one_sided(step, attempt):
        disturbed = job.disturbed.get(step.id, 0)
        earlier = (each for each in job.attempts[(step.id, slot)] if each is not attempt and each.since > disturbed)
        if any(_believes(job, step, attempt, each) for each in earlier):
            return ""
    (unit,) = attempt.units
    said = f"{found[0]} {unit} is not plausible here ({step.plausible[0]} to {step.plausible[1]})"
    other = _looks_like(step, attempt, found[0])
    if other:
        return f"{said}; it looks like {other}: check the unit of the tool, then take it again typed with its unit"
    return f"{said}: take it again"


def _outside(step: MeasureStep, attempt: Attempt) -> tuple[Decimal, str] | None:
    """Return the first value of an attempt outside what is plausible, with the side it lies on."""
    if step.plausible is None:
        return None
    (unit,) = attempt.units
    limits = in_unit(step.plausible, unit)
    for value in values_of(step, attempt.live):
        side = position(value, limits)
        if side != "inside":
            return value, side
    return None


def plausible_of(step: MeasureStep, live: tuple[Taken, ...]) -> tuple[Decimal, ...]:
    """Return the repeats that a mean may be made of: those within what is plausible; all where none, or no, limit is.

    A slip among sound repeats is in no mean; where every one lies outside, that is what was read.
    """
    values = values_of(step, live)
    if step.plausible is None or not live:
        return values
    limits = in_unit(step.plausible, live[0].unit)
    return tuple(each for each in values if position(each, limits) == "inside") or values


def _one_sided(step: MeasureStep, attempt: Attempt) -> bool:
    """Whether every repeat lies outside on one side; a slip among sound repeats is borne out by nothing."""
    assert step.plausible is not None
    (unit,) = attempt.units
    limits = in_unit(step.plausible, unit)
    sides = {position(value, limits) for value in values_of(step, attempt.live)}
    return len(sides) == 1


def _looks_like(step: MeasureStep, attempt: Attempt, value: Decimal) -> str:
    """Name the unit in which an implausible value would be plausible, or nothing."""
    assert step.plausible is not None
    (unit,) = attempt.units
    name, guess = ("millimetres", 1 / _INCH) if unit == "in" else ("inches", _INCH)
    return name if position(Fraction(value) * guess, in_unit(step.plausible, unit)) == "inside" else ""


def _believes(job: Job, step: MeasureStep, attempt: Attempt, earlier: Attempt) -> bool:
    """Whether an earlier attempt bears an implausible value out, so that it is judged and nobody is trapped.

    The earlier one lies on the same side; and where the value looks like another unit, a person typed it with its
    unit, since a tool set to the wrong one only says the same again. What is implausible never passes: the window
    lies within.
    """
    found = _outside(step, attempt)
    if found is None or not is_whole(step, earlier.live) or len(earlier.units) != 1 or _suspect(job, earlier):
        return False
    before = _outside(step, earlier)
    if before is None or before[1] != found[1] or not _one_sided(step, earlier) or not _alike(step, attempt, earlier):
        return False
    typed = all(taken.source == "typed" for taken in attempt.live)
    return typed or not _looks_like(step, attempt, found[0])


def _alike(step: MeasureStep, attempt: Attempt, earlier: Attempt) -> bool:
    """Whether two attempts agree: within a twentieth of what is plausible (two slips of the hand seldom do).

    Without that, within half of the window, or within what a pair may differ; where the sheet has none, anything does.
    """
    (unit,) = attempt.units
    (before,) = earlier.units
    apart = mean_of(step, attempt.live) - mean_of(step, earlier.live) * factor(before, unit)
    for window, share in ((step.plausible, Fraction(1, 20)), (step.window, Fraction(1, 2))):
        if window is not None:
            low, high = (limit_in(limit, unit) for limit in window)
            return abs(apart) <= (high - low) * share
    return step.agree_within is None or abs(apart) <= limit_in(step.agree_within, unit)
