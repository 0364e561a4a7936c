"""Beside a session: say at once when the host's clock was put back or forward, or the host slept."""

import asyncio

from logger.bench import Moment
from logger.clocks import between

from .services import Host


async def watch_the_clock(host: Host) -> None:
    """Warn of every jump of the clock between two events of the job; a service, which runs until it is cancelled."""
    last = host.bench.moment.record

    def look(moment: Moment) -> None:
        nonlocal last
        found, last = between(last, moment.record), moment.record
        if found is not None:
            host.warn(found.sentence())

    host.bench.listeners.append(look)
    try:
        await asyncio.Event().wait()
    finally:
        host.bench.listeners.remove(look)
