"""The rules of torque steps in a sheet: their window, their passes, the adapter on the wrench; pure."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from logger.errors import BadInput
from logger.pulls.adapter import TorqueAdapter

from .amounts import exact, wrong_amount, wrong_guard, wrong_target
from .measure import WRENCHES, each_once
from .problems import found, name_of, spot_of
from .sheet import AdapterTable, Sheet, TorqueStep


def wrong_torque(sheet: Sheet, step: TorqueStep) -> Iterator[str]:
    """Yield what is wrong with a torque step."""
    if not set(step.tools) <= {*WRENCHES}:
        allowed = ", ".join(f'"{wrench}"' for wrench in WRENCHES)
        yield f"{spot_of(sheet, step, 'tools')}: found {found(step.tools)}; allowed: {allowed}"
    yield from each_once(spot_of(sheet, step, "fasteners"), step.fasteners)
    guard = list(wrong_guard(sheet, step, "torque"))
    kept = step.guard if sheet.decision == "guarded" and not guard else None
    yield from wrong_target(name_of(sheet, step), step, "torque", kept)
    yield from guard
    if any(limit.value <= 0 for limit in step.window):
        yield f"{spot_of(sheet, step, 'window')}: a torque of zero or less holds nothing; write limits above zero"
    yield from _passes(sheet, step)
    if step.adapter is not None:
        yield from _adapter(f"{name_of(sheet, step)}, adapter", step.adapter)


def _passes(sheet: Sheet, step: TorqueStep) -> Iterator[str]:
    """Check each pass, and that each ends below where the next begins: a pull of one never counts as the next."""
    wrong: list[str] = []
    for number, each in enumerate(step.passes, 1):
        spot = f"{name_of(sheet, step)}, passes {number}"
        wrong += wrong_target(spot, each, "torque")
        if any(limit.value <= 0 for limit in each.window):
            wrong.append(f"{spot}, key window: a torque of zero or less holds nothing; write limits above zero")
    yield from wrong
    windows = [*(each.window for each in step.passes), step.window]
    if wrong or any(limit.kind != "torque" for limit in step.window):
        return
    for number, (this, after) in enumerate(pairwise(windows), 1):
        if exact(this[1]) >= exact(after[0]):
            following = f"passes {number + 1}" if number < len(step.passes) else "window"
            yield (
                f"{name_of(sheet, step)}, passes {number}, key window: it ends at {this[1]}, not below {after[0]} "
                f"where {following} begins; let the passes rise towards the last"
            )


def _adapter(spot: str, table: AdapterTable) -> Iterator[str]:
    wrong = [
        line
        for key, amount in (("wrench", table.wrench), ("extension", table.extension))
        for line in wrong_amount(f"{spot}, key {key}", amount, "length")
    ]
    yield from wrong
    if wrong:
        return
    try:
        TorqueAdapter(exact(table.wrench), exact(table.extension), Fraction(table.angle))
    except BadInput as error:
        yield f"{spot}: {error}"
