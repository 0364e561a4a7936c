"""The stand-in for BlueZ from outside: who ends it may be cancelled meanwhile, and is."""

import asyncio

import pytest

from simulators.bluez.private_bus import PrivateBus, missing
from simulators.bluez.remote import RemoteStandIn

if why := missing():
    pytest.skip(why, allow_module_level=True)


class Lingering(RemoteStandIn):
    """Told to stop listening, it does so only once it is let go."""

    def __init__(self, bus: PrivateBus) -> None:
        super().__init__(bus, ["caliper:DC-1"])
        self.stopping, self.let_go = asyncio.Event(), asyncio.Event()

    async def _listen(self, answers: asyncio.StreamReader) -> None:
        try:
            await self.let_go.wait()
        except asyncio.CancelledError:
            self.stopping.set()
            await self.let_go.wait()
            raise


async def test_a_cancel_while_the_listening_ends_is_not_taken_for_its_end() -> None:
    async with PrivateBus() as bus, Lingering(bus) as remote:
        asked = remote.begin("power", "off")
        killing = asyncio.create_task(remote.kill())  # cancelled and awaited below, which a task group would do itself
        await remote.stopping.wait()
        killing.cancel()
        with pytest.raises(asyncio.CancelledError):
            await killing
        assert asked.cancelled()
        remote.let_go.set()


async def test_what_was_asked_and_not_answered_is_cancelled_by_a_kill_and_it_starts_afresh() -> None:
    async with PrivateBus() as bus, RemoteStandIn(bus, ["caliper:DC-1"]) as remote:
        asked = remote.begin("power", "off")
        await remote.kill()
        assert asked.done()
        await remote.start()
        assert await remote.tell("power", "on") is not None
