"""A sheet with some of its text replaced, and what is said of one that is refused; for tests of the rules."""

import pytest

from logger.errors import BadInput
from logger.sheets.file import load_sheet

Change = tuple[str, str]


def replaced(sheet: str, *changes: Change) -> str:
    """Return a sheet with some of its text replaced, each once and in this order."""
    for old, new in changes:
        assert old in sheet, f"{old!r} is not in the sheet"
        sheet = sheet.replace(old, new, 1)
    return sheet


def refusals(text: str) -> list[str]:
    """Return what is said of a sheet that must be refused, one line a problem."""
    with pytest.raises(BadInput) as caught:
        load_sheet(text, "my.toml")
    lines = caught.value.message.splitlines()
    return [line.strip().removeprefix("my.toml: ") for line in (lines[1:] or lines)]
