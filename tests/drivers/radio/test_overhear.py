"""A tool that no profile knows is heard whole: every characteristic, until the link ends, and then it is let go."""

from contextlib import AbstractAsyncContextManager
from functools import partial

import pytest

from drivers.decode.decode import Frame
from drivers.radio.ble import RadioUnavailableError, find
from drivers.radio.inbox import Inbox
from drivers.radio.overhear import overhearing
from drivers.radio.peer import LinkError
from drivers.radio.supervise import Timing
from simulators.air import Air
from simulators.clock import SimClock
from simulators.tools import Label, SimCharacteristic, SimService, SimTool

FFE1 = "0000ffe1-0000-1000-8000-00805f9b34fb"
FFE2 = "0000ffe2-0000-1000-8000-00805f9b34fb"


class Unknown(SimTool):
    """A tool of nobody's profile, with two characteristics."""

    def __init__(self) -> None:
        self.one, self.two = (SimCharacteristic(uuid, ("notify",)) for uuid in (FFE1, FFE2))
        service = SimService("0000ffe0-0000-1000-8000-00805f9b34fb", [self.one, self.two])
        super().__init__("Depot gauge", Label("DG-1"), service, SimClock())


async def linked(air: Air, address: str) -> AbstractAsyncContextManager[Inbox[Frame]]:
    search = partial(find, backends=air.backends)
    return overhearing(await search(address, 5.0), SimClock(), timing=Timing(connect_s=0.2))


async def test_every_characteristic_is_heard_and_the_tool_is_let_go() -> None:
    air, tool = Air(), Unknown()
    address = air.add(tool)
    async with await linked(air, address) as frames:
        tool.send(tool.one, b"\x01")
        tool.send(tool.two, b"\x02")
        heard = [await frames.take(), await frames.take()]
        assert tool.label.battery is not None
        assert len(tool.subscribed) == 2  # and not the battery
    assert [(frame.uuid, frame.payload) for frame in heard if frame] == [(FFE1, b"\x01"), (FFE2, b"\x02")]
    assert tool.peer is None


async def test_a_link_that_is_lost_ends_the_frames_after_the_last_one() -> None:
    air, tool = Air(), Unknown()
    address = air.add(tool)
    async with await linked(air, address) as frames:
        tool.send(tool.one, b"\x01")
        tool.sleep()
        assert (await frames.take() or pytest.fail("lost")).payload == b"\x01"
        assert await frames.take() is None


async def test_a_tool_that_fell_asleep_is_told() -> None:
    air, tool = Air(), Unknown()
    address = air.add(tool)
    waiting = await linked(air, address)
    tool.sleep()
    with pytest.raises(LinkError):
        async with waiting:
            pytest.fail("linked")
    assert tool.peer is None


async def test_a_tool_that_notifies_nothing_is_told_and_let_go() -> None:
    air, tool = Air(), Unknown()
    tool.one.properties = tool.two.properties = ("read",)
    address = air.add(tool)
    with pytest.raises(LinkError, match="notifies nothing"):
        async with await linked(air, address):
            pytest.fail("linked")
    assert tool.peer is None


async def test_what_is_not_heard_is_told() -> None:
    air = Air()
    with pytest.raises(RadioUnavailableError, match="press its button"):
        await find("00:00:5E:00:53:77", 0.01, backends=air.backends)
