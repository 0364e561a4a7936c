"""What the rules say of one check, and how a computed value is written so that it never contradicts its verdict."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from logger.events import Verdict
from logger.metrology.conformity import Decision
from logger.metrology.uncertainty import Budget
from logger.units import Limits, Quantity, approx, factor

PASSES: frozenset[Verdict] = frozenset({"inside", "done", "overridden"})
"""What lets the job close."""
FAILS: frozenset[Verdict] = frozenset({"low", "high", "uneven", "unsure"})
"""What only an act, another tool or an override changes."""
WANTS: frozenset[Verdict] = frozenset({"waiting", "stale", "unsteady"})
"""What a further reading, pull or word may settle."""
LOUD = FAILS | {"unsteady"}
"""What has to be heard at once."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One check with its verdict, the value it rests on and the room left to the nearest limit."""

    check: str
    verdict: Verdict
    reason: str = ""
    value: Fraction | None = None
    text: str = ""
    """The value as shown, without its unit: the digits received, or a difference or mean of them."""
    unit: str = ""
    margin: Fraction | None = None
    """Distance to the nearest limit in `unit`, negative outside."""
    attempts: int = 0
    to_loosen: bool = False
    """A fastener that no further pull can bring to pass: only loosening it can."""
    decision: Decision | None = None
    """Margin, chance of being truly inside, uncertainty and acceptance limits, where there is a value to judge."""
    assumed: str = ""
    """What the uncertainty rests on, such as one tool for both sides of a difference."""
    unknown: tuple[str, ...] = ()
    """What nobody stated of the tool and the method, and which therefore counts as nothing."""
    warnings: tuple[str, ...] = ()
    """What does not change the verdict but should be known, such as a resolution that is coarse for the window."""
    more: bool = False
    """Whether one further repeat may change the answer: the value lies within its uncertainty of a limit."""
    budget: Budget | None = None
    """Where the uncertainty comes from."""

    @property
    def passes(self) -> bool:
        """Whether this check lets the job close."""
        return self.verdict in PASSES


def standing(verdicts: Sequence[Verdict], what: str = "") -> str:
    """How many checks pass, in words, such as "14 of 15 pass, 1 overridden": what was let pass does not pass."""
    let = verdicts.count("overridden")
    passed = sum(verdict in PASSES for verdict in verdicts) - let
    return f"{passed} of {len(verdicts)}{what} pass" + (f", {let} overridden" if let else "")


def limit_in(quantity: Quantity, unit: str) -> Fraction:
    """Return a limit of the sheet in another unit, exactly; BadInput when the kinds differ."""
    return Fraction(quantity.value) * factor(quantity.unit, unit)


def number(value: Fraction, unit: str, digits: int, limits: Limits | None = None) -> str:
    """Write a value without its unit, marked ≈ unless exact, never so rounded that it would change its verdict."""
    return approx(value, unit, digits, limits).removesuffix(unit).rstrip()
