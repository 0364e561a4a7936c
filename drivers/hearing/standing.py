"""When a streamed length stands still, and so is a reading: a pure state machine, one step a frame.

A value is a reading once it has stood within a band for a time, and only after it had moved away from what was read
last. Each step looks at one frame and its own moment, so that it does not matter how frames were bundled on the way.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from drivers.profile.steady import Steady, length_in

PAUSE_NS = 1_000_000_000
"""Nothing is known of what a tool showed in a longer pause of its stream: the standing begins anew."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What a stream has done since it was read last; values are exact, in the unit of the stream."""

    unit: str
    last_read: Fraction
    """What was read last; at first, what was heard first: a tool that lies on the bench says nothing."""
    moved: bool
    low: Fraction
    high: Fraction
    since_ns: int
    at_ns: int


def stand(state: Standing | None, value: Decimal, unit: str, at_ns: int, rule: Steady) -> tuple[Standing, bool]:
    """Take one value of a stream at a monotonic moment; return what is known now, and whether it is a reading."""
    exact = Fraction(value)
    if state is None or state.unit != unit:
        return Standing(unit, exact, False, exact, exact, at_ns, at_ns), False
    moved = state.moved or abs(exact - state.last_read) > length_in(rule.away, unit)
    low, high = min(state.low, exact), max(state.high, exact)
    since_ns = state.since_ns
    if high - low > length_in(rule.band, unit) or at_ns - state.at_ns > PAUSE_NS:
        low = high = exact
        since_ns = at_ns
    now = Standing(unit, state.last_read, moved, low, high, since_ns, at_ns)
    if not moved or at_ns - since_ns < rule.for_ms * 1_000_000:
        return now, False
    return replace(now, last_read=exact, moved=False), True
