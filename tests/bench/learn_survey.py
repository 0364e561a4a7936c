"""How many readings the learner needs on tools that never were; run as: python -m tests.bench.learn_survey [COUNT]."""

import random
import statistics
import sys
from dataclasses import dataclass

from logger.learn.learn import Fit, Lesson, learn
from tests.logger.learn.encodings import Tool, make, seen

MOST = 12
"""Readings after which a tool counts as not found."""


@dataclass(frozen=True)
class Outcome:
    """How one tool was learned."""

    seed: int
    what: str
    end: str
    """"found", "wrong", "refused" or "open"."""
    readings: int
    why: str = ""


def survey(seed: int) -> Outcome:
    """Learn one tool: two readings first, then whatever is asked for."""
    tool = make(seed)
    told = set(_first(tool, random.Random(seed)))
    while True:
        lesson = learn(seen(tool, told))
        if not lesson.fits:
            return Outcome(seed, tool.what, "refused", len(told), lesson.refusal)
        if lesson.ask is None:
            why = mistakes(tool, lesson.fits[0])
            return Outcome(seed, tool.what, "wrong" if why else "found", len(told), why)
        if len(told) >= MOST:
            return Outcome(seed, tool.what, "open", len(told), lesson.ask.say)
        told.add(_answer(tool, lesson, told))


def _first(tool: Tool, rng: random.Random) -> list[int]:
    places = [i for i, each in enumerate(tool.frames) if each.truth and float(each.truth.split()[0])]
    return rng.sample(places, 2)


def _answer(tool: Tool, lesson: Lesson, told: set[int]) -> int:
    asked = lesson.ask.place if lesson.ask else None
    if asked is not None and tool.frames[asked].truth:
        return asked
    return next(i for i, each in enumerate(tool.frames) if each.truth and i not in told)


def mistakes(tool: Tool, fit: Fit) -> str:
    """Return what a fit reads otherwise than the display showed, or nothing."""
    for i, each in enumerate(tool.frames):
        said = fit.readings.get(i)
        if each.truth is None and said is not None:
            return f"{each.octets.hex()} is no measurement, read as {said}"
        if each.truth is not None and (said is None or not _equal(said, each.truth)):
            return f"{each.octets.hex()} is {each.truth}, read as {said}"
    return ""


def _equal(said: str, truth: str) -> bool:
    number, _, unit = said.partition(" ")
    right, _, right_unit = truth.partition(" ")
    return float(number) == float(right) and unit == right_unit


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    outcomes = [survey(seed) for seed in range(count)]
    found = [each.readings for each in outcomes if each.end == "found"]
    lines = [f"{end:8} {sum(each.end == end for each in outcomes):4}" for end in ("found", "wrong", "refused", "open")]
    lines.append(f"readings needed: median {statistics.median(found)}, worst {max(found)}")
    lines += [f"{each.seed:4} {each.end}: {each.what} ({each.why})" for each in outcomes if each.end != "found"]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
