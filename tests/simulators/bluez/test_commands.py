"""What the stand-in for BlueZ is told by lines, on a stand-in without a bus."""

from decimal import Decimal
from typing import Any

import pytest

from simulators.bluez.private_bus import missing

if why := missing():
    pytest.skip(why, allow_module_level=True)

from dbus_fast import Message, Variant

from simulators.bluez.adapter import PATH, Adapter
from simulators.bluez.commands import Commands, TalkError, make_tool
from simulators.bluez.faults import Delay, Faults
from simulators.bluez.table import DEVICE, RefusedError
from simulators.tools import SimCaliper, SimWrench

DEVICE_PATH = f"{PATH}/dev_00_00_5E_00_53_00"


class Stand:
    """An adapter with two tools, plugged in; what it would have sent is kept."""

    def __init__(self) -> None:
        self.sent: list[Message] = []
        self.adapter = Adapter(self.sent.append, [make_tool("caliper:DC-1"), make_tool("wrench:TW-1:Wrench:asleep")])
        self.adapter.plug(True)
        self.commands = Commands(self.adapter)

    def call(self, member: str, path: str = PATH) -> Message:
        return Message(destination="org.bluez", path=path, interface=DEVICE, member=member, sender=":1.7", serial=1)

    def signals(self, member: str) -> list[list[Any]]:
        return [m.body for m in self.sent if m.member == member]


@pytest.fixture
def stand() -> Stand:
    return Stand()


def test_a_tool_is_made_from_its_description() -> None:
    caliper, wrench = make_tool("caliper:DC-1"), make_tool("wrench:TW-1:Depot wrench:asleep")
    assert isinstance(caliper, SimCaliper)
    assert isinstance(wrench, SimWrench)
    assert (caliper.name, caliper.label.serial, caliper.awake) == ("Bench caliper", "DC-1", True)
    assert (wrench.name, wrench.label.serial, wrench.awake) == ("Depot wrench", "TW-1", False)
    unmet = make_tool("unmet:DG-1")
    assert (unmet.name, unmet.advertised_services()) == ("Depot gauge", ["0000ffe0-0000-1000-8000-00805f9b34fb"])


@pytest.mark.parametrize("spec", ["", "caliper", "caliper:", "tape:T-1", "wrench:TW-1:Wrench:awake"])
def test_what_is_no_tool_is_told(spec: str) -> None:
    with pytest.raises(TalkError, match="is no tool; say KIND:SERIAL"):
        make_tool(spec)


@pytest.mark.parametrize(
    "line",
    [
        "sneeze DC-1",
        "press",
        "press DC-9",
        "press DC-1 3x",
        "press DC-1 1 2 3",
        "pull DC-1 10 1 2",
        "pull TW-1 -1 1",
        "power perhaps",
        "send DC-1 xyz",
        "fail Connect x a.b",
        "forget DC-1",
        'press "DC-1',
    ],
)
async def test_a_command_that_is_not_understood_is_told_and_does_nothing(stand: Stand, line: str) -> None:
    before = len(stand.sent)
    with pytest.raises(TalkError, match="help lists the commands"):
        await stand.commands.obey(line)
    assert len(stand.sent) == before


async def test_help_names_every_command_with_what_it_does(stand: Stand) -> None:
    told = await stand.commands.obey("help")
    assert {"press", "pull", "drop", "sleep", "power", "plug", "wedge", "fail", "hang", "repeat", "delay"} <= set(told)


async def test_a_press_wakes_a_tool_and_what_nobody_hears_is_not_sent(stand: Stand) -> None:
    await stand.commands.obey("press TW-1")
    await stand.commands.obey("press DC-1 36.2")
    state = await stand.commands.obey("state")
    assert stand.adapter.devices[f"{PATH}/dev_00_00_5E_00_53_01"].tool.awake
    assert state["sent"] == {"DC-1": 0, "TW-1": 0}


def test_as_bluez_does_the_connection_outlives_its_client_and_is_not_made_twice(stand: Stand) -> None:
    device = stand.adapter.devices[DEVICE_PATH]
    device.announce()
    with pytest.raises(RefusedError) as unknown:
        stand.adapter.device(f"{PATH}/dev_00_00_5E_00_53_01")
    assert unknown.value.name == "org.freedesktop.DBus.Error.UnknownObject"
    assert stand.signals("InterfacesAdded")[-1][1][DEVICE]["RSSI"] == Variant("n", -58)


async def test_connecting_and_its_end(stand: Stand) -> None:
    device = stand.adapter.devices[DEVICE_PATH]
    device.announce()
    assert device.connect(stand.call("Connect", DEVICE_PATH)) is not None
    with pytest.raises(RefusedError, match="Already Connected"):
        device.connect(stand.call("Connect", DEVICE_PATH))
    stand.adapter.client_gone(":1.7")
    assert (await stand.commands.obey("state"))["connected"] == ["DC-1"]
    device.disconnect(stand.call("Disconnect", DEVICE_PATH))
    assert (await stand.commands.obey("state"))["connected"] == []
    stand.adapter.power(False)
    with pytest.raises(RefusedError, match="Not Ready"):
        stand.adapter.connect(stand.call("Connect", DEVICE_PATH))


async def test_a_connection_to_a_sleeping_tool_waits_and_can_be_cancelled(stand: Stand) -> None:
    await stand.commands.obey("sleep DC-1")
    device = stand.adapter.devices[DEVICE_PATH]
    assert device.connect(stand.call("Connect", DEVICE_PATH)) is None
    with pytest.raises(RefusedError, match="in progress"):
        device.connect(stand.call("Connect", DEVICE_PATH))
    device.disconnect(stand.call("Disconnect", DEVICE_PATH))
    assert stand.sent[-1].error_name == "org.bluez.Error.Failed"
    assert stand.sent[-1].body == ["br-connection-canceled"]
    assert device.connect(stand.call("Connect", DEVICE_PATH)) is None
    await stand.commands.obey("wake DC-1")
    assert device.linked


def test_faults_meet_as_many_calls_as_told() -> None:
    faults = Faults()
    faults.refuse("Connect", 2, RefusedError("org.bluez.Error.InProgress"))
    faults.hangs["Connect"] = 1
    for _ in range(2):
        with pytest.raises(RefusedError):
            faults.meet("Connect")
    assert [faults.meet("Connect") for _ in range(3)] == [True, False, False]
    assert not faults.meet("StartNotify")


async def test_what_is_delayed_keeps_its_order_whatever_the_delay_becomes() -> None:
    delay, out = Delay(), list[Decimal]()
    delay.seconds = 3600.0
    delay.put(lambda: out.append(Decimal(1)))
    delay.seconds = 0.0
    delay.put(lambda: out.append(Decimal(2)))
    assert out == []
    delay.flush()
    assert out == [1, 2]
