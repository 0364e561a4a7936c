"""How well the advice brings a chain in, beside trial and error: `python -m tests.bench.advice_survey [FIRST LAST]`.

Each seed is one machine at random (geometry, thread, play, run-out, scatter, wear) that comes in outside what its
sheet asks for, and three mechanics who have it in turn, with the same slips of the hand: one who follows the advice,
and two who turn both adjusters equally, by a guess that learns or one flat at a time (common practice). Fold, rules,
prompts and plan are the program's own; no radio, no trail. What counts is the machine's truth, never a reading.
"""

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal

from simulators.machine import SIDES, Side
from tests.logger.walk import Walk

from .surveycase import NOTICES, WRONG_SIDE, Case, survey_sheet

MOST_ROUNDS = 12
GUESS_MM = 6.0
"""What somebody who works by feel takes a flat to be worth at first, give or take a third: ours."""


# --- the mechanics --------------------------------------------------------------------------------------------------


def advised(case: Case) -> None:
    """Do what the prompts say until the job may close."""
    walk = Walk(survey_sheet(case))
    for _ in range(200):
        prompt = walk.prompt
        if prompt.kind == "close" or len(walk.job.turns) > MOST_ROUNDS:
            return
        match prompt.kind:
            case "measure" if prompt.part:
                walk.read(f"{case.position(prompt.part, prompt.place)} mm")
            case "measure":
                _read_side(walk, case, "left" if prompt.place == "left" else "right")
            case "turn":
                _turn(walk, case)
            case "torque":
                case.machine.tighten("axle", 98.0)
                walk.pull("98.0 N·m")
            case _:
                walk.confirm()


def _read_side(walk: Walk, case: Case, side: Side) -> None:
    slipped = case.slips(WRONG_SIDE)
    at: Side = ("right" if side == "left" else "left") if slipped else side
    walk.read(f"{case.machine.read_side(at).quantize(Decimal('0.01'))} mm")
    if slipped and case.slips(NOTICES):
        walk.back("held the gauge to the wrong side")


def _turn(walk: Walk, case: Case) -> None:
    advice = walk.plan.advice if walk.plan is not None else None
    if advice is None:
        walk.back("measuring again")
        return
    case.adjust({"left": float(advice.left), "right": float(advice.right)})
    walk.turned(str(float(advice.left)), str(float(advice.right)))


def _by_hand(case: Case, flats: Callable[[float, float], int]) -> None:
    """Turn both adjusters equally until the slack reads inside, also with the nut tight."""
    last, turned = 0.0, 0
    while len(case.stood) <= MOST_ROUNDS:
        slack = float(case.position("taut down") - case.position("taut up"))
        if case.low <= slack <= case.high:
            if case.machine.torque["axle"] > 90:
                return
            case.machine.tighten("axle", 98.0)
            continue
        went = (last - slack) / turned if turned else 0.0
        last, turned = slack, flats(slack - case.aim, went)
        case.adjust(dict.fromkeys(SIDES, float(turned)))


def guessing(case: Case) -> None:
    """Guess how many flats, and learn from what the last ones did."""
    first = GUESS_MM * case.rng.uniform(2 / 3, 4 / 3)

    def flats(off: float, went: float) -> int:
        return round(off / max(went or first, 1.0)) or (1 if off > 0 else -1)

    _by_hand(case, flats)


def one_by_one(case: Case) -> None:
    """One flat on both sides, then read again."""
    _by_hand(case, lambda off, _: 1 if off > 0 else -1)


# --- the table ------------------------------------------------------------------------------------------------------

MECHANICS: dict[str, Callable[[Case], None]] = {
    "with advice": advised,
    "equal flats, by guess": guessing,
    "equal flats, one by one": one_by_one,
}


def run(mechanic: Callable[[Case], None], seed: int) -> Case:
    """Let one mechanic have one machine."""
    case = Case.of(seed)
    mechanic(case)
    return case


def lines(name: str, cases: Sequence[Case]) -> Iterator[str]:
    """One mechanic's rows: shares inside in truth after one adjustment and after two."""
    for count in (1, 2):
        stood = [
            case.stood[min(count, len(case.stood)) - 1] if case.stood else (*case.inside(case.machine),) * 2
            for case in cases
        ]
        shares = "  ".join(f"{sum(column) / len(cases):7.1%}" for column in zip(*stood, strict=True))
        yield f"{name:<24} after {count}:  {shares}"
    rounds = sorted(len(case.stood) for case in cases)
    yield f"{name:<24} adjustments until it reads inside: mean {sum(rounds) / len(rounds):.2f}, most {rounds[-1]}"


def main() -> None:
    """Run the seeds named on the command line."""
    first, last = (int(text) for text in (sys.argv[1:3] or ("1", "500")))
    print_ = sys.stdout.write
    print_(f"{last - first + 1} machines; inside in truth:       before the torque       after it\n")
    print_(f"{'':<24}           {'slack':>7}  {'all':>7}  {'slack':>7}  {'all':>7}\n")
    for name, mechanic in MECHANICS.items():
        began = time.perf_counter()
        cases = [run(mechanic, seed) for seed in range(first, last + 1)]
        print_("".join(f"{line}\n" for line in lines(name, cases)))
        print_(f"{'':<24} {time.perf_counter() - began:.0f} s\n")


if __name__ == "__main__":
    main()
