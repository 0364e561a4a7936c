"""The conveyor's sheet with some of its text replaced, and what is said of it; for tests of its rules."""

from logger.sheets.file import load_sheet
from logger.sheets.store import shipped_text

from .edit import Change, refusals, replaced

CONVEYOR = shipped_text("parcel-conveyor").decode()

GUARDED = ('decision = "simple"', 'decision = "guarded"')
SAG_AIM = 'aim = "2 %"\n'
SAG_WINDOW = 'window = ["1.5 %", "3 %"]'
BOLT_AIM = 'aim = "72 N·m"\n'
PASSES = 'passes = [{ window = ["30 N·m", "40 N·m"], aim = "35 N·m" }]'


def edited(*changes: Change) -> str:
    """Return the conveyor's sheet with some of its text replaced."""
    return replaced(CONVEYOR, *changes)


def problems(*changes: Change) -> list[str]:
    """Return what is said of an edited sheet that must be refused, one line a problem."""
    return refusals(edited(*changes))


def warnings(*changes: Change) -> tuple[str, ...]:
    """Return what is warned of an edited sheet that loads."""
    return load_sheet(edited(*changes), "my.toml").warnings
