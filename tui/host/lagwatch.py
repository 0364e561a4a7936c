"""Beside the screen: a loop that was blocked so long that a warning could come late is logged."""

import asyncio
import logging
from collections.abc import Callable

from tui.services import Workplace

_log = logging.getLogger(__name__)

PERIOD_S = 0.05
TOO_LONG_S = 0.1
"""A reading must be on the screen within a tenth of a second of being stored."""


async def watch_the_loop(_: Workplace) -> None:
    """Log each time the loop was blocked for more than a tenth of a second; a service, runs until it is cancelled."""
    loop = asyncio.get_running_loop()
    while True:
        due = loop.time() + PERIOD_S
        await asyncio.sleep(PERIOD_S)
        note_lag(loop.time() - due, _log.warning)


def note_lag(late_s: float, log: Callable[[str, float], object]) -> None:
    """Log one wake-up that came too late."""
    if late_s > TOO_LONG_S:
        log("the loop was blocked for %.0f ms", late_s * 1000)
