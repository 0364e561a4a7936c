"""How to do it, in few rows: what may go behind the rest is known by its role, and whatever went is marked."""

import pytest
from textual.geometry import Size

from logger.job.line import Line, caution, item
from tui.widgets.how import How
from tui.widgets.pages import MORE

_LINES = (
    caution("Fingers clear."),
    Line("Window side first: measure the smooth end."),
    Line("From: the fixed edge", "datum"),
    Line("Holds for: on the stand", "condition"),
    Line("Window 25 mm to 40 mm", "window"),
    Line("With: caliper", "tool"),
    Line("One further repeat."),
)


class _How(How):
    """The instructions in a given room, without a screen."""

    def __init__(self, lines: tuple[str, ...], width: int, height: int) -> None:
        super().__init__()
        self._lines = lines
        self.room = Size(width, height)

    @property
    def size(self) -> Size:
        """The room it was given."""
        return self.room

    def page_rows(self, page: int) -> list[str]:
        """What stands on a page."""
        self._page = page
        return [row.plain.rstrip() for row in self.rows(*self.room)]


@pytest.mark.parametrize(
    "ask",
    [
        "Window side first: measure the smooth end.",
        "Holds for: nobody else.",
        "With: care.",
        "From: the left.",
        "The sides agree within reason.",
    ],
)
def test_what_is_asked_is_never_spared_however_it_begins(ask: str) -> None:
    how = _How((Line(ask), Line("Window 25 mm to 40 mm", "window"), Line("With: caliper", "tool")), 60, 2)
    assert how.page_rows(0) == [ask, f"With: caliper{MORE}"]
    assert how.page_rows(1) == ["Window 25 mm to 40 mm"]


@pytest.mark.parametrize("height", range(1, 7))
def test_what_was_left_out_is_marked_and_stands_on_a_later_page(height: int) -> None:
    how = _How(_LINES, 60, height)
    pages = [how.page_rows(page) for page in range(how._last + 1)]
    assert all(page[-1].endswith(MORE) for page in pages[:-1])
    assert not pages[-1][-1].endswith(MORE)
    said = [row.removesuffix(MORE) for page in pages for row in page]
    assert sorted(said) == sorted(["! Caution: Fingers clear.", *_LINES[1:]])
    assert how.unseen


def test_in_few_rows_what_matters_most_comes_first_and_no_row_stays_free() -> None:
    assert _How(_LINES, 60, 5).page_rows(0) == [
        "! Caution: Fingers clear.",
        "Window side first: measure the smooth end.",
        "From: the fixed edge",
        "With: caliper",
        f"One further repeat.{MORE}",
    ]
    long = Line("Holds for: on the stand, nothing loaded on it", "condition")
    assert _How((Line("Measure."), long), 30, 2).page_rows(0) == ["Measure.", f"Holds for: on the{MORE}"]


def test_all_that_fits_stands_in_its_order_without_a_mark() -> None:
    how = _How(_LINES, 60, 7)
    assert how.page_rows(0) == ["! Caution: Fingers clear.", *_LINES[1:]]
    assert not how.unseen


def test_a_caution_and_an_item_are_known_by_their_role() -> None:
    how = _How((caution("Hot."), item("Rag"), Line("Caution: is what it reads."), Line("- 2 mm is asked")), 60, 4)
    assert how.page_rows(0) == ["! Caution: Hot.", "• Rag", "Caution: is what it reads.", "- 2 mm is asked"]
