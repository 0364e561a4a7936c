"""Whatever order and however often events arrive, the same chain comes out."""

import random

from hypothesis import given
from hypothesis import strategies as st

from logger.collector.chain import FURTHEST, Chain, advance, gap
from logger.collector.check import Arrived
from logger.trail.canonical import genesis
from logger.trail.read import StoredEvent
from tests.collect.made import TRAIL, chain

START = Chain(0, genesis(TRAIL))
EVENTS = chain(12)


def arrived(event: StoredEvent) -> Arrived:
    return Arrived("bay-1", TRAIL, event.seq, event.prev, event.hash, event.bytes, "j1")


@given(st.randoms(use_true_random=False), st.lists(st.integers(1, 12), max_size=30))
def test_any_order_with_any_doubles_gives_the_same_chain(draw: random.Random, doubles: list[int]) -> None:
    heap = [arrived(event) for event in EVENTS] + [arrived(EVENTS[seq - 1]) for seq in doubles]
    draw.shuffle(heap)
    result = advance(START, heap)
    assert [event.seq for event in result.taken] == list(range(1, 13))
    assert result.chain == Chain(12, EVENTS[-1].hash)
    assert [*result.ahead, *result.forked, *result.old] == []


@given(st.lists(st.integers(1, 12), unique=True))
def test_in_pieces_it_is_the_same_as_at_once(cuts: list[int]) -> None:
    state, ahead = START, list[Arrived]()
    for seq in [*cuts, *(seq for seq in range(1, 13) if seq not in cuts)]:
        result = advance(state, [*ahead, arrived(EVENTS[seq - 1])])
        state, ahead = result.chain, result.ahead
    assert state == Chain(12, EVENTS[-1].hash)
    assert ahead == []


def test_a_gap_is_named() -> None:
    result = advance(START, [arrived(EVENTS[0]), arrived(EVENTS[4]), arrived(EVENTS[6])])
    assert result.chain.seq == 1
    assert gap(result) == (2, 4)


def test_another_version_is_told_apart_and_does_not_stop_the_one_that_came_first() -> None:
    fork = arrived(chain(1, text="written anew", after=EVENTS[2])[0])
    result = advance(START, [*(arrived(event) for event in EVENTS), fork])
    assert result.chain.seq == 12
    assert result.forked == [fork]
    astray = arrived(chain(3, text="elsewhere")[2])
    result = advance(Chain(2, EVENTS[1].hash), [astray])
    assert result.forked == [astray]
    assert result.chain.seq == 2


def test_a_parked_place_is_stepped_over_once_the_next_is_there() -> None:
    held = Chain(2, EVENTS[1].hash)
    assert advance(held, [], {3}).chain == held
    result = advance(held, [arrived(EVENTS[3]), arrived(EVENTS[4])], {3})
    assert [event.seq for event in result.taken] == [4, 5]
    assert gap(result) is None


def test_what_is_too_far_ahead_is_not_kept() -> None:
    far = Arrived("bay-1", TRAIL, FURTHEST + 2, b"", b"x", b"", "j1")
    assert advance(START, [far]).ahead == []
