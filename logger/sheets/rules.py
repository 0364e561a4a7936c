"""Cross-checks of a sheet: what refers to nothing, what no reading could pass, what would trap a person; pure."""

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from .amounts import unguarded
from .drive import coarse, wrong_drive
from .measure import needless_zero, wrong_measure, wrong_zero
from .problems import found, spot_of, unknown
from .sheet import ConfirmStep, MeasureStep, Sheet, TorqueStep, ZeroStep
from .torque import wrong_torque
from .traps import needless, traps

READABLE = 34
"""Characters of a title that can be read from two metres on a screen of 80 columns."""


class Findings(NamedTuple):
    """What is wrong with a sheet, each in a sentence that names the step and the remedy."""

    refusals: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def check_sheet(sheet: Sheet) -> Findings:
    """Return everything that makes a sheet unusable, or that will work badly."""
    twice = [step_id for step_id, count in Counter(step.id for step in sheet.step).items() if count > 1]
    if twice:
        return Findings(tuple(f"more than one [[step]] has the id {found(each)}; give each its own" for each in twice))
    refusals = (*_steps(sheet), *wrong_drive(sheet), *traps(sheet))
    return Findings(refusals, () if refusals else (*_warnings(sheet), *needless(sheet)))


def own_faults(sheet: Sheet) -> tuple[str, ...]:
    """Return what is wrong with each measure, zero and torque step by itself, whatever the rest of the sheet says."""
    return () if len(sheet.by_id) < len(sheet.step) else tuple(_alone(sheet))


def _alone(sheet: Sheet) -> Iterator[str]:
    for step in sheet.step:
        match step:
            case ZeroStep():
                yield from wrong_zero(sheet, step)
            case MeasureStep():
                yield from wrong_measure(sheet, step, alone=True)
            case TorqueStep():
                yield from wrong_torque(sheet, step)
            case _:
                continue


def _steps(sheet: Sheet) -> Iterator[str]:
    for step in sheet.step:
        match step:
            case ConfirmStep():
                yield from _confirm(sheet, step)
            case ZeroStep():
                yield from wrong_zero(sheet, step)
            case MeasureStep():
                yield from wrong_measure(sheet, step)
            case TorqueStep():
                yield from wrong_torque(sheet, step)
            case _:
                continue


def _confirm(sheet: Sheet, step: ConfirmStep) -> Iterator[str]:
    for name in step.conditions:
        if name not in sheet.conditions:
            yield f"{spot_of(sheet, step, 'conditions')}: {unknown(name, sheet.conditions)} in [conditions]"


# --- warnings -------------------------------------------------------------------------------------------------------


def _warnings(sheet: Sheet) -> Iterator[str]:
    for step in sheet.step:
        if len(step.title) > READABLE:
            yield f"{spot_of(sheet, step, 'title')}: longer than {READABLE} characters; it cannot be read from afar"
        if isinstance(step, ZeroStep):
            yield from needless_zero(sheet, step)
        yield from unguarded(sheet, step)
    confirmed = {name for step in sheet.step if isinstance(step, ConfirmStep) for name in step.conditions}
    for name in sheet.conditions:
        if name not in confirmed:
            yield f"[conditions], key {name}: no confirm step confirms it"
    if sheet.drive is not None:
        yield from coarse(sheet, sheet.drive)
