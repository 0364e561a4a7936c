"""What to do now, in one line of a small screen."""

import pytest

from tui.widgets.top import Head


@pytest.mark.parametrize(
    ("whole", "part", "line"),
    [
        ("Chain slack, middle: taut up", "taut up", "taut up · Chain slack"),
        ("Axle nut: pull to 89.1 N·m on the wrench", "pull to 89.1 N·m", "pull to 89.1 N·m on the wrench · Axle nut"),
        ("Closed: not to be ridden or run", "Not to be ridden or run", "Not to be ridden or run · Closed"),
    ],
)
def test_what_matters_most_comes_first(whole: str, part: str, line: str) -> None:
    head = Head()
    head._whole, head._part = whole, part
    width = len(whole) - 1
    (row,) = head.rows(width, 1)
    assert row.plain.startswith(line[: width - 1])
