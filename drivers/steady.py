"""When a streamed length stands still, and so is a reading: a pure state machine, one step a frame.

A value is a reading once it has stood within a band for a time, and only after it had moved away from what was read
last. Each step looks at one frame and its own moment, so that it does not matter how frames were bundled on the way.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Annotated

from pydantic import AfterValidator, Field

from .fields import Amount, Strict

PAUSE_NS = 1_000_000_000
"""Nothing is known of what a tool showed in a longer pause of its stream: the standing begins anew."""
_MILLIMETRES: dict[str, Fraction] = {
    "mm": Fraction(1),
    "µm": Fraction(1, 1000),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction("25.4"),
    "ft": Fraction("304.8"),
    "thou": Fraction("0.0254"),
}
"""Exact by definition of the inch (international yard and pound agreement, 1959)."""


def _length(text: str) -> str:
    if text.split()[1] not in _MILLIMETRES:
        raise ValueError(f"{text!r} is not a length")
    return text


Length = Annotated[Amount, AfterValidator(_length)]


class Steady(Strict):
    """When a streamed value stands still."""

    band: Length
    """Between the lowest and the highest value while it stands, at most."""
    for_ms: int = Field(ge=100, le=10_000)
    """How long it stands, in milliseconds."""
    away: Length
    """How far it moves from what was read last before it can be read again; more than this."""


COMMON = Steady(band="0.02 mm", for_ms=600, away="0.20 mm")
"""For a profile that states none: two steps of a common caliper, for as long as a look takes (ours, no source)."""


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
    moved = state.moved or abs(exact - state.last_read) > _in(rule.away, unit)
    low, high = min(state.low, exact), max(state.high, exact)
    since_ns = state.since_ns
    if high - low > _in(rule.band, unit) or at_ns - state.at_ns > PAUSE_NS:
        low = high = exact
        since_ns = at_ns
    now = Standing(unit, state.last_read, moved, low, high, since_ns, at_ns)
    if not moved or at_ns - since_ns < rule.for_ms * 1_000_000:
        return now, False
    return replace(now, last_read=exact, moved=False), True


def _in(amount: str, unit: str) -> Fraction:
    number, of = amount.split()
    return Fraction(number) * _MILLIMETRES[of] / _MILLIMETRES[unit]
