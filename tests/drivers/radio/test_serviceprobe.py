"""How far a question to the Bluetooth service gets: replies by table, and a real bus with and without the service."""

from collections.abc import Callable
from pathlib import Path

import pytest

from drivers.radio.serviceprobe import Answer, answer_of, ask_service
from simulators.bluez.private_bus import ADDRESS, PrivateBus, missing
from simulators.bluez.remote import RemoteStandIn

if why := missing():
    pytest.skip(why, allow_module_level=True)

from dbus_fast import Message, MessageType


def failed(name: str) -> Message:
    return Message(message_type=MessageType.ERROR, reply_serial=1, error_name=name, signature="s", body=["why"])


@pytest.mark.parametrize(
    ("make", "answer"),
    [
        (lambda: Message(message_type=MessageType.METHOD_RETURN, reply_serial=1), Answer.OK),
        (lambda: failed("org.freedesktop.DBus.Error.ServiceUnknown"), Answer.NO_SERVICE),
        (lambda: failed("org.freedesktop.DBus.Error.NameHasNoOwner"), Answer.NO_SERVICE),
        (lambda: failed("org.freedesktop.DBus.Error.AccessDenied"), Answer.DENIED),
        (lambda: failed("org.freedesktop.DBus.Error.NoReply"), Answer.SILENT),
        (lambda: None, Answer.SILENT),
    ],
)
def test_what_a_reply_means(make: Callable[[], Message | None], answer: Answer) -> None:
    assert answer_of(make()) is answer


async def test_there_is_no_bus(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(ADDRESS, f"unix:path={tmp_path / 'none'}")
    assert await ask_service() is Answer.NO_SOCKET


async def test_what_is_there_is_no_bus(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv(ADDRESS, f"unix:path={tmp_path / 'file'}")
    assert await ask_service() is Answer.SILENT


async def test_a_bus_without_and_with_the_service(monkeypatch: pytest.MonkeyPatch) -> None:
    async with PrivateBus() as bus:
        monkeypatch.setenv(ADDRESS, bus.address)
        assert await ask_service() is Answer.NO_SERVICE
        async with RemoteStandIn(bus, ["caliper:DC-1"]):
            assert await ask_service() is Answer.OK
