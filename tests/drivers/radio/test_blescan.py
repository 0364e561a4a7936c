"""A scan by bleak, begun and ended whole whoever loses patience with it."""

import asyncio
from typing import ClassVar

import pytest
from bleak.backends.scanner import BaseBleakScanner
from bleak.exc import BleakError

from drivers.radio.blebackends import Backends
from drivers.radio.blescan import Antenna, BleScan, scan
from drivers.radio.ether import ScanError
from drivers.radio.supervise import Timing


class SlowScanner(BaseBleakScanner):
    """A scanner whose service answers when it is let."""

    said: ClassVar[list[str]]
    asked: ClassVar[asyncio.Event]
    answer: ClassVar[asyncio.Event]
    fails: ClassVar[bool]

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(None, None)

    async def start(self) -> None:
        self.seen_devices = {}
        await self._answered("begun")

    async def stop(self) -> None:
        await self._answered("ended")

    async def _answered(self, what: str) -> None:
        self.asked.set()
        await self.answer.wait()
        self.asked.clear()
        if self.fails:
            raise BleakError("the service has gone")
        self.said.append(what)

    def set_scanning_filter(self, **kwargs: object) -> None:
        raise NotImplementedError


@pytest.fixture
def service() -> type[SlowScanner]:
    """Give the scanner with nothing said yet, and a service that answers at once."""
    SlowScanner.said = []
    SlowScanner.asked, SlowScanner.answer = asyncio.Event(), asyncio.Event()
    SlowScanner.answer.set()
    SlowScanner.fails = False
    return SlowScanner


def a_scan(service: type[SlowScanner], leave_s: float = 5.0) -> BleScan:
    return BleScan(lambda device, heard: None, Antenna("", service), leave_s)


async def cancelled_while_asked(service: type[SlowScanner], work: "asyncio.Task[None]") -> None:
    """Cancel the work while the service is asked, and let the service answer a little later."""
    await service.asked.wait()
    work.cancel()
    asyncio.get_running_loop().call_later(0.01, service.answer.set)
    with pytest.raises(asyncio.CancelledError):
        await work


async def test_an_end_that_is_cancelled_is_whole_before_it_is_over(service: type[SlowScanner]) -> None:
    scan = a_scan(service)
    await scan.start()
    service.answer.clear()
    async with asyncio.timeout(5):
        await cancelled_while_asked(service, asyncio.ensure_future(scan.stop()))
    assert service.said == ["begun", "ended"]


async def test_a_beginning_that_is_cancelled_is_whole_so_that_it_can_be_ended(service: type[SlowScanner]) -> None:
    scan = a_scan(service)
    service.answer.clear()
    async with asyncio.timeout(5):
        await cancelled_while_asked(service, asyncio.ensure_future(scan.start()))
    await scan.stop()
    assert service.said == ["begun", "ended"]


async def test_an_end_that_a_lost_service_refuses_is_an_end(service: type[SlowScanner]) -> None:
    scan = a_scan(service)
    await scan.start()
    service.fails = True
    await scan.stop()
    assert service.said == ["begun"]


async def test_an_end_that_is_never_answered_is_given_up_and_logged(
    service: type[SlowScanner], caplog: pytest.LogCaptureFixture
) -> None:
    scan = a_scan(service, leave_s=0.01)
    await scan.start()
    service.answer.clear()
    async with asyncio.timeout(5):
        await scan.stop()
    assert service.said == ["begun"]
    assert caplog.messages == [
        "The Bluetooth service did not say within 0.01 s that the scan has ended; it is left to the service."
    ]


async def test_an_end_that_is_never_answered_holds_up_nobody_who_is_cancelled_meanwhile(
    service: type[SlowScanner],
) -> None:
    scan = a_scan(service, leave_s=0.01)
    await scan.start()
    service.answer.clear()
    work = asyncio.ensure_future(scan.stop())
    async with asyncio.timeout(5):
        await service.asked.wait()
        work.cancel()
        with pytest.raises(asyncio.CancelledError):
            await work
    assert service.said == ["begun"]


async def test_a_list_of_what_is_heard_is_given_although_the_end_of_its_scan_is_never_answered(
    service: type[SlowScanner],
) -> None:
    class Endless(service):  # type: ignore[misc, valid-type]
        async def start(self) -> None:
            await super().start()
            self.answer.clear()

    async with asyncio.timeout(5):
        assert await scan(0.0, (), backends=Backends(scanner=Endless), timing=Timing(close_s=0.01)) == ()
    assert service.said == ["begun"]


async def test_a_scan_that_could_not_be_begun_is_not_ended(service: type[SlowScanner]) -> None:
    scan = a_scan(service)
    service.fails = True
    with pytest.raises(ScanError):
        await scan.start()
    service.fails = False
    await scan.stop()
    assert service.said == []
