"""The GATT objects of a tool, as BlueZ shows them."""

from collections.abc import Iterable

from dbus_fast import Variant

from simulators.tools import SimCharacteristic, SimService

from .table import CHARACTERISTIC, DESCRIPTOR, GATT_SERVICE, Properties, Table

MTU = 247


def add_gatt(table: Table, device: str, services: Iterable[SimService]) -> dict[int, str]:
    """Add the objects of all services of a device; return the path of each characteristic by its handle."""
    paths: dict[int, str] = {}
    for service in services:
        path = f"{device}/service{service.handle:04x}"
        named = {"UUID": Variant("s", service.uuid), "Device": Variant("o", device)}
        table.add(path, {GATT_SERVICE: {**named, "Primary": Variant("b", True)}})
        for characteristic in service.characteristics:
            paths[characteristic.handle] = _add_characteristic(table, path, characteristic)
    return paths


def _add_characteristic(table: Table, service: str, found: SimCharacteristic) -> str:
    path = f"{service}/char{found.handle:04x}"
    table.add(path, {CHARACTERISTIC: _properties(service, found)})
    for place, uuid in enumerate(found.descriptors(), start=found.handle + 2):
        named = {"UUID": Variant("s", uuid), "Characteristic": Variant("o", path), "Value": Variant("ay", b"")}
        table.add(f"{path}/desc{place:04x}", {DESCRIPTOR: named})
    return path


def _properties(service: str, found: SimCharacteristic) -> Properties:
    properties = {
        "UUID": Variant("s", found.uuid),
        "Service": Variant("o", service),
        "Value": Variant("ay", b""),
        "Flags": Variant("as", list(found.properties)),
        "MTU": Variant("q", MTU),
    }
    if "notify" in found.properties:  # without NotifyAcquired bleak never chooses AcquireNotify
        properties |= {"Notifying": Variant("b", False), "NotifyAcquired": Variant("b", False)}
    return properties
