"""What each signal on the bus says of the Bluetooth service."""

import sys

import pytest

if sys.platform != "linux":
    pytest.skip("the Bluetooth service is watched on Linux only", allow_module_level=True)

from dbus_fast import Message, MessageType, Variant

from drivers.radio.bus import ADAPTER
from drivers.radio.servicewatch import Change, change_of


def signal(member: str, signature: str, *body: object) -> Message:
    return Message(
        message_type=MessageType.SIGNAL,
        path="/org/bluez/hci0",
        interface="org.example.Any",
        member=member,
        signature=signature,
        body=list(body),
    )


@pytest.mark.parametrize(
    ("message", "change"),
    [
        (signal("NameOwnerChanged", "sss", "org.bluez", ":1.5", ""), Change.GONE),
        (signal("NameOwnerChanged", "sss", "org.bluez", ":1.5", ":1.9"), Change.GONE),
        (signal("NameOwnerChanged", "sss", "org.bluez", "", ":1.9"), Change.ADAPTER),
        (signal("NameOwnerChanged", "sss", "org.example", ":1.5", ""), None),
        (signal("PropertiesChanged", "sa{sv}as", ADAPTER, {"Powered": Variant("b", False)}, []), Change.ADAPTER),
        (signal("PropertiesChanged", "sa{sv}as", ADAPTER, {"Discovering": Variant("b", True)}, []), None),
        (signal("PropertiesChanged", "sa{sv}as", "org.bluez.Device1", {"Powered": Variant("b", True)}, []), None),
        (signal("InterfacesAdded", "oa{sa{sv}}", "/org/bluez/hci0", {ADAPTER: {}}), Change.ADAPTER),
        (signal("InterfacesAdded", "oa{sa{sv}}", "/org/bluez/hci0/dev", {"org.bluez.Device1": {}}), None),
        (signal("InterfacesRemoved", "oas", "/org/bluez/hci0", [ADAPTER]), Change.ADAPTER),
        (signal("InterfacesRemoved", "oas", "/org/bluez/hci0/dev", ["org.bluez.Device1"]), None),
    ],
)
def test_what_a_signal_says(message: Message, change: Change | None) -> None:
    assert change_of(message) is change


def test_an_answer_is_no_signal() -> None:
    call = Message(destination="org.bluez", path="/", interface="a.b", member="NameOwnerChanged", serial=1)
    assert change_of(Message.new_method_return(call, "sss", ["org.bluez", ":1.5", ""])) is None
