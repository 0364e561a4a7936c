"""Watches the Bluetooth service of Linux over D-Bus: the radio library notices neither its death nor its adapter.

Imported on Linux only, where dbus-fast comes with the radio library.
"""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from enum import StrEnum

from dbus_fast import Message, MessageType
from dbus_fast.aio import MessageBus

from .bus import ADAPTER, BUS_ERRORS, SERVICE, system_bus

DAEMON = "org.freedesktop.DBus"
_RULES = (
    f"type='signal',sender='{DAEMON}',member='NameOwnerChanged',arg0='{SERVICE}'",
    f"type='signal',sender='{SERVICE}',member='PropertiesChanged',arg0='{ADAPTER}'",
    f"type='signal',sender='{SERVICE}',member='InterfacesAdded'",
    f"type='signal',sender='{SERVICE}',member='InterfacesRemoved'",
)


class Change(StrEnum):
    """What happened to the Bluetooth service."""

    GONE = "gone"
    """It ended, or its bus did: nothing that it was connected to is connected any more."""
    ADAPTER = "adapter"
    """It began, or an adapter was switched, plugged in or pulled out."""


async def watch_service(changed: Callable[[Change], None], again_s: float) -> None:
    """Report changes for ever; a bus that cannot be reached is tried again after `again_s` seconds."""
    while True:
        with suppress(*BUS_ERRORS):  # the radio library meets the same bus, and says what is wrong with it
            await _watch(changed)
        await asyncio.sleep(again_s)
        changed(Change.ADAPTER)


async def _watch(changed: Callable[[Change], None]) -> None:
    bus = system_bus()
    try:
        await bus.connect()

        def heard(message: Message) -> None:
            if (change := change_of(message)) is not None:
                changed(change)

        bus.add_message_handler(heard)
        for rule in _RULES:
            await bus.call(_add_match(rule))
        with suppress(*BUS_ERRORS):
            await _ended(bus)
        changed(Change.GONE)
    finally:
        bus.disconnect()


async def _ended(bus: MessageBus) -> None:
    await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]


def _add_match(rule: str) -> Message:
    return Message(
        destination=DAEMON,
        path="/org/freedesktop/DBus",
        interface=DAEMON,
        member="AddMatch",
        signature="s",
        body=[rule],
    )


def change_of(message: Message) -> Change | None:
    """Return what a signal says of the service, or None when that is nothing of interest."""
    if message.message_type is not MessageType.SIGNAL:
        return None
    match message.member, message.body:
        case "NameOwnerChanged", [name, old, _] if name == SERVICE:
            return Change.GONE if old else Change.ADAPTER
        case "PropertiesChanged", [interface, values, _] if interface == ADAPTER and "Powered" in values:
            return Change.ADAPTER
        case "InterfacesAdded" | "InterfacesRemoved", [_, interfaces] if ADAPTER in interfaces:
            return Change.ADAPTER
        case _:
            return None
