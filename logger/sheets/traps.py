"""What would trap a person in a job that cannot end, or let one close on what was undone; pure.

Turning the adjusters undoes what holds them, and tightening moves what was measured: the walk through the steps ends
only where the sheet says all of it, and in the right order.
"""

from collections.abc import Iterator

from .problems import found, name_of, spot_of, unknown
from .sheet import AdjustStep, ConfirmStep, MeasureStep, Sheet, Step, TorqueStep


def traps(sheet: Sheet) -> Iterator[str]:
    """Yield why a sheet with these steps would trap a person, each with its remedy."""
    for step in sheet.step:
        match step:
            case ConfirmStep():
                yield from _locks(sheet, step)
            case TorqueStep():
                yield from _disturbs(sheet, step, step.disturbs)
            case AdjustStep():
                yield from _disturbs(sheet, step, step.disturbs)
                yield from _adjust(sheet, step)
            case _:
                continue
    yield from _rings(sheet)


def _listed(kinds: type[Step] | tuple[type[Step], ...], sheet: Sheet, name: str) -> str:
    return unknown(name, (step.id for step in sheet.step if isinstance(step, kinds)))


def _locks(sheet: Sheet, step: ConfirmStep) -> Iterator[str]:
    spot = f"{spot_of(sheet, step, 'locks')}"
    for name in step.locks:
        if not isinstance(sheet.by_id.get(name), TorqueStep):
            yield f"{spot}: {_listed(TorqueStep, sheet, name)} (the torque steps)"
        elif sheet.order[name] > sheet.order[step.id]:
            yield f"{spot}: {found(name)} comes later, so it would be locked while loose; move this step behind it"


def _disturbs(sheet: Sheet, step: Step, names: tuple[str, ...]) -> Iterator[str]:
    allowed = (ConfirmStep, MeasureStep, TorqueStep)
    for name in names:
        if not isinstance(sheet.by_id.get(name), allowed):
            yield f"{spot_of(sheet, step, 'disturbs')}: {_listed(allowed, sheet, name)} (what can be taken again)"


# --- adjust ---------------------------------------------------------------------------------------------------------


def _adjust(sheet: Sheet, step: AdjustStep) -> Iterator[str]:
    yield from _corrects(sheet, step)
    yield from _loosen(sheet, step)
    yield from _undone(sheet, step)
    yield from _torque_too_early(sheet, step)


def _corrects(sheet: Sheet, step: AdjustStep) -> Iterator[str]:
    spot = f"{spot_of(sheet, step, 'corrects')}"
    advised = {sheet.drive.slack, sheet.drive.sides} if sheet.drive else set()
    for name in step.corrects:
        target = sheet.by_id.get(name)
        if not isinstance(target, MeasureStep):
            yield f"{spot}: {_listed(MeasureStep, sheet, name)} (the measure steps)"
            continue
        if sheet.order[name] > sheet.order[step.id]:
            yield f"{spot}: {found(name)} comes later, so nothing would lead back here; move this step behind it"
        if name not in step.disturbs:
            yield f"{spot}: turning changes {found(name)}; add it to disturbs, so that it is measured again"
        if target.window is None and target.agree_within is None:
            yield f"{spot}: {found(name)} can never fail; give it a window or agree_within"
        if advised and name not in advised:
            yield f"{spot}: there is no advice for {found(name)}; name it as slack or sides in [drive]"
    if sheet.drive and sheet.drive.slack not in step.corrects:
        yield f"{spot}: the slack of [drive], {found(sheet.drive.slack)}, is not among them; add it"


def _loosen(sheet: Sheet, step: AdjustStep) -> Iterator[str]:
    spot = f"{spot_of(sheet, step, 'loosen')}"
    for name in step.loosen:
        step_id, _, fastener = name.partition(".")
        target = sheet.by_id.get(step_id)
        if not isinstance(target, TorqueStep):
            yield f"{spot}: {_listed(TorqueStep, sheet, name)} (the torque steps)"
        elif fastener and fastener not in target.fasteners:
            known = ", ".join(f"{step_id}.{each}" for each in target.fasteners) or step_id
            yield f"{spot}: found {found(name)}; allowed: {known}"
        elif step_id not in step.disturbs:
            yield f"{spot}: {found(step_id)} must be tightened again after it; add it to disturbs"


def _undone(sheet: Sheet, step: AdjustStep) -> Iterator[str]:
    """Check that what holds the adjustment is loosened for it and taken again after it."""
    loosened = set(sheet.fasteners(step.loosen))
    for torque in sheet.torques:
        if sheet.order[torque.id] < sheet.order[step.id] or not set(torque.disturbs) & set(step.corrects):
            continue
        named = any(name.partition(".")[0] == torque.id for name in step.loosen)
        if torque.id not in step.disturbs and not named:
            yield (
                f"{spot_of(sheet, step, 'disturbs')}: {found(torque.id)} holds what is adjusted here, "
                "so it must be tightened again; add it"
            )
        if not set(sheet.fasteners((torque.id,))) <= loosened:
            yield (
                f"{spot_of(sheet, step, 'loosen')}: {found(torque.id)} holds what is adjusted here, "
                "so it must be loose before turning; add it with all its fasteners"
            )
    for lock in sheet.step:
        if isinstance(lock, ConfirmStep) and set(lock.locks) & set(step.disturbs) and lock.id not in step.disturbs:
            yield (
                f"{spot_of(sheet, step, 'disturbs')}: {found(lock.id)} locks a torque step that is undone here, "
                "so it must be confirmed again; add it"
            )


def _torque_too_early(sheet: Sheet, step: AdjustStep) -> Iterator[str]:
    """Check that no torque step is reached while something is still to be adjusted."""
    here = sheet.order[step.id]
    first = min((sheet.order[name] for name in step.corrects if name in sheet.order), default=here)
    for torque in sheet.torques:
        at = sheet.order[torque.id]
        if at < here and (torque.id in step.disturbs or at > first):
            yield (
                f"{name_of(sheet, step)}: the torque step {found(torque.id)} comes before it, so turning would undo "
                "a tight fastener; move this step in front of it"
            )


# --- torque ---------------------------------------------------------------------------------------------------------


def _rings(sheet: Sheet) -> Iterator[str]:
    """Find torque steps that undo each other, directly or round a ring, so that none would ever stay tight."""
    told: set[str] = set()
    for torque in sheet.torques:
        ring = _undoes(sheet, torque.id)
        if torque.id in ring and torque.id not in told:
            again = sorted({each for each in ring if torque.id in _undoes(sheet, each)}, key=sheet.order.__getitem__)
            told |= {*again}
            what = "itself" if len(again) == 1 else f"each other ({', '.join(again)})"
            yield (
                f"{spot_of(sheet, torque, 'disturbs')}: torque steps that disturb {what} would never be done; "
                "take one out"
            )


def _undoes(sheet: Sheet, start: str) -> set[str]:
    """Return every torque step that tightening `start` leads to tightening again."""
    torques = {torque.id: torque.disturbs for torque in sheet.torques}
    reached: set[str] = set()
    ahead = [start]
    while ahead:
        following = [name for name in torques[ahead.pop()] if name in torques and name not in reached]
        reached |= {*following}
        ahead += following
    return reached


def needless(sheet: Sheet) -> Iterator[str]:
    """Yield warnings of an order of torque steps that makes work twice."""
    for torque in sheet.torques:
        for name in torque.disturbs:
            if isinstance(sheet.by_id[name], TorqueStep) and sheet.order[name] < sheet.order[torque.id]:
                yield (
                    f"{spot_of(sheet, torque, 'disturbs')}: {found(name)} comes before it, so it is always "
                    "tightened twice; change their order"
                )
