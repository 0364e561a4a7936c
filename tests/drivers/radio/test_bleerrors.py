"""What bleak raises: sorted by what helps, told with one action, and got over without anybody's help."""

import pytest
from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakDeviceNotFoundError,
    BleakError,
    BleakGATTProtocolError,
)

from drivers import gatt
from drivers.radio.ble import RadioUnavailableError, advice, classify, scan
from drivers.radio.bleerrors import require_bleak
from drivers.radio.supervise import RADIO_ADVICE, End
from drivers.reading import RADIO, Link, ToolState
from tests.drivers.scene import INCHES, Scene, settle, value
from tests.drivers.stage import PROFILES, is_link, until

FAILED = "org.bluez.Error.Failed"


@pytest.mark.parametrize("reason", BleakBluetoothNotAvailableReason)
async def test_a_missing_radio_is_told_with_an_action_and_comes_back_by_itself(
    reason: BleakBluetoothNotAvailableReason,
) -> None:
    scene = Scene()
    scene.caliper()
    scene.air.switch_off(reason)
    async with scene.radio() as radio:
        state = await radio.next()
        assert isinstance(state, ToolState)
        assert (state.tool, state.link) == (RADIO, Link.LOST)
        assert state.message == RADIO_ADVICE[reason.name]
        assert await settle(radio) == [], "told once, not at every poll"
        scene.air.switch_on()
        back = await until(radio, is_link(Link.READY, "DC-0417"))
    assert sum(is_link(Link.READY, RADIO)(a) for a in back) == 1


@pytest.mark.parametrize("message", RADIO_ADVICE.values())
def test_each_reason_is_one_sentence_with_one_action(message: str) -> None:
    assert message.count(";") == 1
    assert message.count(".") == 1
    assert message.endswith(".")


async def test_scan_lists_what_is_heard_with_what_it_may_be() -> None:
    scene = Scene()
    scene.own("Heart strap", value(INCHES)).rssi = -80
    scene.caliper()
    scene.own("Depth caliper", value(INCHES)).rssi = -90
    seen = await scan(0.01, PROFILES, backends=scene.air.backends)
    assert [(s.name, s.rssi, s.profile) for s in seen] == [
        ("Bench caliper", -58, "caliper or torque wrench (decided on connecting)"),
        ("Heart strap", -80, ""),
        ("Depth caliper", -90, "described-caliper"),
    ]
    assert (seen[0].profiles, seen[0].kinds) == (("sig-caliper", "sig-torque-wrench"), ("caliper", "torque wrench"))
    assert seen[0].services == (gatt.INDUSTRIAL_MEASUREMENT,)


async def test_scan_without_a_radio_says_what_to_do() -> None:
    scene = Scene()
    scene.air.switch_off(BleakBluetoothNotAvailableReason.POWERED_OFF)
    with pytest.raises(RadioUnavailableError, match="switch it on"):
        await scan(0.01, PROFILES, backends=scene.air.backends)


@pytest.mark.parametrize(
    ("error", "end"),
    [
        (BleakDBusError("org.bluez.Error.InProgress", []), End.BUSY),
        (BleakDBusError("org.bluez.Error.NotReady", ["Resource Not Ready"]), End.RADIO_OFF),
        (BleakDBusError("org.bluez.Error.AuthenticationFailed", []), End.REFUSED),
        (BleakDBusError(FAILED, ["le-connection-abort-by-local"]), End.ABORTED),
        (BleakDBusError(FAILED, ["le-connection-concurrent-connection-limit"]), End.FULL),
        (BleakDBusError(FAILED, ["br-connection-sync-connect-limit"]), End.FULL),
        (BleakGATTProtocolError(0x05), End.REFUSED),
        (BleakGATTProtocolError(0x0F), End.REFUSED),
        (BleakGATTProtocolError(0x0E), End.ABORTED),
        (BleakDeviceNotFoundError("x"), End.ABORTED),
        (BleakError("Software caused connection abort"), End.ABORTED),
        (TimeoutError(), End.TIMEOUT),
        (EOFError(), End.ABORTED),
        (BleakBluetoothNotAvailableError("off", BleakBluetoothNotAvailableReason.POWERED_OFF), End.RADIO_OFF),
    ],
)
def test_errors_of_the_radio_are_sorted_by_what_helps(error: BaseException, end: End) -> None:
    assert classify(error) is end


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (BleakDBusError("org.freedesktop.DBus.Error.NoReply", []), "restart"),
        (FileNotFoundError("no such socket"), "start the Bluetooth service"),
        (BleakDBusError("org.freedesktop.DBus.Error.ServiceUnknown", []), "service does not run"),
        (BleakDBusError("org.bluez.Error.InProgress", []), "Another program"),
        (BleakDBusError("org.bluez.Error.NotReady", []), "switch it on"),
    ],
)
def test_an_error_that_names_no_reason_still_gets_an_action(error: BaseException, words: str) -> None:
    assert words in advice(error)


@pytest.mark.parametrize("version", ["3.0.2", "2.1.1", "0.22.3", "3"])
def test_a_library_that_does_not_notice_a_dead_bus_is_refused(version: str) -> None:
    with pytest.raises(RadioUnavailableError, match=f"bleak {version} is too old.*install bleak 3.1"):
        require_bleak(version)


@pytest.mark.parametrize("version", ["3.1", "3.1.0", "3.2.0rc1", "4.0"])
def test_a_library_that_does_is_taken(version: str) -> None:
    require_bleak(version)
