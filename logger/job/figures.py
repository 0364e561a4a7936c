"""What is stated of a tool on the trail, as figures in the unit of its readings."""

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache

from logger.errors import BadInput
from logger.events import ToolDescribed
from logger.metrology.conformity import DecisionRule
from logger.metrology.uncertainty import Amount, Budget
from logger.metrology.worth import SAME_TOOL, ToolFigures
from logger.units import parse_quantity

NOTHING = ToolFigures()


def figures_of(described: ToolDescribed | None, unit: str) -> ToolFigures:
    """Return a tool's figures in `unit`, and nothing that nobody stated: the digits of a reading are no resolution.

    A figure that cannot be read counts as not stated; `wrong_figures` tells of it before the job.
    """
    return NOTHING if described is None else _stated(described, unit)


@lru_cache(maxsize=256)
def _stated(described: ToolDescribed, unit: str) -> ToolFigures:
    resolution, k = _amount(described.resolution, unit), _factor(described.calibration_k)
    return ToolFigures(
        accuracy=_amount(described.accuracy, unit),
        resolution=None if resolution is None or resolution.share else resolution.value,
        calibration=None if k is None else _amount(described.calibration_u, unit),
        calibration_k=Fraction(2) if k is None else k,
        of_reference=described.of_reference,
    )


def _amount(text: str | None, unit: str) -> Amount | None:
    try:
        return None if text is None else Amount.of(parse_quantity(text), unit)
    except BadInput:
        return None


def _factor(text: str) -> Fraction | None:
    """A coverage factor from its text; None unless it is a number above 0."""
    number = text.strip()
    if not (number.isascii() and number.replace(".", "", 1).isdecimal()):
        return None
    return Fraction(number) or None


def wrong_figures(described: ToolDescribed, unit: str) -> tuple[str, ...]:
    """Return a sentence for each figure of a tool that cannot be used in `unit`, the unit of what it is to measure."""
    figures = {
        "accuracy": described.accuracy,
        "resolution": described.resolution,
        "calibration": described.calibration_u,
    }
    wrong = []
    for name, text in figures.items():
        amount = _amount(text, unit)
        if text is not None and (amount is None or (name == "resolution" and amount.share)):
            wrong.append(f'{described.tool}: its {name} "{text}" cannot be used here; state it as a figure in {unit}.')
    if described.calibration_u is not None and _factor(described.calibration_k) is None:
        wrong.append(f'{described.tool}: its coverage factor "{described.calibration_k}" is no number above 0.')
    return tuple(wrong)


# --- a guarded decision ---------------------------------------------------------------------------------------------


def is_unstated(found: Budget) -> bool:
    """Whether nothing is stated of how far the tool itself may be off, so that its readings cannot be weighed.

    Of a difference read with one tool the accuracy cancels, and its resolution says enough.
    """
    needed = {"accuracy", "calibration"} | ({"resolution"} if found.assumed == SAME_TOOL else set())
    return needed <= set(found.unknown)


def cannot_decide(found: Budget, rule: DecisionRule, tools: Iterable[str]) -> str:
    """Return why a guarded decision without a stated guard band cannot be made on a value; empty when it can."""
    if rule.kind != "guarded" or rule.guard is not None or not is_unstated(found):
        return ""
    return f"{unstated(' and '.join(sorted(tools)))}: take it with a tool of the toolbook, or override with a note"


def unstated(tool: str) -> str:
    """Why a guarded decision cannot be made with a tool of which nothing is stated."""
    return f"nothing states how far {tool} may be off, so it cannot decide guarded"
