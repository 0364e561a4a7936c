"""The one scan: begun again after silence, after a connection and when told; what a person hears of it."""

import asyncio
from collections import deque
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

import pytest

from drivers.radio.ether import Ether, ScanError
from drivers.radio.supervise import QUIET, SERVICE_GONE, End, Timing, next_scan
from drivers.reading import Link

HOUR = Timing(poll_s=3600.0, quiet_s=3600.0)
SILENCE = Timing(poll_s=3600.0, quiet_s=0.01)


@dataclass
class Bench:
    """An ether with scans that fail as scripted."""

    timing: Timing
    troubles: deque[ScanError | None] = field(default_factory=deque)
    linked: bool = False
    running: int = 0
    begun: int = 0
    adopted: int = 0
    told: asyncio.Queue[tuple[Link, str]] = field(default_factory=asyncio.Queue)
    scans: asyncio.Queue[int] = field(default_factory=asyncio.Queue)
    attempts: asyncio.Queue[int] = field(default_factory=asyncio.Queue)
    """How many troubles lay ahead of each attempt."""

    def __post_init__(self) -> None:
        self.ether = Ether(lambda: self, self._adopt, lambda: self.linked, self.timing)

    async def start(self) -> None:
        self.attempts.put_nowait(len(self.troubles))
        trouble = self.troubles.popleft() if self.troubles else None
        if trouble is not None:
            raise trouble
        self.running += 1
        self.begun += 1
        self.scans.put_nowait(self.begun)

    async def stop(self) -> None:
        self.running -= 1

    async def _adopt(self) -> None:
        self.adopted += 1

    async def tell(self, link: Link, message: str) -> None:
        self.told.put_nowait((link, message))

    @asynccontextmanager
    async def scanning(self) -> AsyncIterator[None]:
        async with asyncio.timeout(30):
            work = asyncio.ensure_future(self.ether.keep_scanning(self.tell))
            try:
                yield
            finally:
                work.cancel()
                await asyncio.wait({work})
        assert self.running == 0


async def test_a_scan_runs_until_the_end_and_what_was_left_is_adopted_once() -> None:
    bench = Bench(HOUR)
    async with bench.scanning():
        assert await bench.scans.get() == 1
        bench.ether.look_again()
        assert await bench.scans.get() == 2
        assert (bench.running, bench.adopted) == (1, 1)
    assert bench.told.empty()


async def test_a_scan_that_was_half_begun_when_nobody_wanted_it_any_more_is_ended() -> None:
    class Slow(Bench):
        async def start(self) -> None:
            await super().start()
            await asyncio.Event().wait()

    bench = Slow(HOUR)
    async with bench.scanning():
        await bench.scans.get()
        assert bench.running == 1
    assert bench.running == 0


async def test_a_connection_stops_the_scan_which_then_begins_once_more() -> None:
    bench = Bench(HOUR)
    async with bench.scanning():
        await bench.scans.get()
        async with bench.ether.lock:
            await bench.ether.stop()
            assert bench.running == 0
            await asyncio.sleep(0)
            assert bench.running == 0, "no scan while a connection is made"
        assert await bench.scans.get() == 2
        await asyncio.sleep(0)
        assert bench.scans.empty()


async def test_silence_begins_the_scan_afresh_and_is_told_after_the_second_time() -> None:
    bench = Bench(SILENCE)
    async with bench.scanning():
        assert await bench.told.get() == (Link.LOST, QUIET)
        assert bench.begun >= 3
        assert bench.adopted == bench.begun, "a tool left connected is heard by nobody"
        bench.ether.heard()
        assert await bench.told.get() == (Link.READY, "")


async def test_silence_is_no_fault_while_a_tool_is_linked() -> None:
    bench = Bench(SILENCE, linked=True)
    async with bench.scanning():
        while await bench.scans.get() < 5:
            pass
        assert bench.told.empty()


async def test_trouble_is_told_once_and_what_changed_ends_the_waiting() -> None:
    trouble = ScanError(End.RADIO_OFF, "Switch it on.")
    bench = Bench(HOUR, deque([trouble, trouble]))
    async with bench.scanning():
        assert await bench.told.get() == (Link.LOST, "Switch it on.")
        bench.ether.look_again()
        assert [await bench.attempts.get() for _ in range(2)] == [2, 1]
        bench.ether.look_again()
        assert await bench.scans.get() == 1
        assert await bench.told.get() == (Link.READY, "")
        assert bench.told.empty()


async def test_a_service_that_has_gone_is_told_even_when_it_is_back_at_once_and_nothing_is_adopted() -> None:
    bench = Bench(HOUR)
    async with bench.scanning():
        await bench.scans.get()
        bench.ether.service_gone()
        assert await bench.told.get() == (Link.LOST, SERVICE_GONE)
        assert await bench.told.get() == (Link.READY, "")
        assert (bench.begun, bench.adopted) == (2, 1)


@pytest.mark.parametrize(
    ("end", "in_a_row", "wait_s", "tell"),
    [
        (End.RADIO_OFF, 1, 5.0, True),
        (End.ABORTED, 7, 5.0, True),
        (End.BUSY, 1, 0.25, False),
        (End.BUSY, 2, 0.5, False),
        (End.BUSY, 3, 1.0, True),
        (End.BUSY, 5000, 4.0, True),
    ],
)
def test_what_follows_a_scan_that_could_not_be_begun(end: End, in_a_row: int, wait_s: float, tell: bool) -> None:
    step = next_scan(end, in_a_row, poll_s=5.0)
    assert (step.wait_s, step.tell) == (wait_s, tell)
