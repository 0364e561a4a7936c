"""Asks the Bluetooth service of Linux once, and says how far that got; imported on Linux only."""

import asyncio
from enum import StrEnum

from dbus_fast import Message, MessageType
from dbus_fast.errors import AuthError

from .bus import BUS_ERRORS, all_objects, system_bus

LIMIT_S = 5.0
"""For an answer: the bus may have to start the service first."""
_ABSENT = {
    "org.freedesktop.DBus.Error.ServiceUnknown",
    "org.freedesktop.DBus.Error.NameHasNoOwner",
    "org.freedesktop.DBus.Error.Spawn.ChildExited",
    "org.freedesktop.DBus.Error.Spawn.ExecFailed",
}
_DENIED = {"org.freedesktop.DBus.Error.AccessDenied", "org.freedesktop.DBus.Error.AuthFailed"}


class Answer(StrEnum):
    """How far a question to the Bluetooth service got."""

    OK = "ok"
    NO_SOCKET = "no socket"
    """There is no system bus."""
    DENIED = "denied"
    """The bus or the service does not talk to this user."""
    NO_SERVICE = "no service"
    """The bus is there, the Bluetooth service is not."""
    SILENT = "silent"
    """The bus or the service does not answer."""


async def ask_service(limit_s: float = LIMIT_S) -> Answer:
    """Ask the Bluetooth service for its objects; never raises for what a bus does."""
    bus = system_bus()
    try:
        async with asyncio.timeout(limit_s):
            await bus.connect()
            return answer_of(await bus.call(all_objects()))
    except FileNotFoundError:
        return Answer.NO_SOCKET
    except (AuthError, PermissionError):
        return Answer.DENIED
    except (TimeoutError, *BUS_ERRORS):
        return Answer.SILENT
    finally:
        bus.disconnect()


def answer_of(message: Message | None) -> Answer:
    """Return what a reply of the bus means."""
    if message is None:
        return Answer.SILENT
    if message.message_type is MessageType.METHOD_RETURN:
        return Answer.OK
    if message.error_name in _ABSENT:
        return Answer.NO_SERVICE
    return Answer.DENIED if message.error_name in _DENIED else Answer.SILENT
