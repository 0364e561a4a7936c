"""Amounts of a sheet held against what they must be: their kind, their sign, their order; pure."""

from collections.abc import Iterator
from fractions import Fraction

from logger.units import Kind, Quantity, factor, unit_names

from .problems import found, spot_of
from .sheet import MeasureStep, Sheet, Step, TorquePass, TorqueStep
from .written import Guarded


def exact(quantity: Quantity) -> Fraction:
    """Return a quantity in the first unit of its kind (mm, N·m), exactly."""
    return Fraction(quantity.value) * factor(quantity.unit, unit_names([quantity.kind])[0])


def wrong_amount(spot: str, amount: Quantity | None, kind: Kind, *, zero: bool = False) -> Iterator[str]:
    """Yield what is wrong with an amount that must be of this kind and above zero (or not below it)."""
    if amount is None:
        return
    if amount.kind != kind:
        yield f"{spot}: found {found(str(amount))}, a {amount.kind}; write a {kind} ({', '.join(unit_names([kind]))})"
    elif amount.value < 0 or (amount.value == 0 and not zero):
        yield f"{spot}: found {found(str(amount))}; write {'zero or more' if zero else 'an amount above zero'}"


def wrong_window(spot: str, window: tuple[Quantity, Quantity], kind: Kind) -> Iterator[str]:
    """Yield what is wrong with a window that must be of this kind, its lower limit first."""
    other = [limit for limit in window if limit.kind != kind]
    for limit in other:
        yield f"{spot}: found {found(str(limit))}, a {limit.kind}; write a {kind} ({', '.join(unit_names([kind]))})"
    if not other and exact(window[0]) >= exact(window[1]):
        yield f"{spot}: {window[0]} is not below {window[1]}; write the lower limit first, and two different ones"


def wrong_target(
    spot: str, step: MeasureStep | TorqueStep | TorquePass, kind: Kind, guard: Quantity | None = None
) -> Iterator[str]:
    """Yield what is wrong with a window, and an aim inside what a guard band leaves of it; `spot` names the table."""
    window, aim = step.window, step.aim
    if window is None:
        if aim is not None:
            yield f"{spot}, key aim: an aim without a window; add window or leave aim out"
        return
    wrong = list(wrong_window(f"{spot}, key window", window, kind))
    yield from wrong
    if aim is None:
        return
    if aim.kind != kind:
        yield from wrong_amount(f"{spot}, key aim", aim, kind)
    elif not wrong and not exact(window[0]) <= exact(aim) <= exact(window[1]):
        yield (
            f"{spot}, key aim: found {found(str(aim))}, which is outside the window; "
            f"write an aim from {window[0]} to {window[1]}"
        )
    elif not wrong and guard is not None and not isinstance(step, TorquePass):
        low, high = left_by(window, guard, step.guarded)
        if low <= high and not low <= exact(aim) <= high:
            yield (
                f"{spot}, key aim: found {found(str(aim))}, within the guard band of {guard}; "
                "a value there is never inside, write an aim further in"
            )


def left_by(window: tuple[Quantity, Quantity], guard: Quantity, guarded: Guarded) -> tuple[Fraction, Fraction]:
    """Return what a guard band leaves of a window, in the first unit of its kind; upside down where it leaves nothing.

    All three must be of one kind.
    """
    low, high = map(exact, window)
    width = exact(guard)
    return low + width * (guarded != "high"), high - width * (guarded != "low")


def wrong_guard(sheet: Sheet, step: MeasureStep | TorqueStep, kind: Kind) -> Iterator[str]:
    """Yield what is wrong with a guard band: its kind, or that it leaves nothing to pass."""
    spot, guard = spot_of(sheet, step, "guard"), step.guard
    wrong = list(wrong_amount(spot, guard, kind))
    yield from wrong
    if guard is None or wrong:
        return
    agree = step.agree_within if isinstance(step, MeasureStep) else None
    if step.window is None and agree is None:
        yield f"{spot}: there is no limit to guard; add window or agree_within, or leave guard out"
    if agree is not None and agree.kind == kind and exact(guard) > exact(agree):
        yield f"{spot}: {guard} is more than agree_within, {agree}: no pair could pass; make it smaller"
    if step.window is not None and all(limit.kind == kind for limit in step.window):
        low, high = left_by(step.window, guard, step.guarded)
        if low > high and exact(step.window[0]) < exact(step.window[1]):
            yield (
                f"{spot}: {guard} leaves nothing of the window {step.window[0]} to {step.window[1]}; "
                'make it smaller, or guard one limit with guarded = "low" or "high"'
            )


def unguarded(sheet: Sheet, step: Step) -> Iterator[str]:
    """Yield warnings of keys of a guarded decision that a simple one does not look at."""
    if sheet.decision == "guarded" or not isinstance(step, MeasureStep | TorqueStep):
        return
    for key, set_ in (("guard", step.guard is not None), ("guarded", step.guarded != "both")):
        if set_:
            yield (
                f'{spot_of(sheet, step, key)}: it is looked at only with decision = "guarded" at the top of the file; '
                "set that, or leave it out"
            )
