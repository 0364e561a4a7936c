"""The words of verdicts: a check as a line, what its value is worth, and what would settle it; pure."""

from decimal import Decimal

from logger import events as ev
from logger.sheets.sheet import ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep
from logger.units import Limits, approx_limits, approx_margin, decimals

from .facts import Job
from .judged import FAILS, Judged
from .measured import value_at
from .named import check_title, target
from .torquewords import settle_torque

SHAPES: dict[ev.Verdict, str] = {
    "overridden": "⚑",
    "waiting": "○",
    "stale": "↻",
    "unsteady": "≈",
    "low": "▼",
    "high": "▲",
    "uneven": "◆",
    "unsure": "?",
    "inside": "■",
    "done": "✓",
}
"""A shape for each verdict, so that none is told by colour alone."""

GROUNDED = "NOT TO BE RIDDEN OR RUN"
"""What a check on which a life hangs says where it does not pass, whoever let it pass."""


def verdict_line(job: Job, judged: Judged) -> str:
    """One check as a line: shape, word, name, value and reason, and what the value is worth."""
    value = f" {judged.text} {judged.unit}".rstrip() if judged.text else ""
    reason = f" ({judged.reason})" if judged.reason else ""
    worth = f" · {worth_line(judged)}" if judged.decision is not None and judged.decision.u > 0 else ""
    return f"{SHAPES[judged.verdict]} {judged.verdict:<10} {check_title(job, judged.check)}{value}{reason}{worth}"


def worth_line(judged: Judged) -> str:
    """Return margin, expanded uncertainty and chance of a decided value, "margin 1.20 mm, U 0.90 mm, 98.3 % inside".

    Where no accuracy is stated, U is "at least" that, and the chance rests on it. Under a guarded rule also from where
    to where it passes; empty where nothing was decided.
    """
    decision, unit = judged.decision, judged.unit
    if decision is None:
        return ""
    digits = decimals(judged.text.removeprefix("≈ "))
    room = approx_margin(decision.margin, unit, digits).removeprefix("+")
    expanded, chance = f"{short(decision.expanded)} {unit}", f"{decision.chance_shown} inside"
    unstated = "accuracy" in judged.unknown  # what nobody stated counts as nothing, so U can only be larger
    worth = [f"U at least {expanded}", f"{chance} if U is no more"] if unstated else [f"U {expanded}", chance]
    parts = [f"margin {room}", *worth]
    if decision.guard:
        parts.append(_accepts(decision.acceptance, unit, digits))
    return ", ".join(parts if decision.u > 0 else parts[:1])


def _accepts(zone: Limits | None, unit: str, digits: int) -> str:
    if zone is None:
        return "too uncertain to pass at all"
    low, high = approx_limits(zone, unit, digits)
    return f"passes from {low} to {high}" if low and high else f"passes from {low}" if low else f"passes up to {high}"


def short(figure: float) -> str:
    """Return an uncertainty with the two digits that it is good for, never as a power of ten."""
    return format(Decimal(f"{figure:.1e}"), "f")


def warning_lines(job: Job, judged: Judged) -> tuple[str, ...]:
    """Return what should be known of a check though it changes no verdict, and what its U rests on, a line each."""
    title = check_title(job, judged.check)
    rests = (f"Rests on: {judged.assumed}.",) if judged.assumed else ()
    return (*(f"Mind: {title}: {warning}" for warning in judged.warnings), *rests)


def settle(job: Job, judged: Judged) -> str:
    """What would settle an open check, in one sentence."""
    step_id, _, place = judged.check.partition(".")
    step = job.sheet.by_id[step_id]
    name = target(job, step_id, place)
    match step:
        case ConfirmStep():
            return f"Confirm {name} again." if judged.verdict == "stale" else f"Confirm {name}."
        case NoteStep():
            return f"Write down {name}."
        case TorqueStep():
            return settle_torque(job, step, place, judged, name)
        case ZeroStep() if judged.verdict in FAILS:
            return f"Zero the tool and take {name} again, or override with a note."
        case ZeroStep():
            return f"Take {name}: {judged.reason}."
        case MeasureStep() if judged.verdict in FAILS:
            if any(step_id in adjust.corrects for adjust in job.sheet.adjusts):
                return f"Adjust, then measure {name} again, or override with a note."
            return f"Take {name} again, replace the part, or override with a note."
        case MeasureStep() if place == "agreement":
            return _settle_pair(job, step, judged, name)
        case _:
            return f"Measure {name}" + (f": {judged.reason}." if judged.reason else ".")


def _settle_pair(job: Job, step: MeasureStep, judged: Judged, name: str) -> str:
    """The first side that gives no value, with its reason; else what stands against the two together."""
    for slot in step.slots:
        value = value_at(job, step, slot)
        if value.verdict != "inside":
            return f"Measure {target(job, step.id, slot)}: {value.reason}."
    return f"Measure {name}: {judged.reason}."
