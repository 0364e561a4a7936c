"""Beside a session: say at once, and put on the trail, when the host's clock was put back or forward, or it slept."""

import asyncio

from logger.bench.moment import Moment
from logger.trail.clocks import Jump, between
from tui.services import Host, tell_fault


async def watch_the_clock(host: Host) -> None:
    """Tell of every jump of the clock between two events of the job; a service, which runs until it is cancelled."""
    last = host.bench.moment.record
    jumps: asyncio.Queue[Jump] = asyncio.Queue()

    def look(moment: Moment) -> None:
        nonlocal last
        found, last = between(last, moment.record), moment.record
        if found is not None:
            jumps.put_nowait(found)

    host.bench.listeners.append(look)
    try:
        while True:
            await tell_fault(host, "clock", (await jumps.get()).sentence())
    finally:
        host.bench.listeners.remove(look)
        while not jumps.empty():  # at the very end of a session there is nobody left to store it
            host.warn(jumps.get_nowait().sentence())
