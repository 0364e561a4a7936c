"""The shop's end of the wire: messages -> one commit -> acknowledgements, for as long as there is a broker."""

import asyncio
import contextlib
import random
import time
from collections.abc import Callable
from typing import Protocol

from logger.errors import NothingToTalkTo, NotStored
from logger.shop.topics import BenchTopics, collected, collector_state
from logger.shop.wire import Ack, CollectorState, Life, pack
from logger.shop.wireport import Broker, Line, Message, wait_before

from .store import Answers

MOST_AT_ONCE = 512
"""Messages of one commit."""


class Keeps(Protocol):
    """What the collector needs of a store; both calls block and raise NotStored."""

    def take(self, batch: list[Message]) -> Answers:
        """Commit a batch and return what to answer."""
        ...

    def standing(self) -> list[Ack]:
        """Return how far each trail is kept."""
        ...


class Collector:
    """Collects one shop's trails; `run` it."""

    def __init__(
        self,
        shop: str,
        broker: Broker,
        store: Keeps,
        told: Callable[[str], None] = lambda _: None,
        share: Callable[[], float] = random.random,
    ) -> None:
        self._shop = shop
        self._broker = broker
        self._store = store
        self._told = told
        self._share = share
        self._session = time.time_ns() // 10**6
        self._heard = False

    async def run(self) -> None:
        """Collect for ever; a broker or a database that is away is waited for."""
        attempt = 0
        while True:
            self._heard = False
            try:
                await self._connected()
            except (NothingToTalkTo, NotStored) as error:
                self._told(str(error))
            attempt = 1 if self._heard else attempt + 1
            await asyncio.sleep(wait_before(attempt, self._share()))

    async def _connected(self) -> None:
        self._session += 1
        async with self._broker.connect(self._life("lost")) as line:
            for ack in await asyncio.to_thread(self._store.standing):
                await line.publish(self._to(ack.bench, "$ack", pack(ack), retain=True))
            await line.subscribe(collected(self._shop))
            await line.publish(self._life("ready"))
            self._told("Collecting.")
            try:
                await self._collect(line)
            finally:
                await self._farewell(line)

    async def _collect(self, line: Line) -> None:
        batch: list[Message] = []
        async for message in line.messages():
            batch.append(message)
            if line.waiting() and len(batch) < MOST_AT_ONCE:
                continue
            answers = await asyncio.to_thread(self._store.take, batch)
            batch = []
            self._heard = True
            await self._answer(line, answers)
        raise NothingToTalkTo("The broker is gone.", "It is tried again by itself.")

    async def _answer(self, line: Line, answers: Answers) -> None:
        """Acknowledge what is committed; an acknowledgement that gets lost is given again when it is asked for."""
        for ack in answers.acks.values():
            await line.publish(self._to(ack.bench, "$ack", pack(ack), retain=True))
        for again in answers.agains.values():
            await line.publish(self._to(again.bench, "$again", pack(again)))
        for nack in answers.nacks.values():
            await line.publish(self._to(nack.bench, "$nack", pack(nack)))

    def _to(self, bench: str, leaf: str, payload: bytes, *, retain: bool = False) -> Message:
        return Message(BenchTopics(self._shop, bench).of(leaf), payload, retain)

    def _life(self, state: Life) -> Message:
        payload = CollectorState(session=self._session, state=state)
        return Message(collector_state(self._shop), pack(payload), retain=True)

    async def _farewell(self, line: Line) -> None:
        with contextlib.suppress(NothingToTalkTo, TimeoutError):
            async with asyncio.timeout(1):
                await line.publish(self._life("disconnected"))
