"""The objects of the stand-in for BlueZ: paths with interfaces and properties; every change goes out as a signal.

Names and properties are those of BlueZ's D-Bus documentation (doc/org.bluez.*.rst of its source).
"""

from collections.abc import Callable

from dbus_fast import Message, MessageType, Variant

OBJECT_MANAGER = "org.freedesktop.DBus.ObjectManager"
PROPERTIES = "org.freedesktop.DBus.Properties"
SERVICE = "org.bluez"
ADAPTER = "org.bluez.Adapter1"
DEVICE = "org.bluez.Device1"
GATT_SERVICE = "org.bluez.GattService1"
CHARACTERISTIC = "org.bluez.GattCharacteristic1"
DESCRIPTOR = "org.bluez.GattDescriptor1"

Properties = dict[str, Variant]
Interfaces = dict[str, Properties]
Send = Callable[[Message], object]


class RefusedError(Exception):
    """A call is answered with a D-Bus error."""

    def __init__(self, name: str, text: str = "") -> None:
        super().__init__(text or name)
        self.name = name
        self.text = text

    def reply(self, call: Message) -> Message:
        """Return the answer to this call."""
        return Message.new_error(call, self.name, self.text)


def failed(text: str) -> RefusedError:
    """Return BlueZ's error for whatever has no error of its own."""
    return RefusedError("org.bluez.Error.Failed", text)


def not_ready() -> RefusedError:
    """Return BlueZ's error while its adapter is off."""
    return RefusedError("org.bluez.Error.NotReady", "Resource Not Ready")


def in_progress() -> RefusedError:
    """Return BlueZ's error while it does the same for somebody else."""
    return RefusedError("org.bluez.Error.InProgress", "Operation already in progress")


def unknown_object(path: str) -> RefusedError:
    """Return D-Bus's error for a path where nothing is."""
    return RefusedError("org.freedesktop.DBus.Error.UnknownObject", f"Method called on an unknown object {path}")


def answer(call: Message, signature: str = "", *body: object) -> Message:
    """Return a good answer to a call."""
    return Message.new_method_return(call, signature, list(body))


class Table:
    """All objects by path."""

    def __init__(self, send: Send) -> None:
        self._send = send
        self._objects: dict[str, Interfaces] = {}

    def __contains__(self, path: object) -> bool:
        return path in self._objects

    def managed(self, call: Message) -> Message:
        """Answer GetManagedObjects."""
        return answer(call, "a{oa{sa{sv}}}", self._objects)

    def of(self, path: str, interface: str) -> Properties:
        """Return the properties of an object; RefusedError when there is no such object or interface."""
        try:
            return self._objects[path][interface]
        except KeyError:
            raise unknown_object(path) from None

    def add(self, path: str, interfaces: Interfaces) -> None:
        """Add an object."""
        self._objects[path] = interfaces
        self._signal("/", OBJECT_MANAGER, "InterfacesAdded", "oa{sa{sv}}", path, interfaces)

    def remove(self, path: str) -> None:
        """Remove an object and all that is under it, the deepest first."""
        for each in sorted((p for p in self._objects if p == path or p.startswith(f"{path}/")), reverse=True):
            self._signal("/", OBJECT_MANAGER, "InterfacesRemoved", "oas", each, list(self._objects.pop(each)))

    def change(self, path: str, interface: str, gone: tuple[str, ...] = (), **values: Variant) -> None:
        """Change properties of an object, and take others away; nothing when there is no such object."""
        if path not in self._objects:
            return
        properties = self._objects[path][interface]
        properties.update(values)
        for name in gone:
            properties.pop(name, None)
        self.tell(path, interface, values, gone)

    def tell(self, path: str, interface: str, values: Properties, gone: tuple[str, ...] = ()) -> None:
        """Tell of properties without keeping them."""
        self._signal(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", interface, values, list(gone))

    def _signal(self, path: str, interface: str, member: str, signature: str, *body: object) -> None:
        self._send(
            Message(
                message_type=MessageType.SIGNAL,
                path=path,
                interface=interface,
                member=member,
                signature=signature,
                body=list(body),
            )
        )
