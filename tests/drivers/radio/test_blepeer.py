"""One link by bleak over a service that does not answer: however far it got, leaving it comes to an end."""

import asyncio
from typing import ClassVar

import pytest
from bleak.backends.device import BLEDevice

from drivers.radio.blepeer import TAKINGS_BACK, BlePeer
from drivers.radio.supervise import Timing
from simulators.air import AirClient
from tests.drivers.scene import Scene

SOON = Timing(connect_s=5.0, close_s=0.01)


@pytest.fixture
def scene() -> Scene:
    """Give an empty workshop."""
    return Scene()


class Unanswered(AirClient):
    """A client whose calls get no answer where it is said so."""

    hangs: ClassVar[frozenset[str]]
    cancels: ClassVar[int]
    """How often an attempt at a connection was cancelled."""

    async def connect(self, pair: bool, **kwargs: object) -> None:
        while "connect" in self.hangs:
            try:
                await asyncio.Event().wait()
            except asyncio.CancelledError:
                type(self).cancels += 1
                if self.cancels > TAKINGS_BACK:
                    raise
        await super().connect(pair, **kwargs)

    async def disconnect(self) -> None:
        if "disconnect" in self.hangs:
            await asyncio.Event().wait()
        await super().disconnect()


def a_peer(scene: Scene, *hangs: str) -> BlePeer:
    tool = scene.caliper()
    made = scene.client(Unanswered)
    assert issubclass(made, Unanswered)
    made.hangs, made.cancels = frozenset(hangs), 0
    return BlePeer(BLEDevice("00:00:5E:00:53:00", tool.name, tool), made, SOON, lambda: None)


async def test_an_end_of_a_link_that_is_never_answered_is_given_up_and_logged(
    scene: Scene, caplog: pytest.LogCaptureFixture
) -> None:
    peer = a_peer(scene, "disconnect")
    async with asyncio.timeout(5):
        await peer.connect()
        await peer.close()
    assert caplog.messages == [
        "The Bluetooth service did not say within 0.01 s that a link has ended; it is left to the service."
    ]


async def test_an_attempt_that_does_not_let_go_is_cancelled_a_few_times_and_logged(
    scene: Scene, caplog: pytest.LogCaptureFixture
) -> None:
    peer = a_peer(scene, "connect", "disconnect")
    work = asyncio.ensure_future(peer.connect())
    async with asyncio.timeout(5):
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        work.cancel()
        with pytest.raises(asyncio.CancelledError):
            await work
        await peer.close()
    (told,) = caplog.messages
    assert "did not let go of an attempt to connect within 0.03 s" in told


async def test_leaving_the_radio_ends_although_no_end_of_anything_is_answered(scene: Scene) -> None:
    scene.caliper()
    made = scene.client(Unanswered)
    assert issubclass(made, Unanswered)
    made.hangs, made.cancels = frozenset({"disconnect"}), 0
    scene.air.scanner_backend = type("Endless", (scene.air.scanner_backend,), {"stop": forever})
    async with scene.ready():
        pass
    assert scene.air.scanners != [], "the scan was left to the service"


async def forever(_: object) -> None:
    await asyncio.Event().wait()
