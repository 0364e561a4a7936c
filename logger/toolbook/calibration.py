"""How the calibration of a tool stands on a day; pure."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from .toolbook import Tool

SOON_DAYS = 30
"""A calibration that is due within so many days is told."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """How a tool's calibration stands on a day."""

    state: Literal["ok", "due", "overdue", "not stated"]
    days: int | None
    """Days until it is due, negative when it is past; the day itself still counts."""

    def __str__(self) -> str:
        if self.days is None:
            return self.state
        if self.state == "overdue":
            return f"overdue by {_days(-self.days)}"
        return "ok" if self.state == "ok" else "due today" if self.days == 0 else f"due in {_days(self.days)}"


def _days(number: int) -> str:
    return f"{number} day" if number == 1 else f"{number} days"


def calibration(tool: Tool, today: date) -> Calibration:
    """Return how the calibration of a tool stands."""
    if tool.due is None:
        return Calibration("not stated", None)
    days = (date.fromisoformat(tool.due) - today).days
    return Calibration("overdue" if days < 0 else "due" if days <= SOON_DAYS else "ok", days)
