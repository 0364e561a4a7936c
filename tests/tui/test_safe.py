"""Nothing from outside moves the cursor, hides, reorders or is read as markup."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tui.safe import MARKS_KEPT, cut, safe, safe_text

from .hostile import HOSTILE


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain", "plain"),
        ("[bold red]OK", "[bold red]OK"),
        ("\x1b[2J", "␛[2J"),
        ("\x9b31m", "⟨U+009B⟩31m"),
        ("a\x00b\x7f", "a␀b␡"),
        ("a\r\n\tb", "a␍␊␉b"),
        ("\u202egnp", "⟨U+202E⟩gnp"),
        ("\u2066x\u2069", "⟨U+2066⟩x⟨U+2069⟩"),
        ("a\u200bb\u2028c", "a⟨U+200B⟩b⟨U+2028⟩c"),
        ("\ue000", "⟨U+E000⟩"),
        ("\ud800", "⟨U+D800⟩"),
        ("\u3164\u2800", "⟨U+3164⟩⟨U+2800⟩"),
        ("N·m ½ é Ж", "N·m ½ é Ж"),
    ],
)
def test_what_cannot_be_seen_is_shown_as_a_tag(text: str, shown: str) -> None:
    assert safe_text(text) == shown


def test_at_most_three_marks_stand_on_one_character() -> None:
    assert safe_text("e" + "\u0301" * 10_000) == "e" + "\u0301" * MARKS_KEPT


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_content_as_it_stands(text: str) -> None:
    content = safe(text)
    assert content.plain == safe_text(text)
    assert not content.spans, "no markup was read from it"


@given(st.text(alphabet=st.characters(), max_size=60))
def test_no_control_format_or_surrogate_is_left(text: str) -> None:
    shown = safe_text(text)
    assert all(unicodedata.category(each) not in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"} for each in shown)
    shown.encode()


@given(st.text(max_size=60), st.integers(0, 20))
def test_cut_text_fits_its_cells(text: str, cells: int) -> None:
    shown = safe_text(text, cells)
    assert cell_len(shown) <= cells
    whole = safe_text(text)
    assert shown == whole or shown == cut(whole, cells)


def test_a_cut_is_marked() -> None:
    assert safe_text("Chain and rear axle", 10) == "Chain and…"
    assert safe_text("日本語", 4) == "日…"
