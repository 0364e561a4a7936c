"""The advice as the screen shows it: big words, a part of a turn for a novice, and what goes with it; pure."""

from collections.abc import Iterator
from fractions import Fraction

from logger.advice.plan import Plan
from logger.advice.wear import worn_chain
from logger.bench.moment import Moment
from logger.job.named import flats
from logger.sheets.sheet import DriveTable
from tui import lines

from .shown import Advice, Turning


def advised(moment: Moment) -> Advice | None:
    """Return the advice of an adjust prompt; None where there is none."""
    plan, job = moment.plan, moment.job
    if plan is None:
        return None
    if plan.advice is None:
        stop = "replace the chain" if worn_chain(job) is not None else "do not turn"
        return Advice(None, None, (f"No advice: {plan.stop}.", *lines.as_it_stands(plan)), stop=stop)
    left, right = (turning(side, job.sheet.drive) for side in (plan.advice.left, plan.advice.right))
    off = [_OFF[found.outcome] for found in plan.came_out.values() if found.outcome != "agrees"]
    return Advice(left, right, tuple(_around(plan)), max(off, default=""))


_OFF = {"differs": "! THE LAST TURN CAME OUT OTHERWISE", "opposite": "! THE LAST TURN WENT THE OTHER WAY"}


def _around(plan: Plan) -> Iterator[str]:
    """What to expect and to mind with the turns first, then how the last ones came out, then what is read now."""
    yield from lines.expected(plan)
    yield from (line for line, _ in sorted(lines.came_out(plan), key=lambda each: each[1]))
    yield from lines.shown_by_the_job(plan)
    yield lines.stands(plan)


def turning(count: Fraction, drive: DriveTable | None) -> Turning:
    """Return flats as big words, and as a part of a turn where the adjuster has flats."""
    way = _way(drive, tighter=count > 0) if drive is not None and count else ""
    turn = "" if drive is None or drive.adjuster == "cam" or not count else _part(count, drive.flats_per_turn)
    return Turning(big_flats(count), turn, count, way)


def _way(drive: DriveTable, *, tighter: bool) -> str:
    """Which way round, as the sheet says for tighter; empty where its words do not begin with a way."""
    words = drive.tighten.lower().replace("-", "").replace(",", " ").split()
    if not words or words[0] not in _OTHER:
        return ""
    first = "anticlockwise" if words[0] == "counterclockwise" else words[0]
    return first if tighter else _OTHER[first]


_OTHER = {"clockwise": "anticlockwise", "anticlockwise": "clockwise", "counterclockwise": "clockwise"}


def _part(count: Fraction, per_turn: int) -> str:
    """Flats as a part of whole turns: "5/6 turn", "1 1/6 turns"."""
    whole, part = divmod(abs(count) / per_turn, 1)
    said = " ".join(str(each) for each in (whole, part) if each)
    return f"{said} turn{'s' if abs(count) > per_turn else ''}"


def big_flats(count: Fraction) -> str:
    """Flats in words short enough to be drawn big, "1½ flats tighter"."""
    return flats(count).replace("half a flat", "½ flat").replace(" and a half", "½")
