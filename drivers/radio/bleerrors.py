"""What bleak raises, sorted by what helps, and what a person is told of it."""

from collections.abc import Iterator
from contextlib import contextmanager

from bleak.exc import BleakBluetoothNotAvailableError, BleakDBusError, BleakError, BleakGATTProtocolError

from .ether import NoAdapterError
from .peer import LinkError
from .supervise import BUSY, RADIO_ADVICE, End

RADIO_ERRORS = (BleakError, TimeoutError, OSError, EOFError)
"""What a radio, or a D-Bus that went away, may raise at any call; anything else is a bug and is let through."""

OLDEST_BLEAK = (3, 1)
"""Older ones do not notice that their D-Bus has gone."""
_NO_SERVICE = {"org.freedesktop.DBus.Error.ServiceUnknown", "org.freedesktop.DBus.Error.NameHasNoOwner"}
_AT_ITS_LIMIT = ("concurrent-connection-limit", "sync-connect-limit")
"""Texts of BlueZ's error Failed where the adapter holds no more links (its src/error.h, from memory)."""
_NEEDS_PAIRING = {0x05, 0x08, 0x0F}
"""ATT error codes: insufficient authentication, authorization, encryption (Core Specification Vol 3 Part F 3.4.1.1)."""


class RadioUnavailableError(Exception):
    """There is no radio to use; the text is one sentence with what to do."""


def require_bleak(version: str) -> None:
    """RadioUnavailableError for a version of bleak that does not notice that its D-Bus has gone (before 3.1)."""
    numbers = [int(part) for part in version.split(".")[:2] if part.isdecimal()]
    if numbers < list(OLDEST_BLEAK):
        raise RadioUnavailableError(f"bleak {version} is too old for tools by radio; install bleak 3.1 or later.")


def advice(error: BaseException) -> str:
    """Return one sentence with one action for an error that means there is no radio."""
    if isinstance(error, BleakDBusError) and error.dbus_error in _NO_SERVICE:
        return RADIO_ADVICE["NO_SERVICE"]
    if isinstance(error, NoAdapterError):
        return str(error)
    if classify(error) is End.BUSY:
        return BUSY
    if isinstance(error, BleakDBusError) and classify(error) is End.RADIO_OFF:
        return RADIO_ADVICE["POWERED_OFF"]
    if isinstance(error, BleakBluetoothNotAvailableError):
        return RADIO_ADVICE.get(error.reason.name, RADIO_ADVICE["UNKNOWN"])
    # without a system bus there is no socket to open: the Bluetooth service cannot be running
    return RADIO_ADVICE["NO_BLUETOOTH" if isinstance(error, FileNotFoundError) else "UNKNOWN"]


def classify(error: BaseException) -> End:
    """Say what kind of end an error of bleak is."""
    name = error.dbus_error if isinstance(error, BleakDBusError) else ""
    if isinstance(error, BleakBluetoothNotAvailableError) or name == "org.bluez.Error.NotReady":
        return End.RADIO_OFF
    if name == "org.bluez.Error.InProgress":
        return End.BUSY
    if name.startswith("org.bluez.Error.Authentication"):
        return End.REFUSED
    if name == "org.bluez.Error.Failed" and any(text in str(error) for text in _AT_ITS_LIMIT):
        return End.FULL
    if isinstance(error, BleakGATTProtocolError) and int(error.code) in _NEEDS_PAIRING:
        return End.REFUSED
    return End.TIMEOUT if isinstance(error, TimeoutError) else End.ABORTED


@contextmanager
def broken_links() -> Iterator[None]:
    """Raise whatever a radio does wrong as a LinkError."""
    try:
        yield
    except RADIO_ERRORS as error:
        raise LinkError(classify(error), str(error)) from error
