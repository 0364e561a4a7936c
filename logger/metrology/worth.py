"""The worth of what a step judges: the mean of one tool's readings, or the difference of two."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from logger.errors import BadInput

from .uncertainty import (
    Amount,
    Budget,
    Component,
    Exact,
    accuracy,
    calibration,
    repeats,
    resolution,
    stated,
)

SAME_TOOL = "one tool for both: its accuracy and calibration errors are common and cancel"
TWO_TOOLS = "two tools: nothing cancels"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolFigures:
    """What is stated of one tool, in the unit of its readings; None where it is not."""

    accuracy: Amount | None = None
    resolution: Fraction | None = None
    calibration: Amount | None = None
    calibration_k: Fraction = Fraction(2)
    of_reference: bool = False
    """Whether an accuracy in percent is of the true value, as ISO 6789 has it for torque."""


def reading_budget(
    tool: ToolFigures,
    values: Sequence[Exact],
    *,
    method_u: Exact | None = None,
    k: Exact = 2,
) -> Budget:
    """Return what the mean of one or more readings of one tool is worth; BadInput on none or a negative figure."""
    if not values:
        raise BadInput("There is no reading to weigh.", "Take one reading at least.")
    mean = sum((Fraction(value) for value in values), Fraction(0)) / len(values)
    off, certified = tool.accuracy, tool.calibration
    found = {
        "accuracy": None if off is None else accuracy(off, mean, of_reference=tool.of_reference),
        "resolution": None if tool.resolution is None else resolution(tool.resolution),
        "calibration": None if certified is None else calibration(certified, mean, tool.calibration_k),
        "method": None if method_u is None else stated("method", method_u),
        "repeats": repeats(values),
    }
    unknown = tuple(name for name, part in found.items() if part is None)
    return Budget(tuple(part for part in found.values() if part is not None), Fraction(k), unknown)


def difference(
    first: Budget, second: Budget, *, same_tool: bool, names: tuple[str, str] = ("first", "second")
) -> Budget:
    """Return what first minus second is worth: one tool's common error cancels, two tools' does not.

    Of a common error that is a share of the reading, the share of the difference is left.
    """
    ours, theirs = list(first.components), list(second.components)
    cancelled = []
    for part in first.components:
        twin = _twin(part, theirs) if same_tool and part.common else None
        if twin is not None:
            ours.remove(part)
            theirs.remove(twin)
            left = part.sensitivity - twin.sensitivity
            cancelled.append(replace(part, how=f"{part.how}, common to both", sensitivity=left))
    apart = [*_alone(ours, names[0]), *_alone(theirs, names[1])]
    unknown = tuple(dict.fromkeys(first.unknown + second.unknown))
    return Budget((*cancelled, *apart), first.k, unknown, SAME_TOOL if same_tool else TWO_TOOLS)


def _twin(part: Component, among: Iterable[Component]) -> Component | None:
    return next((other for other in among if replace(other, sensitivity=part.sensitivity) == part), None)


def _alone(parts: Iterable[Component], name: str) -> list[Component]:
    """Parts of one reading only, as parts of a difference: they no longer follow the size of the result."""
    return [replace(part, name=f"{part.name}, {name}", scales=False, common=False) for part in parts]
