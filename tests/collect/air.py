"""A broker in memory, at the port of ours: retained messages, last wills, take-overs, and whatever is to go wrong."""

import asyncio
import contextlib
import itertools
from collections.abc import AsyncIterator, Callable, Iterable, Sequence
from dataclasses import dataclass, field

from logger.errors import NothingToTalkTo
from logger.shop.wireport import Line, Message

Tamper = Callable[[Message], Iterable[Message]]


def matches(wanted: str, topic: str) -> bool:
    pairs = itertools.zip_longest(wanted.split("/"), topic.split("/"))
    return all(one in ("+", other) for one, other in pairs)


@dataclass
class Air:
    """What all connections share."""

    is_up: bool = True
    tamper: Tamper = lambda message: (message,)
    retained: dict[str, Message] = field(default_factory=dict)
    lines: dict[str, "FakeLine"] = field(default_factory=dict)
    log: list[Message] = field(default_factory=list)

    def spread(self, message: Message) -> None:
        self.log.append(message)
        if message.retain:
            self.retained[message.topic] = message
        for each in self.tamper(message):
            for line in list(self.lines.values()):
                if any(matches(wanted, each.topic) for wanted in line.wanted):
                    line.inbox.put_nowait(each)

    def drop(self, client: str, *, will: bool = True) -> None:
        line = self.lines.pop(client, None)
        if line is not None:
            line.inbox.put_nowait(None)
            if will:
                self.spread(line.will)

    def die(self, *, forget: bool = False) -> None:
        self.is_up = False
        for client in list(self.lines):
            self.drop(client, will=False)
        if forget:
            self.retained.clear()

    def of(self, leaf: str) -> list[Message]:
        return [message for message in self.log if message.topic.endswith(leaf)]


class FakeLine:
    def __init__(self, air: Air, client: str, will: Message) -> None:
        self._air = air
        self._client = client
        self.will = will
        self.wanted: list[str] = []
        self.inbox: asyncio.Queue[Message | None] = asyncio.Queue()

    def _need(self) -> None:
        if self._air.lines.get(self._client) is not self:
            raise NothingToTalkTo("gone")

    async def publish(self, message: Message) -> None:
        await asyncio.sleep(0)
        self._need()
        self._air.spread(message)

    async def subscribe(self, topics: Sequence[str]) -> None:
        self._need()
        self.wanted += topics
        for topic, message in self._air.retained.items():
            if any(matches(wanted, topic) for wanted in topics):
                self.inbox.put_nowait(message)

    async def messages(self) -> AsyncIterator[Message]:
        while (message := await self.inbox.get()) is not None:
            yield message
        raise NothingToTalkTo("gone")

    def waiting(self) -> int:
        return self.inbox.qsize()


@dataclass
class FakeBroker:
    """One client's way to the broker."""

    air: Air
    client: str
    attempts: int = 0

    @contextlib.asynccontextmanager
    async def connect(self, will: Message) -> AsyncIterator[Line]:
        self.attempts += 1
        if not self.air.is_up:
            raise NothingToTalkTo("no broker")
        self.air.drop(self.client)  # who has the name already is thrown out
        line = FakeLine(self.air, self.client, will)
        self.air.lines[self.client] = line
        try:
            yield line
        finally:
            if self.air.lines.get(self.client) is line:
                del self.air.lines[self.client]
