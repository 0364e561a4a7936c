"""What a bench sends next, as pure decisions."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from logger.shop.outboxstate import FIRST_WINDOW, WINDOW, Sending, acknowledged, asked_again, refused, sent, stalled
from logger.shop.wireport import LONGEST_WAIT_S, wait_before

HERE = Sending("t", alive=True)


def test_nothing_is_sent_before_the_collector_says_where_it_is() -> None:
    assert HERE.room() == 0
    assert acknowledged(replace(HERE, alive=False), "t", 0, True).room() == 0
    assert acknowledged(HERE, "t", 0, True).room() == FIRST_WINDOW


def test_the_window_bounds_what_is_on_its_way() -> None:
    state = acknowledged(HERE, "t", 10, True)
    for seq in range(11, 11 + FIRST_WINDOW):
        assert state.room() == 11 + FIRST_WINDOW - seq
        state = sent(state, seq)
    assert state.room() == 0
    assert acknowledged(state, "t", 12, True).room() == 3


def test_the_window_grows_with_success_and_halves_with_loss() -> None:
    state = acknowledged(HERE, "t", 0, True)
    for seq in range(1, 200):
        state = acknowledged(sent(state, seq), "t", seq, True)
    assert state.window == WINDOW
    assert stalled(state).window == WINDOW // 2
    assert asked_again(sent(state, 240), "t", 220).window == WINDOW // 2
    for _ in range(20):
        state = stalled(state)
    assert state.window == 1
    assert state.room() == 1


def test_a_collector_that_lost_its_store_is_followed_back() -> None:
    state = sent(acknowledged(HERE, "t", 50, True), 60)
    back = acknowledged(state, "t", 7, True)
    assert (back.acked, back.sent) == (7, 7)


def test_another_version_at_the_shop_stops_the_sending() -> None:
    state = acknowledged(HERE, "t", 5, True)
    assert "another event 6" in acknowledged(state, "t", 6, False).conflict
    cut = acknowledged(state, "t", 9, None)
    assert "more than there are here" in cut.conflict
    assert cut.room() == 0


def test_other_trails_change_nothing() -> None:
    state = acknowledged(HERE, "t", 5, True)
    assert acknowledged(state, "u", 9, False) == state
    assert asked_again(state, "u", 1) == state
    assert refused(state, "u", 6, "conflict", "") == state


def test_a_gap_is_sent_again_but_never_what_is_acknowledged() -> None:
    state = sent(acknowledged(HERE, "t", 5, True), 20)
    assert asked_again(state, "t", 8).sent == 7
    assert asked_again(state, "t", 2).sent == 5
    assert stalled(state).sent == 5


def test_a_parked_event_is_gone_on_without() -> None:
    state = sent(acknowledged(HERE, "t", 5, True), 6)
    assert refused(state, "t", 7, "parked", "bad") == state
    assert refused(state, "t", 6, "refused", "bad").sent == 5
    parked = refused(state, "t", 6, "parked", "bad")
    assert not parked.waits(6)
    assert parked.waits(7) is False
    assert sent(parked, 7).waits(7)
    assert acknowledged(parked, "t", 7, True).parked == frozenset()


@given(st.integers(1, 10_000), st.floats(0, 0.999))
def test_the_wait_is_bounded_and_never_nothing(attempt: int, share: float) -> None:
    assert 0.5 <= wait_before(attempt, share) < LONGEST_WAIT_S + 1e-9
    assert wait_before(attempt, share) <= wait_before(attempt + 1, share)


def test_two_benches_do_not_come_back_together() -> None:
    assert wait_before(7, 0.0) == 30.0
    assert wait_before(7, 0.5) == 45.0
