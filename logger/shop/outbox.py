"""The bench's end of the wire: what is on the trail goes to the collector, from the last acknowledged event on.

The trail is the outbox, so nothing is queued in memory and nothing in a job waits for it. An event counts as delivered
only when the collector says that it has committed it: a broker's acknowledgement promises neither.
"""

import asyncio
import contextlib
import random
import secrets
import time
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, replace
from typing import Literal

from logger.errors import BadInput, EvenhandError, NothingToTalkTo
from logger.trail.read import StoredEvent

from .outboxstate import Sending, acknowledged, asked_again, begun_again, refused, sent, stalled
from .outboxtrail import CursorFile, Source
from .outgoing import Says, Sealed
from .topics import BenchTopics, address, collector_state
from .wire import Ack, Again, BenchState, CollectorState, JobNow, Nack, unpack
from .wireport import Broker, Line, Message, wait_before

Standing = Literal["away", "waiting", "sending", "level", "conflict", "doubled"]
"""No broker; no collector; events are owed; none is; the collector has another version; two benches of one name."""

MOST_TAKEOVERS = 3
_LIVED_S = 10.0
"""Seconds after which a connection was not thrown out by another of the same name."""


@dataclass(frozen=True, slots=True)
class Status:
    """How it stands, for a person."""

    standing: Standing
    owed: int
    """Events that the collector is not known to have."""
    said: str = ""


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds: how often the trail is looked at, and how long an acknowledgement may take."""

    look_s: float = 1.0
    stall_s: float = 10.0


class Outbox:
    """Sends one trail; `run` it, `offer` what the bench is at."""

    def __init__(
        self,
        source: Source,
        broker: Broker,
        topics: BenchTopics,
        cursor: CursorFile,
        *,
        told: Callable[[Status], None] = lambda _: None,
        timing: Timing = Timing(),
        share: Callable[[], float] = random.random,
    ) -> None:
        self.status = Status("away", 0)
        self._source = source
        self._broker = broker
        self._topics = topics
        self._file = cursor
        self._told = told
        self._timing = timing
        self._share = share
        self._says = Says(topics, source.trail, secrets.token_hex(8))
        self._cursor = cursor.load()
        self._state = Sending(source.trail)
        self._hashes: dict[int, bytes] = {}
        self._wake = asyncio.Event()
        self._news = asyncio.Event()
        self._job: JobNow | None = None
        self._showing: JobNow | None = None
        self._is_foreign = False
        self._heard_at = 0.0
        self._birth = -1
        self._said = ""

    def offer(self, job: JobNow) -> None:
        """Show what the bench is at, as soon as there is a line; from the loop that runs the outbox."""
        self._job = job
        self._wake.set()

    async def until_kept(self) -> None:
        """Return once the shop has every event of the trail as it is now, and what the bench is at.

        At once where nobody is there to take them.
        """
        head, _ = await asyncio.to_thread(self._source.head)
        self._wake.set()
        while self._state.may_send and (
            self._state.owed(head) > len(self._state.parked) or self._showing is not self._job
        ):
            self._news.clear()
            await self._news.wait()

    async def run(self) -> None:
        """Send for ever; ends by itself only when another bench goes by this one's name."""
        attempt, takeovers = 0, 0
        while True:
            began = time.monotonic()
            self._is_foreign = False
            try:
                await self._connected()
            except NothingToTalkTo as error:
                self._said = error.message
            attempt = 1 if self._state.acked >= 0 else attempt + 1
            has_lived = time.monotonic() - began >= _LIVED_S
            takeovers = 0 if has_lived else takeovers + int(self._is_foreign)
            if takeovers >= MOST_TAKEOVERS:
                self._tell("doubled", f"Another bench is called {self._topics.bench}: give each its own name.")
                return
            self._state = Sending(self._source.trail)
            self._news.set()
            self._tell("away", self._said)
            await asyncio.sleep(wait_before(attempt, self._share()))

    # --- one connection ---------------------------------------------------------------------------------------------

    async def _connected(self) -> None:
        self._cursor = replace(self._cursor, session=max(self._cursor.session + 1, time.time_ns() // 10**6))
        await self._keep()
        self._state, self._birth = Sending(self._source.trail), -1
        async with self._broker.connect(self._says.life(self._cursor.session, "lost")) as line:
            await line.subscribe(self._topics.heard)
            await line.publish(self._says.life(self._cursor.session, "ready"))
            await self._hello(line)
            try:
                await self._until_lost(line)
            finally:
                await self._farewell(line)

    async def _until_lost(self, line: Line) -> None:
        """Listen and send until the line is gone, then raise that.

        No task fails within the group: before Python 3.13 a cancelling that comes with a failure would be lost.
        """
        lost: asyncio.Future[NothingToTalkTo] = asyncio.get_running_loop().create_future()

        async def told(work: Coroutine[None, None, None]) -> None:
            try:
                await work
            except NothingToTalkTo as error:
                if not lost.done():
                    lost.set_result(error)

        async with asyncio.TaskGroup() as group:
            both = [group.create_task(told(work)) for work in (self._listen(line), self._send(line))]
            why = await lost
            for task in both:
                task.cancel()
        raise why

    async def _farewell(self, line: Line) -> None:
        with contextlib.suppress(NothingToTalkTo, TimeoutError):
            async with asyncio.timeout(1):
                await line.publish(self._says.life(self._cursor.session, "disconnected"))
        await self._keep()

    async def _hello(self, line: Line) -> None:
        """Tell where the trail ends; the collector answers with what it has."""
        self._heard_at = time.monotonic()
        seq, digest = await asyncio.to_thread(self._source.head)
        await line.publish(self._says.head(self._cursor.session, seq, digest))

    # --- what is heard ----------------------------------------------------------------------------------------------

    async def _listen(self, line: Line) -> None:
        async for message in line.messages():
            try:
                await self._hear(message)
            except BadInput as error:  # whatever it is, it is not the collector's
                self._said = error.message
            self._wake.set()
            self._news.set()
        raise NothingToTalkTo("The broker is gone.", "It is tried again by itself.")

    async def _hear(self, message: Message) -> None:
        if message.topic == collector_state(self._topics.shop):
            self._collector(unpack(CollectorState, message.payload))
            return
        place = address(self._topics.shop, message.topic)
        if place is None or place.bench != self._topics.bench:
            return
        match place.leaf:
            case "$ack":
                await self._acknowledged(unpack(Ack, message.payload))
            case "$again":
                again = unpack(Again, message.payload)
                self._state = asked_again(self._state, again.trail, again.first)
            case "$nack":
                nack = unpack(Nack, message.payload)
                self._state = refused(self._state, nack.trail, nack.seq, nack.kind, nack.reason)
                self._said = nack.reason
            case "$state":
                self._is_foreign |= unpack(BenchState, message.payload).instance != self._says.instance

    def _collector(self, said: CollectorState) -> None:
        """The collector came or went; a last will of an earlier connection than its last birth says nothing."""
        if said.state == "ready":
            self._birth = said.session
        elif self._birth not in (-1, said.session):
            return
        self._state = begun_again(self._state, alive=said.state == "ready")

    async def _acknowledged(self, ack: Ack) -> None:
        if ack.trail != self._source.trail:
            return
        ours = self._hashes.get(ack.seq) or await asyncio.to_thread(self._source.hash_at, ack.seq)
        self._heard_at = time.monotonic()
        self._state = acknowledged(self._state, ack.trail, ack.seq, None if ours is None else ours.hex() == ack.hash)
        for seq in [each for each in self._hashes if each <= ack.seq]:
            del self._hashes[seq]
        if not self._state.conflict:
            self._cursor = replace(self._cursor, trail=ack.trail, seq=ack.seq, hash=ack.hash)

    # --- what is sent -----------------------------------------------------------------------------------------------

    async def _send(self, line: Line) -> None:
        self._showing = None
        kept = self._cursor
        while True:
            self._wake.clear()
            try:
                head = await self._send_events(line)
            except NothingToTalkTo:
                raise
            except EvenhandError as error:  # a trail that cannot be read: its job goes on or not, without us
                self._state = replace(self._state, conflict=error.message)
                head = self._state.sent
            if (job := self._job) is not None and job is not self._showing:
                await line.publish(self._says.job(self._cursor.session, job))
                self._showing = job
                self._news.set()
            self._tell(self._standing(head), self._state.conflict or self._said, head)
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(self._timing.look_s):
                    await self._wake.wait()
            if kept is not self._cursor and not self._wake.is_set():  # a lull
                kept = self._cursor
                await self._keep()
            await self._nudge(line, head)

    async def _send_events(self, line: Line) -> int:
        """Send what there is room for; return the number of the trail's last event."""
        head, _ = await asyncio.to_thread(self._source.head)
        while (room := self._state.room()) and self._state.sent < head:
            for event, seal in await asyncio.to_thread(self._page, self._state.sent, room):
                if event.seq != self._state.sent + 1 or not self._state.room():
                    break  # told to go back, or to stop, meanwhile
                self._state = sent(self._state, event.seq)
                if event.seq not in self._state.parked:
                    self._hashes[event.seq] = event.hash
                    await line.publish(self._says.event(event, seal))
        return head

    def _page(self, after: int, most: int) -> list[tuple[StoredEvent, Sealed]]:
        found = self._source.after(after, most)
        seals = self._source.signatures(after + 1, after + most) if found else {}
        return [(event, seals.get(event.seq, (b"", b""))) for event in found]

    async def _nudge(self, line: Line, head: int) -> None:
        """After too long a silence ask where the collector is, and begin again there."""
        unknown = self._state.alive and self._state.acked < 0
        if time.monotonic() - self._heard_at < self._timing.stall_s or not (unknown or self._state.waits(head)):
            return
        self._state = stalled(self._state)
        await self._hello(line)

    # --- what is kept and told --------------------------------------------------------------------------------------

    async def _keep(self) -> None:
        try:
            await asyncio.to_thread(self._file.save, self._cursor)
        except BadInput as error:  # a full disk must not end the sending
            self._said = error.message

    def _standing(self, head: int) -> Standing:
        if self._state.conflict:
            return "conflict"
        if not self._state.may_send:
            return "waiting"
        return "sending" if self._state.owed(head) > len(self._state.parked) else "level"

    def _tell(self, standing: Standing, said: str, head: int | None = None) -> None:
        owed = self.status.owed if head is None else self._owed(head)
        status = Status(standing, owed, said)
        if status != self.status:
            self.status = status
            self._told(status)

    def _owed(self, head: int) -> int:
        if self._state.acked >= 0:
            return self._state.owed(head)
        return head - (self._cursor.seq if self._cursor.trail == self._source.trail else 0)
