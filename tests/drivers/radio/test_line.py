"""One tool's line over a scripted peer: what a radio that misbehaves makes of it."""

import asyncio
from collections.abc import Callable
from typing import Literal

import pytest

from drivers.decode.bind import Offered
from drivers.gatt import INDUSTRIAL_MEASUREMENT, LENGTH
from drivers.profile.file import shipped_profiles
from drivers.profile.profile import ToolProfile, parse_profile
from drivers.radio.inbox import FRAMES_HELD
from drivers.radio.line import Line, Shared
from drivers.radio.peer import Heard, LinkError
from drivers.radio.slots import Slots
from drivers.radio.supervise import End, Timing
from drivers.reading import Arrival, Link, Stamp, ToolReading, ToolState, Undecoded

PROFILES = tuple(p for p in shipped_profiles() if p.profile == "sig-caliper")
READING = bytes.fromhex("10860500")


class StillClock:
    def now(self) -> Stamp:
        return Stamp(0, 0)


class ScriptedPeer:
    """A peer that offers a Length at handle 3, breaks at the call `breaks`, and never answers the call `silent`."""

    def __init__(self, gone: Callable[[], None], breaks: str = "", end: End = End.ABORTED, silent: str = "") -> None:
        self.gone = gone
        self.breaks = breaks
        self.silent = silent
        self.end = end
        self.heard: Heard | None = None
        self.modes: list[str] = []
        self.closed = 0

    async def _at(self, call: str) -> None:
        if call == self.silent:
            await asyncio.Event().wait()
        if call == self.breaks:
            raise LinkError(self.end, call)

    async def connect(self) -> None:
        await self._at("connect")

    def offers(self) -> tuple[Offered, ...]:
        return (Offered(3, LENGTH, INDUSTRIAL_MEASUREMENT),)

    async def subscribe(self, handle: int, mode: Literal["start", "acquire"], heard: Heard) -> None:
        await self._at("subscribe")
        self.modes.append(mode)
        self.heard = heard

    async def unsubscribe(self, handle: int) -> None:
        await self._at("unsubscribe")

    async def describe(self, offered: Offered) -> Offered:
        await self._at("describe")
        return offered

    async def read(self, service: str, uuid: str) -> bytes:
        await self._at("read")
        return b""

    async def close(self) -> None:
        self.closed += 1

    def send(self, payload: bytes) -> None:
        assert self.heard is not None
        self.heard(3, LENGTH, payload)


class Stand:
    """One line with its scripted peer, and all that arrived."""

    def __init__(
        self,
        breaks: str = "",
        end: End = End.ABORTED,
        profiles: tuple[ToolProfile, ...] = PROFILES,
        connect_s: float = 0.05,
        silent: str = "",
    ) -> None:
        self.arrivals: list[Arrival] = []
        self.ready = asyncio.Event()
        self.peer: ScriptedPeer | None = None
        self.breaks, self.end, self.silent = breaks, end, silent
        shared = Shared(
            StillClock(),
            Timing(connect_s=connect_s),
            Slots(1, 60.0, lambda: None),
            asyncio.Lock(),
            self._make_way,
            self._emit,
            self.arrivals.append,
        )
        self.line = Line(shared, "00:00:5E:00:53:01")
        self.line.heard("Bench caliper", profiles, self._make)

    def _make(self, gone: Callable[[], None]) -> ScriptedPeer:
        self.peer = ScriptedPeer(gone, self.breaks, self.end, self.silent)
        return self.peer

    async def _make_way(self) -> None:
        await asyncio.sleep(0)

    async def _emit(self, arrival: Arrival) -> None:
        self.arrivals.append(arrival)
        if isinstance(arrival, ToolState) and arrival.link is Link.READY:
            self.ready.set()


@pytest.mark.parametrize("breaks", ["connect", "subscribe", "describe", "read"])
@pytest.mark.parametrize("end", [End.BUSY, End.REFUSED, End.ABORTED])
async def test_a_break_before_ready_ends_the_session_closed_and_never_ready(breaks: str, end: End) -> None:
    stand = Stand(breaks, end)
    assert await stand.line.session() is end
    assert stand.peer is not None
    assert stand.peer.closed == 1
    assert [a.link for a in stand.arrivals if isinstance(a, ToolState)] == [Link.CONNECTING]


@pytest.mark.parametrize("silent", ["connect", "subscribe", "describe", "read"])
async def test_a_call_that_is_never_answered_ends_the_session_closed_and_never_ready(silent: str) -> None:
    stand = Stand(silent=silent, connect_s=0.01)
    async with asyncio.timeout(5):
        assert await stand.line.session() is End.TIMEOUT
    assert stand.peer is not None
    assert stand.peer.closed == 1
    assert [a.link for a in stand.arrivals if isinstance(a, ToolState)] == [Link.CONNECTING]


async def test_a_link_that_ends_after_ready_was_dropped_and_is_closed_once() -> None:
    stand = Stand()
    async with asyncio.TaskGroup() as group:
        session = group.create_task(stand.line.session())
        await stand.ready.wait()
        assert stand.peer is not None
        stand.peer.send(READING)
        stand.peer.gone()
    assert session.result() is End.DROPPED
    assert stand.peer.closed == 1
    assert isinstance(stand.arrivals[-1], ToolReading)


async def test_what_is_heard_of_a_linked_tool_does_not_make_it_awake() -> None:
    """Some systems go on reporting a device while it is connected; only what is heard afterwards counts."""
    stand = Stand()
    async with asyncio.TaskGroup() as group:
        group.create_task(stand.line.session())
        await stand.ready.wait()
        stand.line.heard("Bench caliper", (), stand._make)
        assert stand.peer is not None
        stand.peer.gone()
    assert not stand.line.awake.is_set()
    stand.line.heard("Bench caliper", (), stand._make)
    assert stand.line.awake.is_set()


async def test_frames_that_nobody_can_take_in_time_are_counted_and_told() -> None:
    stand = Stand()
    async with asyncio.TaskGroup() as group:
        group.create_task(stand.line.session())
        await stand.ready.wait()
        assert stand.peer is not None
        for _ in range(FRAMES_HELD + 17):
            stand.peer.send(READING)
        stand.peer.gone()
    told = [a.message for a in stand.arrivals if isinstance(a, ToolState) and "lost" in a.message]
    assert told == ["17 frames were lost because they came too fast; measure again."]
    assert sum(isinstance(a, ToolReading) for a in stand.arrivals) == FRAMES_HELD


async def test_what_arrives_over_a_link_that_fails_before_ready_is_recorded() -> None:
    stand = Stand("read")
    real = ScriptedPeer.subscribe

    class Early(ScriptedPeer):
        async def subscribe(self, handle: int, mode: Literal["start", "acquire"], heard: Heard) -> None:
            await real(self, handle, mode, heard)
            self.send(READING)

    stand.line.heard("Bench caliper", PROFILES, lambda gone: Early(gone, "read"))
    assert await stand.line.session() is End.ABORTED
    (kept,) = [a for a in stand.arrivals if isinstance(a, Undecoded)]
    assert kept.raw == READING.hex()
    assert "before the tool had told" in kept.reason


async def test_the_notify_mode_is_the_profiles() -> None:
    profile = parse_profile(
        'profile = "a"\nkind = "caliper"\nnotify_mode = "acquire"\n[recognise]\nservice = "185A"\n'
        '[[values]]\ndecode = "sig"\ncharacteristic = "2C0A"\nrole = "reading"\n',
        "a.toml",
    )
    stand = Stand(profiles=(profile,))
    async with asyncio.TaskGroup() as group:
        group.create_task(stand.line.session())
        await stand.ready.wait()
        assert stand.peer is not None
        stand.peer.gone()
    assert stand.peer.modes == ["acquire"]


async def test_an_end_reported_before_the_connection_was_made_after_all_does_not_end_it() -> None:
    class Persistent(ScriptedPeer):
        async def connect(self) -> None:
            self.gone()  # the first attempt of a library that tries again by itself

    stand = Stand()

    def make(gone: Callable[[], None]) -> ScriptedPeer:
        stand.peer = Persistent(gone)
        return stand.peer

    stand.line.heard("Bench caliper", PROFILES, make)
    work = asyncio.ensure_future(stand.line.session())
    await stand.ready.wait()
    assert stand.peer is not None
    stand.peer.send(READING)
    stand.peer.gone()
    assert await work is End.DROPPED
    assert [a.text for a in stand.arrivals if isinstance(a, ToolReading)] == ["36.2000"]


async def test_an_abandoned_attempt_ends_at_once_and_only_a_new_advertisement_begins_another() -> None:
    class Stuck(ScriptedPeer):
        async def connect(self) -> None:
            connecting.set()
            await asyncio.Event().wait()

    connecting = asyncio.Event()
    stand = Stand(connect_s=3600.0)

    def make(gone: Callable[[], None]) -> ScriptedPeer:
        stand.peer = Stuck(gone)
        return stand.peer

    stand.line.heard("Bench caliper", PROFILES, make)
    work = asyncio.ensure_future(stand.line.session())
    await connecting.wait()
    stand.line.abandon()
    async with asyncio.timeout(30):
        assert await work is End.TIMEOUT
    assert not stand.line.awake.is_set()
    assert await stand.line.session() is End.ABORTED, "what it knew of the tool is not used again"
    stand.line.heard("Bench caliper", PROFILES, make)
    assert stand.line.awake.is_set()
