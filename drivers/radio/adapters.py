"""Which Bluetooth adapter is used: chosen by its address, since the names hci0, hci1 ... move when one is plugged in.

Imported on Linux only, where dbus-fast comes with the radio library.
"""

import asyncio
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

from dbus_fast import Message, MessageType

from .bus import ADAPTER, BUS_ERRORS, all_objects, system_bus
from .ether import NoAdapterError

LIMIT_S = 2.0
"""For an answer of the Bluetooth service; a scan waits for it."""
MISSING = "The Bluetooth adapter {address} is not there; plug it in, or choose another one."


@dataclass(frozen=True, slots=True)
class Adapter:
    """One adapter of this host."""

    name: str
    """What the system calls it at present: "hci0"."""
    address: str
    powered: bool


async def adapters() -> tuple[Adapter, ...] | None:
    """Return the adapters of this host by name; None where the Bluetooth service or its bus cannot be asked."""
    bus = system_bus()
    try:
        # the radio library meets the same bus, and says what is wrong with it
        with suppress(TimeoutError, *BUS_ERRORS):
            async with asyncio.timeout(LIMIT_S):
                await bus.connect()
                return _adapters(await bus.call(all_objects()))
        return None
    finally:
        bus.disconnect()


def _adapters(answer: Message | None) -> tuple[Adapter, ...] | None:
    if answer is None or answer.message_type is not MessageType.METHOD_RETURN:
        return None
    found = [(path, has[ADAPTER]) for path, has in answer.body[0].items() if ADAPTER in has]
    return tuple(
        Adapter(path.rpartition("/")[2], properties["Address"].value, properties["Powered"].value)
        for path, properties in sorted(found)
    )


def pick(found: Sequence[Adapter], address: str) -> Adapter | None:
    """Return the adapter with this address; without an address the first that is switched on, else the first."""
    if address:
        return next((each for each in found if each.address.casefold() == address.casefold()), None)
    return next((each for each in found if each.powered), found[0] if found else None)


class Chosen:
    """The adapter that is used: the one asked for, or the first found; it stays the one for as long as it is there."""

    def __init__(self, asked: str = "") -> None:
        self._asked = asked
        self._address = asked
        self._name = ""

    async def name(self) -> str:
        """Return what the system calls it now; empty where there is no other to be taken for it.

        NoAdapterError when the one that was asked for is not there, and others are.
        """
        found = await adapters()
        if found is None:
            return self._name
        chosen = pick(found, self._address)
        if chosen is None and not self._asked:
            chosen = pick(found, "")
        if chosen is None:
            if found:
                raise NoAdapterError(MISSING.format(address=self._asked))
            return ""
        self._address = chosen.address
        self._name = chosen.name if len(found) > 1 else ""
        return self._name
