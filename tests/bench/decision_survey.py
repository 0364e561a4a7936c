"""False accepts and false rejects near a limit: `python -m tests.bench.decision_survey [MACHINES [READINGS]]`.

Simulated machines whose true slack lies about a window's limits are read as hands read them, each reading is decided by
the simple and by the guarded rule, and the decision is held against the machine's truth. Beside each share stands what
theory expects for the same truths: the probability that a normal error of standard uncertainty u carries that truth
across the acceptance limit (JCGM 106:2012, 9.3 and 9.5; ILAC-G8:09/2019, table 1 for w = U: at most 2.3 %).
"""

import math
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from random import Random

from logger.metrology.conformity import GUARDED, SIMPLE, DecisionRule, decide, normal_cdf
from logger.metrology.uncertainty import Amount, Budget, stated
from logger.metrology.worth import ToolFigures, difference, reading_budget
from logger.units import Limits
from simulators.machine import Machine
from tests.simulators.anymachine import random_spec

WINDOW = Limits(Fraction(25), Fraction(40))
BEYOND_MM = 4.0
"""How far outside the window a machine may truly lie."""
CALIPER = ToolFigures(accuracy=Amount(Fraction(3, 100)), resolution=Fraction(1, 1000))
RULES: tuple[tuple[str, DecisionRule], ...] = (
    ("simple", SIMPLE),
    ("guarded, both limits, w = U", GUARDED),
    ("guarded, tight limit only", replace(GUARDED, sides="low")),
    ("guarded, w = 1.0 mm", replace(GUARDED, guard=Fraction(1))),
)


@dataclass(frozen=True, slots=True)
class Seen:
    """One reading with the truth behind it, in mm."""

    true: float
    read: Decimal
    budget: Budget

    @property
    def good(self) -> bool:
        """Whether the truth lies inside the window."""
        assert WINDOW.low is not None
        assert WINDOW.high is not None
        return float(WINDOW.low) <= self.true <= float(WINDOW.high)


def readings(machines: int, each: int, seed: int = 1) -> Iterator[Seen]:
    """Read many machines several times, their true slack spread evenly about the window."""
    rng = Random(seed)
    for _ in range(machines):
        low, high = 25 - BEYOND_MM, 40 + BEYOND_MM
        spec = replace(random_spec(rng), slack_mm=rng.uniform(low, high))
        machine = Machine(spec, rng)
        angle = machine.tightest_angle()
        true = machine.true_slack(angle)
        for _ in range(each):
            down, up = machine.read_run("taut down", angle), machine.read_run("taut up", angle)
            parts = (reading_budget(CALIPER, [part]) for part in (down, up))
            method = stated("method", Fraction(spec.slack_sd_mm))
            yield Seen(true, down - up, difference(*parts, same_tool=True).plus(method))


@dataclass(slots=True)
class Tally:
    """Counts of one rule."""

    good: int = 0
    bad: int = 0
    accepted_bad: int = 0
    not_accepted_good: int = 0
    rejected_good: int = 0
    unsure: int = 0
    expected_accepted_bad: float = 0.0
    expected_not_accepted_good: float = 0.0
    promised: float = 0.0
    """Sum over accepted values of the chance of being inside that the person was shown."""
    accepted: int = 0

    def add(self, seen: Seen, rule: DecisionRule) -> None:
        """Count one reading."""
        decision = decide(seen.read, WINDOW, seen.budget, rule)
        likely = accept_probability(seen, decision.acceptance)
        self.unsure += decision.word == "unsure"
        if decision.word == "inside":
            self.accepted += 1
            self.promised += decision.chance
        if seen.good:
            self.good += 1
            self.not_accepted_good += decision.word != "inside"
            self.rejected_good += decision.word in ("low", "high")
            self.expected_not_accepted_good += 1 - likely
        else:
            self.bad += 1
            self.accepted_bad += decision.word == "inside"
            self.expected_accepted_bad += likely


def accept_probability(seen: Seen, acceptance: Limits | None) -> float:
    """Return the probability that a reading of this truth lies in the acceptance zone, by theory."""
    if acceptance is None or acceptance.low is None or acceptance.high is None:
        return 0.0
    u = seen.budget.u
    return normal_cdf((float(acceptance.high) - seen.true) / u) - normal_cdf((float(acceptance.low) - seen.true) / u)


def survey(machines: int, each: int) -> Iterator[str]:
    """The table."""
    tallies = [Tally() for _ in RULES]
    for seen in readings(machines, each):
        for tally, (_, rule) in zip(tallies, RULES, strict=True):
            tally.add(seen, rule)
    first = tallies[0]
    yield f"{machines} machines, {each} readings each: {first.good} truly inside, {first.bad} truly outside"
    head = ("rule", "outside, accepted", "theory", "inside, not accepted", "theory", "inside, called out", "unsure")
    yield " | ".join(head)
    for tally, (name, _) in zip(tallies, RULES, strict=True):
        yield " | ".join((name, *columns(tally)))
    yield "accepted values truly inside | promised by the chance shown"
    for tally, (name, _) in zip(tallies, RULES, strict=True):
        kept = tally.accepted - tally.accepted_bad
        yield f"{name} | {share(kept, tally.accepted)} | {share(tally.promised, tally.accepted)}"


def columns(tally: Tally) -> Sequence[str]:
    """The figures of one rule, each share with its standard error where it was counted."""
    total = tally.good + tally.bad
    return (
        share(tally.accepted_bad, tally.bad, error=True),
        share(tally.expected_accepted_bad, tally.bad),
        share(tally.not_accepted_good, tally.good, error=True),
        share(tally.expected_not_accepted_good, tally.good),
        share(tally.rejected_good, tally.good),
        share(tally.unsure, total),
    )


def share(part: float, whole: int, *, error: bool = False) -> str:
    """A share in percent, with its binomial standard error where asked for."""
    found = part / whole if whole else 0.0
    spread = f" ± {100 * math.sqrt(found * (1 - found) / whole):.2f}" if error and whole else ""
    return f"{100 * found:.2f} %{spread}"


def main() -> None:
    """Print the table."""
    machines, each = ([int(argument) for argument in sys.argv[1:]] + [2000, 20][len(sys.argv) - 1 :])[:2]
    sys.stdout.write("\n".join(survey(machines, each)) + "\n")


if __name__ == "__main__":
    main()
