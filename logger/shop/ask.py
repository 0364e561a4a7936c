"""What the shop acknowledged of a bench, asked of the broker: a head to hold the trail against where no store is."""

import asyncio

from logger.errors import BadInput, NothingToTalkTo
from logger.trail.anchor import Anchor

from .topics import BenchTopics
from .wire import Ack, unpack
from .wireport import Broker, Message

ASK_S = 5.0
"""Seconds that a broker has to hand over what it retains."""


async def acknowledged(broker: Broker, topics: BenchTopics, within_s: float = ASK_S) -> Anchor:
    """Return the head that the collector acknowledged last; NothingToTalkTo without a broker, BadInput without a head.

    Only the collector may write there, so it is worth what the broker's access list is worth.
    """
    topic = topics.of("$ack")
    try:
        async with asyncio.timeout(within_s), broker.connect(Message(topics.of("$asked"), b"")) as line:
            await line.subscribe([topic])
            async for message in line.messages():
                if message.topic == topic:
                    return _head(unpack(Ack, message.payload))
    except TimeoutError:
        pass
    except NothingToTalkTo as error:
        raise NothingToTalkTo(error.message, "Start it, or look at [shop] in settings.toml.") from error
    raise _nothing()


def _head(ack: Ack) -> Anchor:
    if ack.seq == 0:
        raise _nothing()
    return Anchor(ack.seq, bytes.fromhex(ack.hash), ack.trail)


def _nothing() -> BadInput:
    return BadInput("The shop has acknowledged nothing of this bench.", "Send it first with: evenhand shop send")
