"""Calibration by the day."""

from datetime import date

import pytest

from logger.toolbook.calibration import calibration

from .made import tool

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("due", "said"),
    [
        (None, "not stated"),
        ("2026-11-24", "overdue by 1 day"),
        ("2026-11-15", "overdue by 10 days"),
        ("2026-11-25", "due today"),
        ("2026-11-26", "due in 1 day"),
        ("2026-12-25", "due in 30 days"),
        ("2026-12-26", "ok"),
    ],
)
def test_calibration_by_the_day(due: str | None, said: str) -> None:
    assert str(calibration(tool(due=due), TODAY)) == said
