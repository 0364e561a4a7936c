"""When a streamed length stands still: the vectors, and what holds of every stream."""

from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.hearing.standing import Standing, stand
from drivers.profile.steady import Steady

RULE = Steady(band="0.02 mm", for_ms=300, away="0.10 mm")
STEP_MS = 100
MS = 1_000_000


def reads(texts: Sequence[str], rule: Steady = RULE, unit: str = "mm", step_ms: int = STEP_MS) -> list[tuple[int, str]]:
    """Return which values of a stream are readings, with their place in it."""
    found, state = [], None
    for place, text in enumerate(texts):
        state, still = stand(state, Decimal(text), unit, place * step_ms * MS, rule)
        found += [(place, text)] if still else []
    return found


@pytest.mark.parametrize(
    ("stream", "found"),
    [
        ("30.00 30.00 30.00 30.00 30.00 30.00", []),  # it lies on the bench, and always did
        ("0.00 30.00 30.00 30.00", []),  # not long enough yet
        ("0.00 30.00 30.00 30.00 30.00", [(4, "30.00")]),
        ("0.00 30.00 30.00 30.00 30.00 30.00 30.00 30.00 30.00", [(4, "30.00")]),  # once
        ("0.00 30.00 30.01 30.02 30.01", [(4, "30.01")]),  # within the band, limits included
        ("0.00 30.00 30.01 30.02 30.03", []),  # it creeps out of the band
        ("0.00 30.00 30.00 30.03 30.00 30.00 30.00", []),  # a twitch begins it anew
        ("0.00 30.00 30.00 30.03 30.00 30.00 30.00 30.00", [(7, "30.00")]),
        ("0.00 0.10 0.10 0.10 0.10", []),  # not away from what was there: 0.10 is not more than 0.10
        ("0.00 0.11 0.11 0.11 0.11", [(4, "0.11")]),
        ("0.00 9.00 9.00 9.00 9.00 9.50 9.00 9.00 9.00 9.00", [(4, "9.00"), (9, "9.00")]),  # the same part twice
        ("0.00 9.00 9.00 9.00 9.00 9.05 9.05 9.05 9.05 9.05", [(4, "9.00")]),  # it was not taken off
        ("0.00 -5.00 -5.00 -5.00 -5.00", [(4, "-5.00")]),
    ],
)
def test_what_stands_still_after_it_has_moved_is_read_once(stream: str, found: list[tuple[int, str]]) -> None:
    assert reads(stream.split()) == found


def test_the_band_is_taken_in_the_unit_of_the_tool() -> None:
    rule = Steady(band="0.0254 mm", for_ms=300, away="0.1 mm")
    assert reads(["0.0000", "1.0000", "1.0010", "1.0000", "1.0005"], rule, "in") == [(4, "1.0005")]
    assert reads(["0.0000", "1.0000", "1.0011", "1.0000", "1.0005"], rule, "in") == []


def test_another_unit_begins_anew() -> None:
    state: Standing | None = None
    state, _ = stand(state, Decimal("0.00"), "mm", 0, RULE)
    for place in range(1, 9):
        state, still = stand(state, Decimal("1.000"), "in", place * STEP_MS * MS, RULE)
        assert not still, "an inch that always was there is no movement"


def test_a_longer_pause_of_the_stream_is_no_standing() -> None:
    state, _ = stand(None, Decimal(0), "mm", 0, RULE)
    state, _ = stand(state, Decimal(30), "mm", 100 * MS, RULE)
    _, still = stand(state, Decimal(30), "mm", 1101 * MS, RULE)
    assert not still
    _, still = stand(state, Decimal(30), "mm", 1100 * MS, RULE)
    assert still


values = st.lists(st.decimals(0, 2, places=2), max_size=60)


@given(values, st.integers(10, 400))
def test_what_is_read_had_moved_and_stood(stream: list[Decimal], step_ms: int) -> None:
    """Independent of the state machine: look back from each reading over the whole stream."""
    last, last_place = (stream[0], 0) if stream else (Decimal(0), 0)
    for place, _ in reads([str(v) for v in stream], step_ms=step_ms):
        stood = stream[place - -(-300 // step_ms) : place + 1]
        assert max(stood) - min(stood) <= Decimal("0.02")
        assert any(abs(v - last) > Decimal("0.10") for v in stream[last_place : place + 1])
        last, last_place = stream[place], place


@given(values, st.data())
def test_it_does_not_matter_how_a_stream_is_cut_into_pieces(stream: list[Decimal], data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(stream)))
    whole, state = reads([str(v) for v in stream]), None
    found = []
    for first, piece in ((0, stream[:at]), (at, stream[at:])):
        for place, value in enumerate(piece, first):
            state, still = stand(state, value, "mm", place * STEP_MS * MS, RULE)
            found += [(place, str(value))] if still else []
    assert found == whole
