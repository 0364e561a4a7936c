"""One tool over however many links: connect, subscribe, introduce, decode; knows no radio library.

A line owns one peer at a time, and every frame carries the generation of its link, so that a late frame of a dead
link is recorded but never taken for a reading.
"""

import asyncio
import math
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, replace
from functools import partial

from drivers import gatt
from drivers.decode.bind import Speech, choose, wanted
from drivers.decode.decode import Frame, undecoded
from drivers.hearing.hearing import Hearing
from drivers.profile.profile import ToolProfile
from drivers.reading import Arrival, Clock, Link, ToolReading, ToolState

from .inbox import FRAMES_HELD, Inbox
from .peer import LinkError, MakePeer, Peer
from .slots import Slots
from .supervise import End, Timing

FULL = "As many tools as can be served are linked; one that rests gives way to this one, or switch one off."
NAMELESS = "The tool tells no serial number and is known by its name only."
LATE = "It came over a link that had ended already."
TWICE = "All it sends comes twice; the link is made afresh when it rests. Nothing counts twice."
STILL_TWICE = "All it sends still comes twice; restart the Bluetooth service. Nothing counts twice."
UNREAD = "The link ended before the tool had told what it sends."


@dataclass(frozen=True, slots=True)
class Shared:
    """What the lines of one radio have in common."""

    clock: Clock
    timing: Timing
    slots: Slots
    """As many as tools may be linked at once."""
    lock: asyncio.Lock
    """Held while a connection is made: they never overlap."""
    make_way: Callable[[], Awaitable[None]]
    """Stops the scan, with the lock held."""
    emit: Callable[[Arrival], Awaitable[None]]
    """Hands an arrival over; waits while the caller has not taken those before."""
    emit_late: Callable[[Arrival], None]
    """The same from where nobody may wait: a callback, or the end of a link."""


class Line:
    """One recognised tool: its identity, its newest advertisement, and its present link."""

    def __init__(self, shared: Shared, address: str) -> None:
        self.awake = asyncio.Event()
        """Set by an advertisement while there is no link."""
        self.linked = False
        self.used_s = 0.0
        """When it last sent something or was linked, by the clock of the loop."""
        self._shared = shared
        self._name = "unnamed tool"
        self._make_peer: MakePeer | None = None
        self._fits: tuple[ToolProfile, ...] = ()
        """The profiles that its advertisement may belong to, in the order they are tried."""
        self._generation = 0
        self._heard_s = -math.inf
        self._resting = False
        """Whether it gave way to another tool."""
        self._end = End.DROPPED
        """How the present link ended, where it ends without an error."""
        self._hearing: Hearing | None = None
        self._made_afresh = False
        """Whether the link was made afresh because everything came twice; that is tried once."""
        self._limit: asyncio.Timeout | None = None
        """The limit of what the radio is being asked for."""
        self._inbox: Inbox[Frame] = Inbox(FRAMES_HELD)
        self._state = ToolState(self._name, "", Link.SEARCHING, shared.clock.now(), address=address)

    def heard(self, name: str, fits: tuple[ToolProfile, ...], make_peer: MakePeer) -> None:
        """Note an advertisement: any one means that the tool is awake."""
        self._make_peer = make_peer
        self._fits = fits or self._fits
        self._name = name or self._name
        if not self._state.serial:
            self._state = replace(self._state, tool=self._name)
        now = asyncio.get_running_loop().time()
        if now - self._heard_s >= self._shared.timing.silent_s:
            self._resting = False
        self._heard_s = now
        if not self.linked and not self._resting:
            self.awake.set()

    def release(self) -> None:
        """Give way to another tool: rest until there is room again, or until it is heard after a silence."""
        self._resting = True
        self._heard_s = asyncio.get_running_loop().time()
        self._let_go(End.RELEASED)

    def room(self) -> None:
        """Come back after having given way, if still awake: there is room for another tool."""
        silent_s = asyncio.get_running_loop().time() - self._heard_s
        if self._resting and silent_s < self._shared.timing.silent_s:
            self._resting = False
            self.awake.set()

    @property
    def tool(self) -> str:
        """Its identity."""
        return self._state.tool

    @property
    def by_pedal(self) -> bool:
        """Whether it is linked, and read by a pedal."""
        return self._hearing is not None and self._hearing.by_pedal

    def capture(self) -> ToolReading | None:
        """Return its present value as a reading, because the pedal is pressed; None where it shows none now."""
        return self._hearing.capture(self._shared.clock.now()) if self._hearing else None

    def abandon(self) -> None:
        """Give up the present link, or the attempt at one: what carried it has gone; the tool must be heard afresh."""
        self.awake.clear()
        self._make_peer = None
        self._gone(self._generation)
        if self._limit is not None:
            self._limit.reschedule(asyncio.get_running_loop().time())

    async def tell(self, link: Link, message: str) -> None:
        """Report a state of the tool, with what it told of itself."""
        self._state = replace(self._state, link=link, message=message, at=self._shared.clock.now())
        await self._shared.emit(self._state)

    async def session(self) -> End:
        """Connect, subscribe, serve the link until it ends; say how it ended."""
        slots = self._shared.slots
        await slots.take(self, partial(self.tell, Link.SEARCHING, FULL))
        try:
            end = await self._session()
            if end is End.FULL:
                slots.shrink()
            return end
        finally:
            await slots.give_back(self)

    async def _session(self) -> End:
        self.awake.clear()
        if self._make_peer is None:
            return End.ABORTED
        self._use()
        self._end = End.DROPPED
        self._generation += 1
        self._inbox = Inbox(FRAMES_HELD)
        gone = partial(self._gone, self._generation)
        peer = self._make_peer(gone)
        try:
            return await self._serve(peer)
        except LinkError as error:
            return error.end
        finally:
            self._hearing = None
            gone()
            await peer.close()
            await self._report_unread()

    async def _serve(self, peer: Peer) -> End:
        await self.tell(Link.CONNECTING, "")
        async with self._shared.lock:
            await self._shared.make_way()
            async with self._limited():
                await peer.connect()
                # a library that tries again by itself has reported the end of what it tried before
                self._inbox = Inbox(FRAMES_HELD)
                self.linked = True
                speech = await self._subscribe(peer)
        if speech is None:
            return End.NOT_UNDERSTOOD
        async with self._limited():
            await self._introduce(peer, speech)
        await self.tell(Link.READY, "" if self._state.serial else NAMELESS)
        await self._pump(replace(speech, tool=self._state.tool))
        return self._end

    @asynccontextmanager
    async def _limited(self) -> AsyncIterator[None]:
        """Bound what the radio is asked for, also from outside (`abandon`); LinkError when it takes too long."""
        try:
            async with asyncio.timeout(self._shared.timing.connect_s) as self._limit:
                yield
        except TimeoutError:
            raise LinkError(End.TIMEOUT, "the tool does not answer") from None
        finally:
            self._limit = None

    async def _subscribe(self, peer: Peer) -> Speech | None:
        """Subscribe to all that a profile could mean, then read the descriptors that tell which it is.

        Subscribing comes first: a tool may send at once, and what it sends before that is lost.
        """
        hear = partial(self._hear, self._generation)
        handles = set(wanted(self._fits, peer.offers()))
        offers = [o for o in peer.offers() if o.handle in handles]
        for offered in offers:
            await peer.subscribe(offered.handle, self._fits[0].notify_mode, hear)
        chosen = choose(self._fits, [await peer.describe(offered) for offered in offers])
        if chosen is None:
            return None
        profile, bound = chosen
        for handle in handles - {b.handle for b in bound}:
            await peer.unsubscribe(handle)
        return Speech.by(profile, self._name, bound)

    async def _introduce(self, peer: Peer, speech: Speech) -> None:
        """Read what the tool tells of itself; its serial number is its identity, its name only where it has none."""
        serial = gatt.text_of(await peer.read(gatt.DEVICE_INFORMATION, gatt.SERIAL_NUMBER))
        self._state = replace(
            self._state,
            tool=serial or self._name,
            kind=speech.kind,
            profile=speech.profile,
            serial=serial,
            model=gatt.text_of(await peer.read(gatt.DEVICE_INFORMATION, gatt.MODEL_NUMBER)),
            firmware=gatt.text_of(await peer.read(gatt.DEVICE_INFORMATION, gatt.FIRMWARE_REVISION)),
            battery=gatt.battery_of(await peer.read(gatt.BATTERY, gatt.BATTERY_LEVEL)),
        )

    async def _pump(self, speech: Speech) -> None:
        """Decode frame by frame until the link ends; what arrived before its end is still taken."""
        hearing = self._hearing = Hearing(speech)
        early, ready, told = len(self._inbox), self._state.at, False
        while (frame := await self._next(hearing)) is not None:
            if early == 0:
                hearing.ready(ready)
            early -= 1
            for arrival in hearing.take(frame):
                self._use()
                await self._shared.emit(arrival)
            if lost := self._inbox.take_lost():
                await self.tell(Link.READY, f"{lost} frames were lost because they came too fast; measure again.")
            if hearing.doubled and not told:
                told = True
                await self.tell(Link.READY, STILL_TWICE if self._made_afresh else TWICE)
        for unfinished in hearing.end():
            await self._shared.emit(unfinished)
        self._made_afresh = hearing.doubled or (self._made_afresh and not hearing.clean)

    async def _next(self, hearing: Hearing) -> Frame | None:
        """Return the next frame; a link that brings everything twice is let go as soon as the tool rests, once."""
        if hearing.doubled and not self._made_afresh:
            with suppress(TimeoutError):
                async with asyncio.timeout(self._shared.timing.rest_s):
                    return await self._inbox.take()
            self._let_go(End.DOUBLED)
        return await self._inbox.take()

    def _hear(self, generation: int, handle: int, uuid: str, octets: bytes) -> None:
        """The notification callback: stamp, enqueue, and nothing else."""
        frame = Frame(handle, uuid, octets, generation, self._shared.clock.now())
        if generation == self._generation and not self._inbox.closed:
            self._inbox.put(frame)
        else:
            self._shared.emit_late(undecoded(frame, self._state.tool, LATE))

    def _use(self) -> None:
        self.used_s = asyncio.get_running_loop().time()

    def _let_go(self, end: End) -> None:
        """End the present link ourselves, and say why."""
        self._end = end
        self._gone(self._generation)

    def _gone(self, generation: int) -> None:
        """The link of this generation has ended, by whomever."""
        if generation == self._generation:
            self.linked = False
            self._inbox.close()

    async def _report_unread(self) -> None:
        """Record what a tool sent over a link that ended before it was ready."""
        while (frame := await self._inbox.take()) is not None:
            self._shared.emit_late(undecoded(frame, self._state.tool, UNREAD))
