"""How far a bench's chain reaches with what has arrived: pure."""

from collections.abc import Iterable, Set
from dataclasses import dataclass, field

from .check import Arrived

FURTHEST = 4096
"""Events further ahead than this are not kept: they come again."""


@dataclass(frozen=True, slots=True)
class Chain:
    """The contiguous part of one trail: its last number, and the hash of that event."""

    seq: int
    hash: bytes


@dataclass(slots=True)
class Advance:
    """What became of a heap of events: each is in one of the lists."""

    chain: Chain
    taken: list[Arrived] = field(default_factory=list)
    """They follow, in order."""
    ahead: list[Arrived] = field(default_factory=list)
    """They wait for what is missing before them."""
    old: list[Arrived] = field(default_factory=list)
    """Number up to the chain's: doubles, latecomers for a parked place, or another version."""
    forked: list[Arrived] = field(default_factory=list)
    """They do not follow the event before them: another version of this trail."""


def advance(chain: Chain, heap: Iterable[Arrived], parked: Set[int] = frozenset()) -> Advance:
    """Sort a heap of events, in any order and with doubles, behind the chain; a parked number is stepped over."""
    result = Advance(chain)
    waiting: dict[int, list[Arrived]] = {}
    for event in heap:
        if event.seq <= chain.seq:
            result.old.append(event)
        elif all(event.hash != other.hash for other in waiting.setdefault(event.seq, [])):
            waiting[event.seq].append(event)
    while (following := _step(result, waiting, parked)) is not None:
        result.chain = following
    result.ahead = [event for seq in sorted(waiting) for event in waiting[seq] if seq <= result.chain.seq + FURTHEST]
    return result


def _step(result: Advance, waiting: dict[int, list[Arrived]], parked: Set[int]) -> Chain | None:
    """Return the chain one event longer; None where it ends."""
    chain, seq = result.chain, result.chain.seq + 1
    here = waiting.pop(seq, [])
    fits = next((event for event in here if event.prev == chain.hash), None)
    result.forked.extend(event for event in here if event is not fits)
    if fits is not None:
        result.taken.append(fits)
        return Chain(seq, fits.hash)
    if seq in parked and waiting.get(seq + 1):
        return Chain(seq, waiting[seq + 1][0].prev)
    return None


def gap(result: Advance) -> tuple[int, int] | None:
    """Return first and last number that are missing before what waits; None when nothing waits."""
    if not result.ahead:
        return None
    return result.chain.seq + 1, result.ahead[0].seq - 1
