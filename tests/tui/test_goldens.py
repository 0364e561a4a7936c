"""The screen at the moments that matter, as text at three sizes; how they are made anew stands in goldens.py."""

from pathlib import Path

import pytest

from .goldens import FOLDER, Golden, everything, golden, path_of

_MOMENTS = list(everything())


@pytest.mark.parametrize("moment", _MOMENTS, ids=str)
async def test_the_screen_is_as_it_was(moment: Golden, tmp_path: Path) -> None:
    assert await golden(moment, tmp_path) == path_of(moment).read_text(encoding="utf-8")


def test_no_text_is_left_of_a_moment_that_is_none() -> None:
    assert set(FOLDER.glob("*.txt")) == {path_of(moment) for moment in _MOMENTS}
