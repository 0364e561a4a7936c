"""Keys are cut into lines at once, in their order, and half lines are thrown away and told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.tui.hand import StillClock
from tui.entry.keys import LONGEST, Collector, Half, Line


def _type(collector: Collector, text: str) -> list[Line | Half]:
    cuts: list[Line | Half] = []
    for character in text:
        cuts += collector.end() if character in "\r\n\t" else collector.add(character)
    return cuts


def test_a_burst_of_lines_never_runs_together() -> None:
    texts = [f"{number}.25 mm" for number in range(200)]
    cuts = _type(Collector(StillClock()), "".join(f"{text}\r" for text in texts))
    assert cuts == [Line(text) for text in texts]


@pytest.mark.parametrize("end", ["\r", "\n", "\t", "\r\n"])
def test_a_line_ends_at_cr_lf_or_tab(end: str) -> None:
    assert _type(Collector(StillClock()), f"36.2 mm{end}9.5 mm{end}") == [Line("36.2 mm"), Line("9.5 mm")]


def test_a_half_line_expires_two_seconds_after_its_last_key() -> None:
    clock = StillClock()
    collector = Collector(clock)
    _type(collector, "12.")
    clock.ms += 1999
    assert collector.expire() == ()
    clock.ms += 1
    assert collector.expire() == (Half("12."),)
    assert collector.text == ""


def test_a_half_line_is_never_the_beginning_of_the_next() -> None:
    clock = StillClock()
    collector = Collector(clock)
    _type(collector, "12.")
    clock.ms += 5000
    assert _type(collector, "36.2 mm\r") == [Half("12."), Line("36.2 mm")]


@pytest.mark.parametrize(
    ("keys_ms", "gap_ms"), [([0, 4, 8, 13, 17], 4), ([0, 180, 420, 600], 180), ([0, 3, 6, 900, 903], 3), ([0], None)]
)
def test_how_fast_a_line_was_typed_comes_with_it(keys_ms: list[int], gap_ms: int | None) -> None:
    clock = StillClock()
    collector = Collector(clock)
    for _ in range(2):  # the line before it does not count
        start = clock.ms
        for at_ms in keys_ms:
            clock.ms = start + at_ms
            collector.add("7")
        (line,) = collector.end()
        assert isinstance(line, Line)
        assert line.gap_ms == gap_ms
        clock.ms += 5000


def test_a_person_can_erase_and_drop() -> None:
    collector = Collector(StillClock())
    _type(collector, "36.22")
    collector.erase()
    assert collector.text == "36.2"
    assert collector.drop() == "36.2"
    assert collector.end() == ()


def test_a_stuck_key_fills_no_memory() -> None:
    collector = Collector(StillClock())
    _type(collector, "4" * 100_000)
    assert len(collector.text) == LONGEST


@given(st.lists(st.text(alphabet="0123456789. mN", min_size=1, max_size=12).filter(str.strip), max_size=8))
def test_lines_come_out_as_they_went_in(lines: list[str]) -> None:
    assert _type(Collector(StillClock()), "".join(f"{line}\r" for line in lines)) == [Line(line) for line in lines]
