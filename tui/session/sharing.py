"""A job's outbox as a service beside it, where the settings say so; the job never waits for it."""

import asyncio
from typing import TYPE_CHECKING

from logger.errors import BadInput
from logger.settings.file import load_settings
from logger.settings.settings import Home
from tui.services import Service, Workplace

if TYPE_CHECKING:
    from logger.shop.outbox import Status

_LOUD = ("conflict", "doubled")
"""What a person at the bench must be told; that a broker is away is none of it."""


def share(home: Home) -> tuple[Service, ...]:
    """Return the service that sends this home's trail; none where [shop] is off."""
    if not load_settings(home.folder).shop.on:
        return ()
    from logger.shop.now import sharing  # noqa: PLC0415  (late on purpose: a bench without a shop loads none of it)
    from logger.shop.setup import outbox_of  # noqa: PLC0415

    async def shop(workplace: Workplace) -> None:
        loop = asyncio.get_running_loop()

        def told(status: "Status") -> None:
            if status.standing in _LOUD:
                loop.call_soon_threadsafe(workplace.warn, f"Nothing more is sent to the shop: {status.said}")

        try:
            with sharing(lambda: outbox_of(home, told)) as thread:
                thread.offer(workplace.bench.moment)
                workplace.bench.listeners.append(thread.offer)
                try:
                    await asyncio.Event().wait()
                finally:
                    workplace.bench.listeners.remove(thread.offer)
        except BadInput as error:  # trying again changes no settings
            workplace.warn(f"Nothing is sent to the shop: {error}")

    return (shop,)
