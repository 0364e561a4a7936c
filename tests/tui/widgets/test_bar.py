"""A value is drawn on the side of each limit where it is, whatever the width and however near it lies."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from tui.widgets.bar import Bar, bar_rows

_AMOUNTS = st.fractions(-1000, 1000, max_denominator=1000)


def _bar(low: Fraction, high: Fraction, value: Fraction) -> Bar:
    return Bar(low, high, str(low), str(high), (low + high) / 2, "aim", value)


@given(_AMOUNTS, st.fractions(Fraction(1, 1000), 500), _AMOUNTS, st.integers(12, 100))
def test_the_marker_stands_where_the_verdict_is(low: Fraction, room: Fraction, value: Fraction, width: int) -> None:
    high = low + room
    _, line, marker = bar_rows(_bar(low, high, value), width)
    at, first, last = marker.index("▲"), line.index("┣"), line.index("┫")
    assert len(line) == width
    if value < low:
        assert at < first
    elif value > high:
        assert at > last
    else:
        assert first <= at <= last


def test_a_bar_reads_as_it_should() -> None:
    bar = Bar(Fraction(25), Fraction(40), "25 mm", "40 mm", Fraction(32), "aim 32 mm", Fraction("36.2"))
    assert bar_rows(bar, 46) == (
        "      25 mm       aim 32 mm        40 mm",
        "──────────┣━━━━━━━━━━━╋━━━━━━━━━━━━┫──────────",
        "                             ▲",
    )


def test_a_pull_climbs_from_zero_and_keeps_its_most() -> None:
    bar = Bar(Fraction(90), Fraction(106), "90", "106", Fraction(98), "aim", Fraction(50), Fraction(95))
    _, line, marker = bar_rows(bar, 60)
    assert line.startswith("█")
    assert line.count("█") < line.index("┣"), "it has not reached the window"
    assert line.index("┣") <= marker.index("│") <= line.index("┫")


def test_nothing_taken_draws_no_marker() -> None:
    assert bar_rows(Bar(Fraction(0), Fraction(1), "0", "1"), 30)[2] == ""
