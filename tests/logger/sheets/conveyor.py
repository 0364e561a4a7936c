"""The conveyor's sheet with some of its text replaced, and what is said of it; for tests of its rules."""

import pytest

from logger.errors import BadInput
from logger.sheets.file import load_sheet
from logger.sheets.store import shipped_text

CONVEYOR = shipped_text("parcel-conveyor").decode()
Change = tuple[str, str]

GUARDED = ('decision = "simple"', 'decision = "guarded"')
SAG_AIM = 'aim = "2 %"\n'
SAG_WINDOW = 'window = ["1.5 %", "3 %"]'
BOLT_AIM = 'aim = "72 N·m"\n'
PASSES = 'passes = [{ window = ["30 N·m", "40 N·m"], aim = "35 N·m" }]'


def edited(*changes: Change) -> str:
    """Return the conveyor's sheet with some of its text replaced."""
    text = CONVEYOR
    for old, new in changes:
        assert old in text, f"{old!r} is not in the sheet"
        text = text.replace(old, new, 1)
    return text


def problems(*changes: Change) -> list[str]:
    """Return what is said of an edited sheet that must be refused, one line a problem."""
    with pytest.raises(BadInput) as caught:
        load_sheet(edited(*changes), "my.toml")
    lines = caught.value.message.splitlines()
    return [line.strip().removeprefix("my.toml: ") for line in (lines[1:] or lines)]


def warnings(*changes: Change) -> tuple[str, ...]:
    """Return what is warned of an edited sheet that loads."""
    return load_sheet(edited(*changes), "my.toml").warnings
