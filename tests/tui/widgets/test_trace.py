"""The plot of a pull: never on the wrong side of a limit, the peak marked, and never wider or higher than it may be."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.replay.traced import Plot
from tui.widgets.painted import Painted
from tui.widgets.trace import LEAST_ROWS, plot_rows, trace_rows

POINTS = tuple((50 * at, Fraction(size)) for at, size in enumerate((0, 20, 45, 70, 88, 97, 40, 2)))


def _plot(points: tuple[tuple[int, Fraction], ...] = POINTS, low: int = 90, high: int = 106) -> Plot:
    return Plot("Axle nut", "N·m", points, Fraction(low), Fraction(high), Fraction(98), f"{low} N·m", f"{high} N·m")


def test_a_pull_as_it_looks() -> None:
    assert trace_rows(_plot(), 30, 9) == (
        "",
        "    106 ──────────────────────",
        "                       ◆",
        "     90 ───────────────│──│───",
        "              •  •  •     •",
        "              │              │",
        "           •                 │",
        "      0 •                    •",
        "        0               0.35 s",
    )


@pytest.mark.parametrize(("width", "height"), [(12, 9), (30, LEAST_ROWS - 1)])
def test_where_there_is_no_room_there_is_no_plot(width: int, height: int) -> None:
    assert trace_rows(_plot(), width, height) == ()


_SIZES = st.fractions(min_value=0, max_value=200, max_denominator=50)


@given(st.lists(_SIZES, min_size=1, max_size=60), st.integers(20, 90), st.integers(6, 30), st.integers(1, 150))
def test_nothing_is_drawn_on_the_wrong_side_of_a_limit(
    sizes: list[Fraction], width: int, height: int, low: int
) -> None:
    plot = _plot(tuple((20 * at, size) for at, size in enumerate(sizes)), low, low + 10)
    rows = trace_rows(plot, width, height)
    assert len(rows) == height
    assert all(len(row) <= width for row in rows)
    top, bottom = (next(n for n, row in enumerate(rows) if row[:7].strip() == str(end)) for end in (low + 10, low))
    (peak,) = [n for n, row in enumerate(rows) if "◆" in row]
    most = max(sizes)
    assert (peak < top) == (most > low + 10)
    assert (peak > bottom) == (most < low)
    assert (peak == top) == (most == low + 10)
    assert (peak == bottom) == (most == low)


def test_a_pull_without_a_trace_says_so() -> None:
    plot = Plot("Axle nut", "N·m", (), peak_text="98 N·m, set and clicked", verdict="inside")
    text = [row.plain.rstrip() for row in plot_rows(plot, 44, 10)]
    assert text == ["PULL  Axle nut", "■ INSIDE  ◆ 98 N·m, set and clicked", "No trace: it was not streamed."]
    assert [row.plain.rstrip() for row in plot_rows(None, 44, 10)] == ["No pull yet"]
    assert not Painted.can_focus
