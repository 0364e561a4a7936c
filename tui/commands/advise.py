"""`advise`: how far to turn each adjuster, worked out from figures on the command line; no trail is touched."""

import argparse
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from logger.advice.advice import ROOM_WITHOUT_WINDOW_MM, Advice, AdviceInput, predict
from logger.advice.advice import advise as solve
from logger.drive import Drive
from logger.errors import BadInput
from logger.job.named import flats as flats_said
from logger.units import Limits, approx, as_decimal
from tui.asjson import as_json
from tui.exits import Exit
from tui.shell import Shell

from .given import above_zero, amount, at_least_zero, both_or_none, flats, told, value_of, window, within

PLACE = "the tightest place"
FROM_TEETH = ("--front-teeth", "--rear-teeth", "--pitch", "--centre")
GROWS: Literal["rearward", "forward"] = "rearward"
"""Which way is taken where nobody said it."""
MOST_TEETH = 1000
MOST_FLATS_PER_TURN = 360


def advise(shell: Shell, args: argparse.Namespace) -> int:
    """Answer with the best turns, or with what the given turns would bring; unrounded as JSON."""
    case = given(args)
    turns = _turns(args)
    answer = solve(case) if turns is None else predict(case, *turns)
    short = _short(case, answer) if turns is None else ()
    said = (*_aside(case), *_assumed(args), *answer.notes, *short)
    notes = tuple(f"{note[:1].upper()}{note[1:]}." for note in said)
    if args.json:
        for note in notes:
            shell.say(note)
        shell.write(as_json(as_data(answer)))
        return Exit.DONE
    for line in (*_lines(case, answer, asked=turns is not None), *notes):
        shell.out(line)
    return Exit.DONE


# --- what was given -------------------------------------------------------------------------------------------------


def given(args: argparse.Namespace) -> AdviceInput:
    """Return what the advice starts from, exact in mm; BadInput on what is missing, doubled or cannot be."""
    limits = None if args.window is None else window("--window", args.window, "mm")
    agree = None if args.agree_within is None else at_least_zero("--agree-within", args.agree_within, "mm")
    slack, aim = amount("--slack", args.slack, "mm"), at_least_zero("--aim", args.aim, "mm")
    with told():
        return AdviceInput(
            drive=_drive(args),
            slack_mm={PLACE: as_decimal(slack)},
            governing=PLACE,
            aim_mm=aim,
            window_mm=None if limits is None else _ends(limits),
            difference_mm=_difference(args),
            grows=args.grows or GROWS,
            agree_within_mm=agree,
        )


def _drive(args: argparse.Namespace) -> Drive:
    missing = [flag for flag in FROM_TEETH if value_of(args, flag) is None]
    if args.span is not None and len(missing) < len(FROM_TEETH):
        raise BadInput("--span was given beside teeth, pitch or centre.", f"Give --span, or {', '.join(FROM_TEETH)}.")
    thread = above_zero("--thread", args.thread, "mm")
    per_turn = within("--flats-per-turn", args.flats_per_turn, 1, MOST_FLATS_PER_TURN)
    if args.span is not None:
        return Drive.from_span(above_zero("--span", args.span, "mm"), thread, flats_per_turn=per_turn)
    if missing:
        raise BadInput(
            f"The chain drive is not known: {', '.join(missing)} missing.",
            f"Give {', '.join(FROM_TEETH)}, or the measured run with --span.",
        )
    front = within("--front-teeth", args.front_teeth, 5, MOST_TEETH)
    rear = within("--rear-teeth", args.rear_teeth, 5, MOST_TEETH)
    pitch, centre = above_zero("--pitch", args.pitch, "mm"), above_zero("--centre", args.centre, "mm")
    return Drive.from_teeth(front, rear, pitch, centre, thread, flats_per_turn=per_turn)


def _difference(args: argparse.Namespace) -> Decimal | None:
    if not both_or_none(args, "--left", "--right", "Read both sides, or give neither: both are then turned alike."):
        return None
    return as_decimal(amount("--left", args.left, "mm") - amount("--right", args.right, "mm"))


def _turns(args: argparse.Namespace) -> tuple[Fraction, Fraction] | None:
    if not both_or_none(args, "--if-left", "--if-right", "Give both; 0 for a side that is not turned."):
        return None
    return flats("--if-left", args.if_left), flats("--if-right", args.if_right)


def _ends(limits: Limits) -> tuple[Fraction, Fraction]:
    low, high = limits
    assert low is not None
    assert high is not None
    return low, high


# --- the answer -----------------------------------------------------------------------------------------------------


def as_data(answer: Advice) -> dict[str, object]:
    """Return the answer unrounded, as it goes out as JSON; slack is null where the chain would run taut."""
    return {
        "left": {"flats": float(answer.left)},
        "right": {"flats": float(answer.right)},
        "axle_movement_mm": answer.axle_movement_mm,
        "expected": {
            "slack_mm": answer.expected_slack_mm[PLACE],
            "difference_mm": float(answer.expected_difference_mm),
        },
    }


def _aside(case: AdviceInput) -> Iterator[str]:
    if case.window_mm is not None and not case.window_mm[0] <= case.aim_mm <= case.window_mm[1]:
        yield "the aim lies outside the window, and the window comes first"


def _assumed(args: argparse.Namespace) -> Iterator[str]:
    """Say what was taken for granted of the sides where it was not given."""
    if args.left is None:
        return
    yield "the middle of the axle is taken for the line of the sprocket"
    if args.grows is None:
        yield f"assumed: the axle is further {GROWS} when a side's gauge reads more; if not so, give --grows forward"


def _short(case: AdviceInput, answer: Advice) -> Iterator[str]:
    """Say how far from the aim the most turns at once stay, where no window says that they do not do."""
    slack = answer.expected_slack_mm[PLACE]
    if case.window_mm is not None or slack is None or max(abs(answer.left), abs(answer.right)) < case.max_flats:
        return
    off = abs(Fraction(slack) - case.aim_mm)
    if off > ROOM_WITHOUT_WINDOW_MM:
        yield (
            f"{case.max_flats} flats are the most to turn at once, and the slack stays {_mm(off, 1)} from the aim: "
            "turn them, seat the axle, measure again; where it is as far as that, count the links of the chain first"
        )


def _lines(case: AdviceInput, answer: Advice, *, asked: bool) -> Iterator[str]:
    turn = "If turned" if asked else "Turn"
    yield f"{turn} left: {flats_said(answer.left)}."
    yield f"{turn} right: {flats_said(answer.right)}."
    yield f"The axle moves {_moved(answer.axle_movement_mm)}; one flat moves its side {_mm(case.drive.per_flat_mm, 3)}."
    slack, before = answer.expected_slack_mm[PLACE], case.slack_mm[PLACE]
    limits = case.window_mm and Limits(*case.window_mm)
    after = "none, the chain is taut" if slack is None else _mm(Decimal(f"{slack:.9f}"), 1, limits)
    yield f"Expect slack: {after} (now {_mm(before, 1)}, aim {_mm(case.aim_mm, 1)}{_window(case)})."
    apart, now = answer.expected_difference_mm, case.difference_before
    measured = f"now {_mm(now, 2)}" if case.difference_mm is not None else "sides not read, taken as equal"
    agree = case.agree_within_mm
    shown = _mm(apart, 2, None if agree is None else Limits(-agree, agree))
    yield f"Expect left minus right: {shown} ({measured}{_agreement(case)})."
    if case.window_mm is not None or case.agree_within_mm is not None:
        yield "That fits." if answer.fits else "That does not fit."


def _moved(movement: float) -> str:
    way = "rearward" if movement > 0 else "forward" if movement < 0 else ""
    return f"{_mm(abs(movement), 3)} {way}".rstrip()


def _window(case: AdviceInput) -> str:
    return "" if case.window_mm is None else f", window {_mm(case.window_mm[0], 1)} to {_mm(case.window_mm[1], 1)}"


def _agreement(case: AdviceInput) -> str:
    return "" if case.agree_within_mm is None else f", agree within {_mm(case.agree_within_mm, 2)}"


def _mm(value: Decimal | Fraction | float, digits: int, limits: Limits | None = None) -> str:
    return approx(Fraction(value), "mm", digits, limits)
