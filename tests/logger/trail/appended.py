"""An append from a plain thread."""

import asyncio
from collections.abc import Mapping

from logger.trail.trail import Trail
from logger.trail.writer import Stored


def append_now(trail: Trail, record: Mapping[str, object]) -> Stored:
    """Append and wait until the event is on the disk; from any thread, but not from an event loop."""

    async def appended() -> Stored:
        return await trail.append(record)

    return asyncio.run(appended())
