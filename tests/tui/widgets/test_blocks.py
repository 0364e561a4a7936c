"""Big letters are whole, as wide as they say, and grow with the room."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tui.widgets.blocks import GLYPHS, HEIGHT, SCALES, big, broken, draw, largest, size, stacked


@pytest.mark.parametrize("character", sorted(GLYPHS))
def test_every_glyph_is_a_full_grid(character: str) -> None:
    rows = GLYPHS[character]
    assert len(rows) == HEIGHT
    assert len({len(row) for row in rows}) == 1
    assert set("".join(rows)) <= {"#", "."}


def test_no_two_glyphs_look_alike() -> None:
    assert len({GLYPHS[character] for character in GLYPHS}) == len(GLYPHS)


@given(st.text(alphabet="0123456789.-+ABCXYZ ", min_size=1, max_size=12), st.sampled_from(SCALES))
def test_text_takes_the_room_it_says(text: str, scale: tuple[int, int]) -> None:
    columns, rows = size(text, scale)
    drawn = draw(text, scale)
    assert len(drawn) == rows
    assert {cell_len(row) for row in drawn} == {columns}


def test_digits_at_the_usual_size() -> None:
    assert draw("17", (4, 2)) == (
        "  ██    ██████",
        "████        ██",
        "  ██        ██",
        "  ██      ██  ",
        "██████    ██  ",
    )


def test_the_largest_that_fits_is_taken() -> None:
    assert largest("36.20", 46, 5) == (4, 2)
    assert largest("36.20", 80, 10) == (8, 4)
    assert largest("36.20", 10, 3) == (1, 1)
    assert largest("36.20", 5, 3) is None


def test_text_without_a_glyph_for_every_character_is_not_drawn() -> None:
    assert big("36.2 ™", 80, 5) is None
    assert big("", 80, 5) is None


def test_lines_that_would_touch_are_set_apart() -> None:
    assert "" in stacked(("LEFT", "RIGHT"), (4, 2))
    assert "" not in stacked(("LEFT", "RIGHT"), (2, 1))


def test_digits_grow_taller_where_they_cannot_grow_wider() -> None:
    assert largest("36.20", 70, 15) == (8, 6)
    assert all(down <= across * 3 / 4 or across < 8 for across, down in SCALES)
    assert list(SCALES) == sorted(SCALES, reverse=True)


def test_text_is_broken_in_two_where_that_is_bigger() -> None:
    assert len(broken("2 of 15 checks pass", 146, 30)) > len(big("2 of 15 checks pass", 146, 30) or ())
    assert broken("36.20", 46, 5) == big("36.20", 46, 5)
    assert broken("36.2 ™", 80, 5) == ()
