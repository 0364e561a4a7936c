"""The advice as it is drawn: how big the hexagon is, and where it stands."""

from fractions import Fraction

import pytest

from tui.glance.shown import Advice, Turning
from tui.widgets.turns import advice_rows, hex_rows, hexagon

TIGHTER = Turning("5 flats tighter", "5/6 turn", Fraction(5), "clockwise")
LOOSER = Turning("2 flats looser", "1/3 turn", Fraction(2), "anticlockwise")
ADVICE = Advice(TIGHTER, LOOSER, ("Expected after: slack 33.3 mm.",))


def _drawn(width: int, height: int) -> list[str]:
    return [row.plain.rstrip() for row in advice_rows(ADVICE, width, height)]


@pytest.mark.parametrize("slope", [2, 5])
def test_a_hexagon_is_closed_and_as_high_as_it_says(slope: int) -> None:
    rows = hexagon(Turning("x", "", Fraction(1, 2), "clockwise"), slope)[:-1]
    assert len(rows) == hex_rows(slope)
    drawn = "".join(rows)
    assert [drawn.count(edge) for edge in "╱╲▁"] == [2 * slope, 2 * slope, 8 * slope]


def test_a_large_one_has_the_flats_that_go_by_thick_and_the_part_of_a_turn_within() -> None:
    rows = hexagon(TIGHTER, 5)
    thin = hexagon(Turning("x", "", Fraction(5), "clockwise"), 5)
    assert [each for row in thin for each in row if each.isdigit()] == ["1", "2", "5", "3", "4"]
    assert sum(row.count("╱") + row.count("╲") for row in rows) == 5, "one flat stays"
    assert ("██████" in rows[3], "██████" in thin[3]) == (True, False)
    mirrored = "".join(hexagon(LOOSER, 5))
    assert mirrored.count("╱") + mirrored.count("╲") == 15
    assert "↶" in mirrored


def test_in_much_room_it_is_large_under_the_words() -> None:
    rows = _drawn(146, 43)
    top = next(at for at, row in enumerate(rows) if "▄" * 9 + "1" + "▄" * 10 in row)
    assert "↷" in rows[top + 1]
    assert "↶" in rows[top + 1]


def test_in_less_it_stands_beside_words_that_stay_legible() -> None:
    rows = _drawn(98, 18)
    (top,) = (at for at, row in enumerate(rows) if row.count("▁▁▁1▁▁▁▁") == 2)
    assert "█" in rows[top]
    assert "Expected after" in rows[12]


@pytest.mark.parametrize(("width", "height"), [(76, 10), (98, 8), (60, 18)])
def test_where_words_would_shrink_too_far_there_is_none(width: int, height: int) -> None:
    assert "▁" not in "".join(_drawn(width, height))


@pytest.mark.parametrize(("height", "least"), [(10, 5), (40, 16)])
def test_do_not_turn_grows_with_the_room(height: int, least: int) -> None:
    stop = Advice(None, None, ("Why not.",), stop="do not turn")
    rows = [row.plain.rstrip() for row in advice_rows(stop, 140, height)]
    assert rows[0].strip() == "✕ DO NOT TURN"
    assert sum("█" in row for row in rows) >= least
    assert "Why not." in rows
