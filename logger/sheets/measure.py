"""The rules of measure steps and of zero checks in a sheet; pure."""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from logger.units import Quantity, show_number

from .amounts import exact, wrong_amount, wrong_guard, wrong_target, wrong_window
from .problems import found, name_of, spot_of, unknown
from .sheet import ConfirmStep, MeasureStep, Sheet, ZeroStep

WRENCHES = ("torque wrench", "setting wrench")
SHARES = ("window", "aim", "plausible")
"""The keys of a measure step that may be written in %."""


def wrong_zero(sheet: Sheet, step: ZeroStep) -> Iterator[str]:
    """Yield what is wrong with a zero check."""
    yield from _no_wrench(sheet, step)
    yield from wrong_amount(spot_of(sheet, step, "reference"), step.reference, "length", zero=True)
    yield from wrong_amount(spot_of(sheet, step, "within"), step.within, "length")


def needless_zero(sheet: Sheet, step: ZeroStep) -> Iterator[str]:
    """Yield a warning of a zero check of tools that nothing is measured with."""
    used = {tool for each in sheet.step if isinstance(each, MeasureStep) for tool in each.tools}
    if not used & set(step.tools):
        yield (
            f"{spot_of(sheet, step, 'tools')}: no step measures with {' or '.join(step.tools)}; "
            "name a tool that one does, or leave this step out"
        )


def _no_wrench(sheet: Sheet, step: MeasureStep | ZeroStep) -> Iterator[str]:
    for wrench in WRENCHES:
        if wrench in step.tools:
            yield f"{spot_of(sheet, step, 'tools')}: a {wrench} is read at torque steps only; name other tools"


def wrong_measure(sheet: Sheet, step: MeasureStep, *, alone: bool = False) -> Iterator[str]:
    """Yield what is wrong with a measure step; `alone` leaves out what hangs on other parts of the sheet."""
    wrench = list(_no_wrench(sheet, step))
    if wrench:
        yield from wrench
        return
    amounts = {"spread_within": step.spread_within, "agree_within": step.agree_within, "method_u": step.method_u}
    for key, amount in amounts.items():
        yield from wrong_amount(spot_of(sheet, step, key), amount, "length")
    shares = list(_shares(sheet, step))
    yield from shares or _limits(sheet, step)
    for rule in (
        (_places, _parts, _pair, _governing) if alone else (_pitches, _places, _parts, _pair, _governing, _condition)
    ):
        yield from rule(sheet, step)


# --- limits ---------------------------------------------------------------------------------------------------------


def _limits(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    guard = list(wrong_guard(sheet, step, "length"))
    kept = step.guard if sheet.decision == "guarded" and not guard else None
    yield from wrong_target(name_of(sheet, step), step, "length", kept)
    yield from guard
    yield from _plausible(sheet, step)


def _shares(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    """Check that figures in % have a length they are shares of, and the reverse."""
    spot = spot_of(sheet, step, "share_of")
    wrong = list(wrong_amount(spot, step.share_of, "length"))
    yield from wrong
    figures = {key: _figures(step, key) for key in SHARES}
    if step.share_of is None:
        for key, amounts in figures.items():
            if any(amount.kind == "share" for amount in amounts):
                yield (
                    f"{spot_of(sheet, step, key)}: found {found(tuple(map(str, amounts)))}, a share of nothing; "
                    'write lengths, or add what it is a share of, such as share_of = "1200 mm"'
                )
    elif not wrong and not any(amount.written for amounts in figures.values() for amount in amounts):
        yield f"{spot}: nothing here is written in %; write window, aim or plausible in %, or leave share_of out"


def _figures(step: MeasureStep, key: str) -> tuple[Quantity, ...]:
    value = getattr(step, key)
    if value is None:
        return ()
    return (value,) if isinstance(value, Quantity) else tuple(value)


def _plausible(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    if step.plausible is None:
        return
    spot = spot_of(sheet, step, "plausible")
    wrong = list(wrong_window(spot, step.plausible, "length"))
    yield from wrong
    if wrong or step.window is None or any(limit.kind != "length" for limit in step.window):
        return
    if exact(step.plausible[0]) > exact(step.window[0]) or exact(step.window[1]) > exact(step.plausible[1]):
        yield f"{spot}: part of the window is not plausible; values in the window could never pass, make it wider"


def _pitches(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    """Check a wear check: what a new chain measures must pass, which also finds pins counted for pitches."""
    if step.pitches is None:
        return
    spot, pitch = spot_of(sheet, step, "pitches"), sheet.drive.pitch if sheet.drive else None
    if pitch is None:
        yield f"{spot}: a wear check needs the pitch of the chain; add [drive] with pitch, or leave pitches out"
    if step.window is None:
        yield f"{spot}: a wear check needs limits; add window, or leave pitches out"
    if pitch is None or pitch.kind != "length" or step.window is None:
        return
    new = step.pitches * exact(pitch)
    if all(limit.kind == "length" for limit in step.window) and not _within(new, step.window):
        yield (
            f"{spot}: {step.pitches} pitches of {pitch} are {show_number(new, 2)} mm, outside the window "
            f"{step.window[0]} to {step.window[1]}; count pitches, one less than pins"
        )


def _within(value: Fraction, window: tuple[Quantity, Quantity]) -> bool:
    return exact(window[0]) <= value <= exact(window[1])


# --- places ---------------------------------------------------------------------------------------------------------


def _places(sheet: Sheet, step: MeasureStep) -> Iterator[str]:
    yield from each_once(spot_of(sheet, step, "places"), step.places)
    if "agreement" in step.places:
        yield f'{spot_of(sheet, step, "places")}: found "agreement", the name of the check of a pair; use another'
    if step.spread_within is not None and step.repeats < 2:
        yield f"{spot_of(sheet, step, 'spread_within')}: one reading has no spread; set repeats = 2 or leave it out"


def each_once(spot: str, names: tuple[str, ...]) -> Iterator[str]:
    """Yield every name that stands more than once."""
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
