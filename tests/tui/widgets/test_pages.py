"""Rows parted into pages: nothing is lost, no word is cut that has a row, and more is marked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tui.widgets.pages import MORE, paged, pages_of
from tui.widgets.painted import wrapped

_WORDS = st.lists(st.text("abcdé世", min_size=1, max_size=9), min_size=1, max_size=40)


@given(_WORDS, st.integers(9, 40), st.integers(1, 6))
def test_every_word_is_on_a_page_in_its_order(words: list[str], width: int, height: int) -> None:
    pages = pages_of(wrapped(" ".join(words), width), width, height)
    assert all(len(page) <= height for page in pages)
    assert all(cell_len(row) <= width for page in pages for row in page)
    assert [page[-1].endswith(MORE) for page in pages] == [True] * (len(pages) - 1) + [False]
    rows = [row.removesuffix(MORE) for page in pages for row in page]
    assert "".join(rows).replace(" ", "") == "".join(words)


def test_a_row_gives_way_to_the_mark_between_words() -> None:
    rows = ["axle: loosen the nut, never take it", "off."]
    assert pages_of(rows, 38, 1) == [["axle: loosen the nut, never … PgDn"], ["take it … PgDn"], ["off."]]


def test_what_fits_is_one_page() -> None:
    assert pages_of(["one", "two"], 10, 2) == [["one", "two"]]
    assert pages_of([], 10, 2) == [[]]


def test_a_row_keeps_its_style_over_the_page() -> None:
    assert paged([("one two three", "bold"), ("four", "")], 14, 1) == [
        [("one two … PgDn", "bold")],
        [("three … PgDn", "bold")],
        [("four", "")],
    ]


@pytest.mark.parametrize("width", [0, 1, 7])
def test_no_room_for_the_mark_ends_all_the_same(width: int) -> None:
    pages = pages_of(wrapped("one two three", width), width, 1)
    assert "".join(row.removesuffix(MORE) for page in pages for row in page).replace(" ", "") == "onetwothree"
