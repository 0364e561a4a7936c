"""Waiting for what must come, where no event tells of it."""

import asyncio
from collections.abc import Callable

LONG_S = 60.0


async def until(holds: Callable[[], bool], what: str = "", *, pause_s: float = 0.1) -> None:
    """Wait for something that must come; no test depends on how soon."""
    try:
        async with asyncio.timeout(LONG_S):
            while not holds():  # noqa: ASYNC110  (what is looked at lies in files, other tasks and other processes)
                await asyncio.sleep(pause_s)
    except TimeoutError:
        raise AssertionError(f"it never came: {what}") from None
