"""`judge`: what one reading is worth against a window, worked out from figures on the command line; no trail."""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from logger.errors import BadInput
from logger.metrology.conformity import Decision, DecisionRule, decide
from logger.metrology.outlook import Outlook, outlook, outlook_words
from logger.metrology.uncertainty import Amount, Budget, stated, true_torque_interval
from logger.metrology.worth import ToolFigures, reading_budget
from logger.units import Limits, Quantity, approx, approx_limits, approx_margin, decimals, parse_quantity
from tui.asjson import as_json
from tui.exits import Exit
from tui.shell import Shell

from .given import at_least_zero, named, quantity, value_of, window

FINE = 12
"""Decimals at which a guard band is rounded up here: as many digits as a quantity may have."""
PARTS = ("--accuracy", "--resolution", "--method-u")


@dataclass(frozen=True, slots=True)
class _Given:
    value: Quantity
    limits: Limits
    """In the unit of the value."""
    rule: DecisionRule
    budget: Budget


def judge(shell: Shell, args: argparse.Namespace) -> int:
    """Answer with the verdict and all that stands beside it, in the unit of the value; unrounded as JSON."""
    value = quantity("--value", args.value)
    given = _Given(value, window("--window", args.window, value.unit), _rule(args, value.unit), _budget(args, value))
    found = decide(value.value, given.limits, given.budget, given.rule, FINE)
    ahead = outlook(given.limits, given.budget, given.rule, FINE)
    if args.json:
        true = _true_interval(value, args.accuracy)
        also = {} if true is None else {"true_interval": [float(end) for end in true]}
        shell.write(as_json(as_data(found, ahead, given.budget.unknown) | also))
        return Exit.DONE
    for line in (*_lines(given, found, ahead), *_truth(value, args.accuracy)):
        shell.out(line)
    return Exit.DONE


def _true_interval(value: Quantity, accuracy: str | None) -> tuple[Fraction, Fraction] | None:
    """Return the lowest and highest true torque behind an indicated one, where the accuracy is a share of it."""
    share = _accuracy(accuracy, value.unit) if accuracy is not None and value.kind == "torque" else None
    return None if share is None or not share.share else true_torque_interval(value.value, share.value)


def _truth(value: Quantity, accuracy: str | None) -> Iterator[str]:
    ends = _true_interval(value, accuracy)
    if ends is not None and value.value:
        low, high = (approx(end, value.unit, max(2, decimals(value.text))) for end in ends)
        yield f"The true torque lies between {low} and {high}: the share is of the true torque, so it is not symmetric."


# --- what was given -------------------------------------------------------------------------------------------------


def _rule(args: argparse.Namespace, unit: str) -> DecisionRule:
    if args.guard is None:
        return DecisionRule(args.decision or "simple")
    if args.decision == "simple":
        raise BadInput("--guard was given with --decision simple, which has none.", "Say --decision guarded.")
    return DecisionRule("guarded", at_least_zero("--guard", args.guard, unit))


def _budget(args: argparse.Namespace, value: Quantity) -> Budget:
    """Return what the reading is worth; a percentage of torque is of the true torque, as ISO 6789 has it."""
    also = [flag for flag in PARTS if value_of(args, flag) is not None]
    if args.u is not None:
        if also:
            raise BadInput(f"--u is the whole uncertainty, yet {', '.join(also)} was given too.", "Leave one out.")
        return Budget((stated("u", at_least_zero("--u", args.u, value.unit)),))
    tool = ToolFigures(
        accuracy=None if args.accuracy is None else _accuracy(args.accuracy, value.unit),
        resolution=None if args.resolution is None else at_least_zero("--resolution", args.resolution, value.unit),
        of_reference=value.kind == "torque",
    )
    method = None if args.method_u is None else at_least_zero("--method-u", args.method_u, value.unit)
    with named("--accuracy"):
        return reading_budget(tool, [value.value], method_u=method)


def _accuracy(text: str, unit: str) -> Amount:
    with named("--accuracy"):
        return Amount.of(parse_quantity(text), unit)


# --- the answer -----------------------------------------------------------------------------------------------------


def as_data(found: Decision, ahead: Outlook, unknown: tuple[str, ...] = ()) -> dict[str, object]:
    """Return the answer unrounded, as it goes out as JSON; `acceptance` is null where nothing is left of the window.

    `unknown` names what was not stated and counts as nothing: U, and the chance with it, rest on that.
    """
    zone = ahead.zone
    return {
        "verdict": found.word,
        "margin": float(found.margin),
        "chance_inside": found.chance,
        "u": found.u,
        "U": found.expanded,
        "acceptance": None if zone is None else [_number(zone.low), _number(zone.high)],
        "unknown": list(unknown),
    }


def _number(end: Fraction | None) -> float | None:
    return None if end is None else float(end)


def _lines(given: _Given, found: Decision, ahead: Outlook) -> Iterator[str]:
    value, budget, rule = given.value, given.budget, given.rule
    unit, digits = value.unit, max(2, decimals(value.text))
    margin = approx_margin(found.margin, unit, digits)
    yield f"{value} is {found.word}: window {_span(given.limits, unit, digits)}, margin {margin}."
    if budget.components:
        least = "at least " if "accuracy" in budget.unknown else ""
        yield f"Chance of being truly inside: {found.chance_shown}{', if U is no more than that' if least else ''}."
        figures = f"u = {least}{_said(found.u, unit)}, U = {least}{_said(found.expanded, unit)}"
        yield f"{figures} (k = {float(budget.k):g}){_parts(budget)}."
        if least:
            yield "No accuracy was stated: give --accuracy, or the whole uncertainty as --u."
    how = "simple rule" if rule.kind == "simple" else f"guarded, {'w = U' if rule.guard is None else 'w as given'}"
    zone = "nothing is left of the window" if ahead.zone is None else _span(ahead.zone, unit, digits)
    yield f"Acceptance zone ({how}): {zone}."
    if not budget.variance:
        yield _nothing(budget)
    yield from outlook_words(ahead, given.limits, unit)


def _nothing(budget: Budget) -> str:
    """Why a reading counts as certain: nothing was stated of it, or what was stated comes to nothing."""
    if not budget.components:
        return "No uncertainty was stated, so that it counts as nothing: give --accuracy, --resolution or --u."
    if any(part.scales for part in budget.components):
        return "A share of 0 is nothing: state the accuracy as a figure, or give --resolution or --u."
    return "The uncertainty was stated as 0: the reading counts as certain."


def _parts(budget: Budget) -> str:
    parts = (f"{part.name} {part.u:.3g} ({part.how})" for part in budget.components if part.name != "u")
    said = "; ".join(parts)
    return f", from {said}" if said else ""


def _span(limits: Limits, unit: str, digits: int) -> str:
    low, high = approx_limits(limits, unit, digits)
    return f"{low} to {high}"


def _said(figure: float, unit: str) -> str:
    return f"{figure:.3g} {unit}"
