"""Cross-checks of a sheet: what refers to nothing, what no reading could pass, what would trap a person; pure."""

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from .sheet import ConfirmStep, MeasureStep, Sheet, Step, TorqueStep
from .sheetamounts import exact, wrong_amount, wrong_window
from .sheetdrive import coarse, wrong_drive
from .sheetproblems import found, spot_of, unknown
from .sheettraps import needless, traps
from .units import Kind, Quantity

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


def _steps(sheet: Sheet) -> Iterator[str]:
    for step in sheet.step:
        match step:
            case ConfirmStep():
                yield from _confirm(sheet, step)
            case MeasureStep():
                yield from _measure(sheet, step)
            case TorqueStep():
                yield from _torque(sheet, step)
            case _:
                continue


def _confirm(sheet: Sheet, step: ConfirmStep) -> Iterator[str]:
    for name in step.conditions:
        if name not in sheet.conditions:
            yield f"{spot_of(sheet, step, 'conditions')}: {unknown(name, sheet.conditions)} in [conditions]"


# --- measure --------------------------------------------------------------------------------------------------------


def _measure(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    if "torque wrench" in step.tools:
        yield f"{spot_of(sheet, step, 'tools')}: a torque wrench is read at torque steps only; name other tools"
        return
    kind: Kind = "length"
    amounts = {"spread_within": step.spread_within, "agree_within": step.agree_within, "method_u": step.method_u}
    for key, amount in amounts.items():
        yield from wrong_amount(f"{spot_of(sheet, step, key)}", amount, kind)
    yield from _target(sheet, step, step.window, step.aim, kind)
    yield from _plausible(sheet, step, kind)
    for rule in (_places, _parts, _pair, _governing, _condition):
        yield from rule(sheet, step)


def _target(
    sheet: Sheet, step: Step, window: tuple[Quantity, Quantity] | None, aim: Quantity | None, kind: Kind
) -> Iterator[str]:
    """Check a window, and an aim inside it."""
    if window is None:
        if aim is not None:
            yield f"{spot_of(sheet, step, 'aim')}: an aim without a window; add window or leave aim out"
        return
    wrong = list(wrong_window(spot_of(sheet, step, "window"), window, kind))
    yield from wrong
    if aim is None:
        return
    if aim.kind != kind:
        yield from wrong_amount(spot_of(sheet, step, "aim"), aim, kind)
    elif not wrong and not exact(window[0]) <= exact(aim) <= exact(window[1]):
        yield (
            f"{spot_of(sheet, step, 'aim')}: found {found(str(aim))}, which is outside the window; "
            f"write an aim from {window[0]} to {window[1]}"
        )


def _plausible(sheet: Sheet, step: MeasureStep, kind: Kind) -> Iterator[str]:
    if step.plausible is None:
        return
    spot = spot_of(sheet, step, "plausible")
    wrong = list(wrong_window(spot, step.plausible, kind))
    yield from wrong
    if wrong or step.window is None or any(limit.kind != kind for limit in step.window):
        return
    if exact(step.plausible[0]) > exact(step.window[0]) or exact(step.window[1]) > exact(step.plausible[1]):
        yield f"{spot}: part of the window is not plausible; values in the window could never pass, make it wider"


def _places(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    yield from _unique(spot_of(sheet, step, "places"), step.places)
    if "agreement" in step.places:
        yield f'{spot_of(sheet, step, "places")}: found "agreement", the name of the check of a pair; use another'
    if step.spread_within is not None and step.repeats < 2:
        yield f"{spot_of(sheet, step, 'spread_within')}: one reading has no spread; set repeats = 2 or leave it out"


def _unique(spot: str, names: tuple[str, ...]) -> Iterator[str]:
    for name, count in Counter(names).items():
        if count > 1:
            yield f"{spot}: found {found(name)} {count} times; name each once"


def _parts(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    if step.takes == "value":
        for key in ("parts", "larger"):
            if getattr(step, key):
                yield f'{spot_of(sheet, step, key)}: only a difference has parts; set takes = "difference" or omit it'
        return
    if len(step.parts) != 2 or step.parts[0] == step.parts[1]:
        yield (
            f"{spot_of(sheet, step, 'parts')}: found {found(step.parts)}; "
            'a difference has two different parts, such as parts = ["taut down", "taut up"]'
        )
    elif step.larger not in step.parts:
        yield f"{spot_of(sheet, step, 'larger')}: {unknown(step.larger, step.parts)} (the part that reads larger)"


def _pair(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    if step.agree_within is None:
        if step.grows:
            yield f"{spot_of(sheet, step, 'grows')}: only a pair that must agree has it; add agree_within or omit it"
        return
    if len(step.places) != 2:
        yield (
            f"{spot_of(sheet, step, 'agree_within')}: found {len(step.places)} places; "
            'agreement is of two, such as places = ["left", "right"]'
        )
    if not step.grows:
        yield (
            f"{spot_of(sheet, step, 'grows')} is missing; say where the axle is when the gauge reads more: "
            '"rearward" or "forward"'
        )
    if step.recheck == "governing":
        yield f'{spot_of(sheet, step, "recheck")}: a pair is judged on both places; set recheck = "all"'


def _governing(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    if step.governs and step.governs not in step.places:
        yield f"{spot_of(sheet, step, 'governs')}: {unknown(step.governs, step.places)} (its places)"
    if step.recheck == "governing" and not step.governs:
        yield (
            f'{spot_of(sheet, step, "recheck")}: found "governing", but no place governs; '
            'name one with governs, or set recheck = "all"'
        )


def _condition(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    if not step.condition:
        return
    spot = spot_of(sheet, step, "condition")
    if step.condition not in sheet.conditions:
        yield f"{spot}: {unknown(step.condition, sheet.conditions)} in [conditions]"
        return
    before = sheet.step[: sheet.order[step.id]]
    if not any(isinstance(each, ConfirmStep) and step.condition in each.conditions for each in before):
        yield (
            f"{spot}: no earlier confirm step confirms {found(step.condition)}; "
            f'write conditions = ["{step.condition}"] in a confirm step before this one'
        )


# --- torque -----------------------------------------------------------------------------------------------


def _torque(sheet: Sheet, step: TorqueStep) -> Iterator[str]:
    if any(tool != "torque wrench" for tool in step.tools):
        yield f'{spot_of(sheet, step, "tools")}: found {found(step.tools)}; allowed: ["torque wrench"]'
    yield from _unique(spot_of(sheet, step, "fasteners"), step.fasteners)
    yield from _target(sheet, step, step.window, step.aim, "torque")
    if any(limit.value <= 0 for limit in step.window):
        yield f"{spot_of(sheet, step, 'window')}: a torque of zero or less holds nothing; write limits above zero"


# --- warnings -------------------------------------------------------------------------------------------------------


def _warnings(sheet: Sheet) -> Iterator[str]:
    for step in sheet.step:
        if len(step.title) > READABLE:
            yield f"{spot_of(sheet, step, 'title')}: longer than {READABLE} characters; it cannot be read from afar"
    confirmed = {name for step in sheet.step if isinstance(step, ConfirmStep) for name in step.conditions}
    for name in sheet.conditions:
        if name not in confirmed:
            yield f"[conditions], key {name}: no confirm step confirms it"
    if sheet.drive is not None:
        yield from coarse(sheet, sheet.drive)
