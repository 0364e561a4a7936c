"""A stream whose every value comes twice is noticed, and one that comes once never is."""

from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.hearing.echo import RUNS, Echo, echo

MS = 1_000_000


def heard(frames: Iterable[tuple[int, bytes]], rate: int | None = None) -> Echo:
    """Take frames, each with its moment in milliseconds."""
    state = Echo()
    for at_ms, payload in frames:
        state = echo(state, payload, at_ms * MS, rate)
    return state


def stream(values: Iterable[int], times: int = 1, every_ms: int = 10) -> list[tuple[int, bytes]]:
    """Return a stream whose every value comes so many times, at once."""
    return [(n * every_ms, bytes([v])) for n, v in enumerate(values) for _ in range(times)]


@pytest.mark.parametrize("times", [2, 4])
def test_every_value_twice_is_noticed_once_enough_has_changed(times: int) -> None:
    assert not heard(stream(range(RUNS), times)).doubled
    assert heard(stream(range(RUNS + 1), times)).doubled


def test_a_hand_that_holds_still_in_a_doubled_stream_hides_it_only_for_a_while() -> None:
    held = [7] * 100
    assert not heard(stream(held, 2)).doubled
    assert heard(stream([*held, *range(20, 20 + RUNS)], 2)).doubled


def test_once_noticed_it_stays_noticed_for_this_link() -> None:
    assert heard([*stream(range(40), 2), (900, b"x"), (910, b"y")]).doubled


@given(st.lists(st.integers(0, 255), max_size=300))
def test_no_stream_that_comes_once_and_in_its_time_is_taken_for_doubled(values: list[int]) -> None:
    assert not heard(stream(values)).doubled


@pytest.mark.parametrize("times", [1, 3])
def test_a_value_that_comes_an_odd_number_of_times_shows_that_nothing_is_doubled(times: int) -> None:
    assert heard([*stream(range(5), 2), *stream(range(100, 103), times)]).clean
    assert not heard(stream(range(30), 2)).clean


def test_the_second_of_a_pair_comes_at_once() -> None:
    slow = [(n * 10, bytes([n // 2])) for n in range(80)]  # a tool that measures half as often as it sends
    assert not heard(slow).doubled


def test_a_stream_far_faster_than_its_profile_says_is_noticed_whatever_it_carries() -> None:
    twice = [(n * 5, b"\x07") for n in range(700)]
    assert heard(twice, rate=100).doubled
    assert not heard(twice).doubled, "nothing is known of its rate"
    assert not heard([(n * 10, b"\x07") for n in range(700)], rate=100).doubled
    assert not heard([(n * 8, b"\x07") for n in range(700)], rate=100).doubled, "a clock that is off by a quarter"


def test_a_link_that_was_held_up_and_delivers_late_is_not_taken_for_doubled() -> None:
    steady = [(n * 10, b"\x07") for n in range(300)]
    late = [(4000 + n, b"\x07") for n in range(90)]
    after = [(4100 + n * 10, b"\x07") for n in range(300)]
    assert not heard([*steady, *late, *after], rate=100).doubled
