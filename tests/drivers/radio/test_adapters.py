"""Which adapter is used: by its address, whatever the system calls it at present."""

import pytest
from dbus_fast import Message, MessageType, Variant

from drivers.radio import adapters as module
from drivers.radio.adapters import Adapter, Chosen, pick
from drivers.radio.bus import ADAPTER
from drivers.radio.ether import NoAdapterError

FIRST, SECOND = "00:00:5E:00:53:FE", "00:00:5E:00:53:FF"


def row(*found: tuple[str, str, bool]) -> tuple[Adapter, ...]:
    return tuple(Adapter(*each) for each in found)


@pytest.mark.parametrize(
    ("found", "address", "name"),
    [
        ((), "", None),
        ((), FIRST, None),
        ((("hci0", FIRST, True), ("hci1", SECOND, True)), SECOND, "hci1"),
        ((("hci0", FIRST, True), ("hci1", SECOND, True)), SECOND.lower(), "hci1"),
        ((("hci0", SECOND, True), ("hci1", FIRST, True)), SECOND, "hci0"),
        ((("hci0", FIRST, True),), SECOND, None),
        ((("hci0", FIRST, True), ("hci1", SECOND, False)), SECOND, "hci1"),  # off, and told to be
        ((("hci0", FIRST, False), ("hci1", SECOND, True)), "", "hci1"),
        ((("hci0", FIRST, False), ("hci1", SECOND, False)), "", "hci0"),
    ],
)
def test_which_adapter_is_picked(found: tuple[tuple[str, str, bool], ...], address: str, name: str | None) -> None:
    picked = pick(row(*found), address)
    assert (picked.name if picked else None) == name


class Host:
    """A host whose adapters come and go."""

    def __init__(self, *found: tuple[str, str, bool]) -> None:
        self.found: tuple[Adapter, ...] | None = row(*found)

    async def adapters(self) -> tuple[Adapter, ...] | None:
        return self.found


@pytest.fixture
def host(monkeypatch: pytest.MonkeyPatch) -> Host:
    made = Host(("hci0", FIRST, True), ("hci1", SECOND, True))
    monkeypatch.setattr(module, "adapters", made.adapters)
    return made


async def test_the_one_asked_for_is_followed_under_its_new_name(host: Host) -> None:
    chosen = Chosen(SECOND)
    assert await chosen.name() == "hci1"
    host.found = row(("hci0", SECOND, True), ("hci1", FIRST, True))
    assert await chosen.name() == "hci0"


async def test_the_one_asked_for_is_never_replaced_by_another(host: Host) -> None:
    host.found = row(("hci0", FIRST, True))
    with pytest.raises(NoAdapterError, match=f"{SECOND} is not there; plug it in"):
        await Chosen(SECOND).name()


async def test_the_one_first_found_stays_the_one_until_it_has_gone(host: Host) -> None:
    chosen = Chosen()
    assert await chosen.name() == "hci0"
    host.found = row(("hci0", SECOND, True), ("hci1", FIRST, False))
    assert await chosen.name() == "hci1", "switched off, it is still the one"
    host.found = row(("hci0", SECOND, True), ("hci2", "00:00:5E:00:53:FD", True))
    assert await chosen.name() == "hci0"


async def test_a_service_that_cannot_be_asked_changes_nothing(host: Host) -> None:
    chosen = Chosen(SECOND)
    assert await chosen.name() == "hci1"
    host.found = None
    assert await chosen.name() == "hci1"


async def test_where_there_is_one_or_none_nothing_is_chosen(host: Host) -> None:
    host.found = row(("hci0", FIRST, True))
    assert await Chosen().name() == ""
    host.found = ()
    assert await Chosen(FIRST).name() == "", "the radio library says that there is none"


def test_adapters_are_read_from_what_the_service_answers() -> None:
    def adapter(address: str, on: bool) -> dict[str, dict[str, Variant]]:
        return {ADAPTER: {"Address": Variant("s", address), "Powered": Variant("b", on)}}

    objects = {
        "/org/bluez/hci1": adapter(SECOND, True),
        "/org/bluez": {"org.bluez.AgentManager1": {}},
        "/org/bluez/hci0": adapter(FIRST, False),
    }
    answer = Message(message_type=MessageType.METHOD_RETURN, reply_serial=1, signature="a{oa{sa{sv}}}", body=[objects])
    assert module._adapters(answer) == row(("hci0", FIRST, False), ("hci1", SECOND, True))
    assert module._adapters(None) is None
    assert module._adapters(Message.new_error(Message(path="/", member="X", serial=1), "x.y.Error", "no")) is None
