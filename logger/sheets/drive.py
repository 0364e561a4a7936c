"""The table [drive] of a sheet: its rules, and the geometry it describes; pure."""

import math
from collections.abc import Iterator
from fractions import Fraction

from logger.drive import Drive, Length, SlackKind, pitch_radius

from .amounts import exact, wrong_amount
from .problems import found, name_of, spot_of, unknown
from .sheet import DriveTable, MeasureStep, Sheet


def wrong_drive(sheet: Sheet) -> Iterator[str]:
    """Yield what is wrong with [drive] and the steps it names."""
    drive = sheet.drive
    if drive is None:
        for step in sheet.adjusts:
            yield (
                f"{name_of(sheet, step)}: an adjust step needs the table [drive]; "
                "add it with slack, thread, adjuster, tighten, chain_side and span"
            )
        return
    yield from _slack(sheet, drive)
    yield from _sides(sheet, drive)
    amounts = {key: getattr(drive, key) for key in ("pitch", "centre", "span", "thread")}
    wrong = [line for key, amount in amounts.items() for line in wrong_amount(f"[drive], key {key}", amount, "length")]
    wrong += wrong_amount("[drive], key off_centre", drive.off_centre, "length", zero=True)
    yield from wrong or _geometry(drive)


def _slack(sheet: Sheet, drive: DriveTable) -> Iterator[str]:
    step = sheet.by_id.get(drive.slack)
    if not isinstance(step, MeasureStep):
        yield f"[drive], key slack: {unknown(drive.slack, _measures(sheet))} (the measure steps)"
        return
    if step.window is None or step.aim is None:
        yield f"{name_of(sheet, step)} is the slack of [drive]; give it a window and an aim"
    elif step.window[0].kind == "torque" or step.window[0].value < 0:
        yield f"{spot_of(sheet, step, 'window')}: a slack is a length, zero or more; write such limits"
    if len(step.places) > 1 and not step.governs:
        yield (
            f"{spot_of(sheet, step, 'governs')} is missing; say which place of the slack steers the adjustment: "
            f"{', '.join(step.places)}"
        )


def _measures(sheet: Sheet) -> list[str]:
    return [step.id for step in sheet.step if isinstance(step, MeasureStep)]


def _sides(sheet: Sheet, drive: DriveTable) -> Iterator[str]:
    if not drive.sides:
        return
    step = sheet.by_id.get(drive.sides)
    if not isinstance(step, MeasureStep) or step.id == drive.slack:
        yield f"[drive], key sides: {unknown(drive.sides, _measures(sheet))} (a measure step other than the slack)"
        return
    if step.places != ("left", "right"):
        yield (
            f"{spot_of(sheet, step, 'places')}: found {found(step.places)}; "
            'the sides of [drive] are places = ["left", "right"], in this order'
        )
    if step.agree_within is None:
        yield f"{spot_of(sheet, step, 'agree_within')} is missing; say how far left and right may differ"
    if step.takes == "difference":
        yield f'{spot_of(sheet, step, "takes")}: the sides of [drive] are one reading each; set takes = "value"'


def _geometry(drive: DriveTable) -> Iterator[str]:
    teeth = [each for each in (drive.front_teeth, drive.rear_teeth) if each is not None]
    if len(teeth) == 1:
        yield "[drive] has the teeth of one sprocket; give front_teeth and rear_teeth, or neither"
    elif teeth and (drive.pitch is None or (drive.centre is None and drive.span is None)):
        yield "[drive] has teeth but not what goes with them; add pitch, and centre or span"
    elif not teeth and drive.span is None:
        yield "[drive] has neither teeth nor a span; add span, the free length of the measured run"
    else:
        yield from _run(drive)


def _run(drive: DriveTable) -> Iterator[str]:
    """Check that the sprockets do not touch, and that the slack is measured within the run."""
    try:
        span = drive_of(drive.model_copy(update={"off_centre": None})).span_mm
    except ValueError as error:
        yield f"[drive], key centre: {error}"
        return
    if drive.off_centre is not None and exact(drive.off_centre) * 2 >= Fraction(span):
        yield (
            f"[drive], key off_centre: found {found(str(drive.off_centre))}, not within the run of {span:.0f} mm; "
            "write how far from its middle the slack is measured"
        )


_SLACK_KINDS: dict[str, SlackKind] = {"total": "total", "rest to up": "rest_to_up", "sag": "sag"}


def drive_of(drive: DriveTable) -> Drive:
    """Return the geometry a checked [drive] describes; ValueError where the sprockets would touch."""
    thread, off = exact(drive.thread), exact(drive.off_centre) if drive.off_centre else Fraction(0)
    kind = _SLACK_KINDS[drive.slack_is]
    if drive.front_teeth and drive.rear_teeth and drive.pitch and (drive.centre or drive.span):
        teeth, pitch = (drive.front_teeth, drive.rear_teeth), exact(drive.pitch)
        centre: Length = exact(drive.centre) if drive.centre else _centre(teeth, pitch, drive)
        return Drive.from_teeth(
            *teeth, pitch, centre, thread, flats_per_turn=drive.flats_per_turn, slack_kind=kind, off_centre_mm=off
        )
    if drive.span is None:
        raise ValueError("the run needs a span, or teeth, pitch and centre: add them")
    return Drive.from_span(
        exact(drive.span), thread, flats_per_turn=drive.flats_per_turn, slack_kind=kind, off_centre_mm=off
    )


def _centre(teeth: tuple[int, int], pitch: Fraction, drive: DriveTable) -> float:
    """Centre distance of sprockets whose straight run was measured."""
    assert drive.span is not None
    front, rear = (pitch_radius(each, pitch) for each in teeth)
    return math.hypot(exact(drive.span), rear - front)


def coarse(sheet: Sheet, table: DriveTable) -> Iterator[str]:
    """Yield warnings of adjusters too coarse for what they are to meet."""
    drive = drive_of(table)
    flat = f"one flat moves a side {float(drive.per_flat_mm):.3f} mm"
    sides = sheet.by_id.get(table.sides)
    if isinstance(sides, MeasureStep) and sides.agree_within and exact(sides.agree_within) < drive.per_flat_mm:
        yield (
            f"{spot_of(sheet, sides, 'agree_within')}: {sides.agree_within} is finer than a flat: {flat}; "
            "whole flats may never meet it"
        )
    slack = sheet.by_id[table.slack]
    if isinstance(slack, MeasureStep) and slack.window:
        low, high = (float(exact(limit)) for limit in slack.window)
        if low >= 0 and drive.movement(high, low) < float(drive.per_flat_mm):
            yield f"{spot_of(sheet, slack, 'window')}: {flat}, more than the whole window; whole flats may step over it"
