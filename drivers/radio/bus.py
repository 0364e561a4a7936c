"""The system bus of Linux, as the radio library uses it: what each question to the Bluetooth service begins with.

Imported on Linux only, where dbus-fast comes with the radio library.
"""

import os

from dbus_fast import BusType, Message
from dbus_fast.aio import MessageBus
from dbus_fast.auth import AuthExternal
from dbus_fast.errors import AuthError, DBusError, InvalidAddressError

SERVICE = "org.bluez"
ADAPTER = "org.bluez.Adapter1"
BUS_ERRORS = (OSError, EOFError, AuthError, DBusError, InvalidAddressError)
"""What a bus that is not there, or goes away, may raise at any call."""


def system_bus() -> MessageBus:
    """Return the system bus, not connected yet."""
    return MessageBus(bus_type=BusType.SYSTEM, auth=_authentication())


def _authentication() -> AuthExternal:
    """Authenticate as the radio library does, which in a container may have to be told the user."""
    uid = os.environ.get("BLEAK_DBUS_AUTH_UID", "")
    return AuthExternal(uid=int(uid)) if uid.isdecimal() else AuthExternal()


def all_objects() -> Message:
    """Return the question for all objects of the Bluetooth service: its adapters, and what it knows of tools."""
    return Message(
        destination=SERVICE, path="/", interface="org.freedesktop.DBus.ObjectManager", member="GetManagedObjects"
    )
