"""A session whose tools are on the radio: what is waited for, and what is found."""

import asyncio
from collections.abc import Callable

from logger import events as ev
from logger.bench.bench import Bench
from logger.bench.moment import Moment
from logger.shelf.shelf import records
from tests.tui.hand import Hand
from tests.tui.reached import LIMIT_S


async def until(bench: Bench, holds: Callable[[], bool]) -> None:
    """Wait until something holds after an event of the bench."""
    stirred = asyncio.Event()

    def listen(_: Moment) -> None:
        stirred.set()

    bench.listeners.append(listen)
    async with asyncio.timeout(LIMIT_S):
        while not holds():
            stirred.clear()
            await stirred.wait()
    bench.listeners.remove(listen)


def events(hand: Hand) -> list[ev.Event]:
    return [record.event for record in records(hand.bench.path)]


def ready(hand: Hand) -> set[str]:
    return {name for name, each in hand.bench.tools.items() if each.link == "ready"}
