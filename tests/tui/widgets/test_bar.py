"""A value is drawn on the side of each limit where it is, whatever the width and however near it lies."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from tui.glance.shown import Bar, Zone
from tui.widgets.bar import bar_rows

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


def test_the_uncertainty_is_a_line_about_the_value() -> None:
    bar = Bar(Fraction(25), Fraction(40), "25 mm", "40 mm", None, "", Fraction(39), spread=Fraction("1.6"))
    _, line, marker = bar_rows(bar, 46)
    assert marker.strip() == "├─▲──┤"
    assert marker.index("├") < line.index("┫") < marker.index("┤"), "it reaches over the limit"


def test_under_a_guarded_rule_what_passes_is_drawn_apart() -> None:
    zone = Zone(Fraction("26.6"), Fraction("38.4"))
    bar = Bar(Fraction(25), Fraction(40), "25 mm", "40 mm", None, "", Fraction("39.2"), zone=zone)
    _, line, marker = bar_rows(bar, 46)
    assert line[line.index("┣") + 1] == line[line.index("┫") - 1] == "┄"
    assert line[marker.index("▲")] == "┄", "too near the limit to tell"


@given(_AMOUNTS, st.fractions(Fraction(1, 1000), 500), _AMOUNTS, st.fractions(0, 100), st.integers(12, 100))
def test_the_line_never_loses_the_value(
    low: Fraction, room: Fraction, value: Fraction, spread: Fraction, width: int
) -> None:
    bar = Bar(low, low + room, "", "", None, "", value, spread=spread)
    marker = bar_rows(bar, width)[2]
    assert marker.count("▲") == 1
    assert len(marker) <= width
    assert marker.index("▲") == bar_rows(Bar(low, low + room, "", "", None, "", value), width)[2].index("▲")


def test_where_nothing_passes_nothing_is_drawn_as_passing() -> None:
    bar = Bar(Fraction(25), Fraction(40), "", "", None, "", Fraction(32), zone=Zone(None, None))
    assert "━" not in bar_rows(bar, 46)[1]
