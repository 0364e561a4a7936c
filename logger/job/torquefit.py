"""Whether a wrench may decide a fastener, and what its figures are worth; pure.

Figures are what the toolbook or the profile states; what is stated of nothing counts as nothing, and is named.
"""

from dataclasses import dataclass, replace
from decimal import Decimal

from logger import events as ev
from logger.metrology.conformity import drawn_in
from logger.metrology.outlook import resolution_fitness
from logger.metrology.uncertainty import Budget, within
from logger.metrology.worth import reading_budget
from logger.sheets.sheet import TorqueStep
from logger.units import Limits, in_unit

from .facts import Job, Pull
from .figures import figures_of, is_unstated, unstated
from .torquepass import adapter_of, aim_on_wrench, geometry
from .weighed import rule_of

BATTERY_EMPTY = 5
"""At this many percent or less a pull is not trusted: ours."""
BATTERY_LOW = 15
"""At this many percent or less it is worth a warning: ours."""
PLACES = 3
"""Decimals of an aim that was worked out, where it stands for a pull that is still to come."""


@dataclass(frozen=True, slots=True)
class Fit:
    """What stands against a wrench for one fastener."""

    refusal: str = ""
    """Why its pulls give no verdict; empty when they do."""
    warnings: tuple[str, ...] = ()


def fitness(job: Job, step: TorqueStep, pull: Pull, limits: Limits) -> Fit:
    """Look at calibration date, battery and stated resolution; limits are in the unit of the pull."""
    described = job.tools.get(pull.tool)
    overdue = _overdue(job, described)
    empty, low = _battery(pull)
    unfit, coarse = _resolution(step, pull, described, limits)
    return Fit(overdue or empty or unfit, tuple(each for each in (low, coarse) if each))


def _overdue(job: Job, described: ev.ToolDescribed | None) -> str:
    if described is None or described.due is None or described.due >= job.opened_utc[: len("YYYY-MM-DD")]:
        return ""
    return f"the calibration of {described.tool} was due on {described.due}"


def _battery(pull: Pull) -> tuple[str, str]:
    """Return why the battery forbids a verdict, or what to know of it."""
    if pull.battery is None or pull.battery > BATTERY_LOW:
        return "", ""
    said = f"the battery of {pull.tool} was at {pull.battery} %"
    return (said, "") if pull.battery <= BATTERY_EMPTY else ("", f"{said}: change it soon")


def _resolution(step: TorqueStep, pull: Pull, described: ev.ToolDescribed | None, limits: Limits) -> tuple[str, str]:
    """Hold a stated resolution against the window; with an adapter, as it is at the fastener."""
    counts, adapter = figures_of(described, pull.unit).resolution, geometry(pull.adapter)
    if counts is None:
        return "", ""
    found = resolution_fitness(counts if adapter is None else adapter.at_fastener(counts), limits)
    if found == "fit":
        return "", ""
    share = "a quarter" if found == "unfit" else "a tenth"
    said = f"{pull.tool} reads in steps of {float(counts):g} {pull.unit}, more than {share} of the window"
    return (said, "") if found == "unfit" and not step.allow_coarse else ("", f"{said}: a finer tool would be better")


def budget(job: Job, pull: Pull) -> Budget:
    """Return what the peak of a pull is worth at the fastener, in its unit; the adapter's lengths count as exact.

    An accuracy in % is of the true torque (ISO 6789). Where the largest sample decides, what sampling can miss of the
    peak counts as well.
    """
    assert pull.peak is not None
    stated = replace(figures_of(job.tools.get(pull.tool), pull.unit), of_reference=True)
    read = reading_budget(stated, (pull.peak,))
    missed = None if not pull.under_read else within("sampling", pull.under_read, "what sampling can miss of the peak")
    unknown = tuple(name for name in read.unknown if name not in ("method", "repeats"))
    known, adapter = replace(read.plus(missed), unknown=unknown), geometry(pull.adapter)
    if adapter is None:
        return known
    lever = adapter.factor_inverse
    parts = (replace(part, sensitivity=part.sensitivity * lever) for part in known.components)
    return replace(known, components=tuple(parts), assumed="the lengths of the adapter taken as exact")


def foreseen(job: Job, step: TorqueStep, tool: str) -> tuple[Fit, Limits | None]:
    """Return what stands against a wrench before its pull, and the window that it can be sure of at the fastener.

    The limits are in the unit of the aim, drawn in by what a pull to the aim is worth; None when nothing is left.
    """
    unit, adapter = step.aim.unit, adapter_of(job, step)
    shown = aim_on_wrench(step.aim, adapter, unit)
    peak = round(Decimal(shown.numerator) / shown.denominator, PLACES)
    pull = Pull(0, peak, peak, "", unit, tool, False, adapter=adapter, battery=job.batteries.get(tool))
    limits, worth, rule = in_unit(step.window, unit), budget(job, pull), rule_of(job, step, unit)
    fit = fitness(job, step, pull, limits)
    if rule.kind == "guarded" and rule.guard is None and is_unstated(worth):
        fit = replace(fit, refusal=fit.refusal or unstated(tool))
    return fit, drawn_in(limits, *rule.guards(worth))
