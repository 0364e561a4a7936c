"""The adapter of the stand-in for BlueZ: what it hears, who scans, and whether it is there at all."""

import asyncio
from collections.abc import Iterable
from functools import partial

from dbus_fast import Message, Variant

from simulators.tools import SimTool

from . import table as bt
from .device import Device, Place
from .faults import Faults
from .table import Send, Table, answer

ROOT = "/org/bluez"
PATH = f"{ROOT}/hci0"
ADDRESS, SPARE = "00:00:5E:00:53:FF", "00:00:5E:00:53:FE"
"""Of the block kept for documentation (RFC 7042 section 2.1.2)."""


class Adapter:
    """One adapter with the tools in its reach."""

    def __init__(self, send: Send, tools: Iterable[SimTool]) -> None:
        self.faults = Faults()
        self.table = Table(send)
        self.path = PATH
        self.powered = True
        self.plugged = False
        self._scans: set[str] = set()
        self._deaf = False
        self._spare = ""
        self._place = Place(PATH, self.table, send, self.faults)
        self._all = [Device(tool, f"{ADDRESS[:-2]}{number:02X}", self._place) for number, tool in enumerate(tools)]
        for device in self._all:
            device.tool.on_air.append(partial(self._on_air, device))

    @property
    def devices(self) -> dict[str, Device]:
        """The tools by their paths, which are under that of the adapter."""
        return {device.path: device for device in self._all}

    def plug(self, on: bool, central: bool = True, name: str = "hci0") -> None:
        """Plug the adapter in, under a name that the system gives it, or out."""
        if on and not self.plugged:
            self.plugged = True
            self.path = self._place.adapter = f"{ROOT}/{name}"
            self.table.add(self.path, {bt.ADAPTER: _properties(ADDRESS, self.powered, central)})
        elif self.plugged and not on:
            self._all_off()
            self.plugged = False
            self.table.remove(self.path)

    def spare(self, name: str) -> None:
        """Plug in a second adapter that hears nothing, under a name that the system gives it; empty: pull it out."""
        if self._spare:
            self.table.remove(self._spare)
        self._spare = f"{ROOT}/{name}" if name else ""
        if self._spare:
            self.table.add(self._spare, {bt.ADAPTER: _properties(SPARE, powered=True, central=True)})

    def power(self, on: bool) -> None:
        """Switch the adapter on, or off."""
        self.powered = on
        if not on:
            self._all_off()
        self.table.change(self.path, bt.ADAPTER, Powered=Variant("b", on))

    def _all_off(self) -> None:
        self._end_scans()
        for device in self.devices.values():
            device.cancel("br-connection-canceled")
            device.tool.drop()

    def deafen(self, scans: int) -> None:
        """Let the scan that runs, if any, and those after it hear nothing: as many as told."""
        self._deaf = bool(self._scans) and scans > 0
        self.faults.deaf_scans = scans - self._deaf

    @property
    def scanning(self) -> bool:
        """Whether anybody scans."""
        return bool(self._scans)

    def _on_air(self, device: Device, _: SimTool) -> None:
        if self.powered and self.plugged and not device.on_air():
            self._announce(device)

    def _announce(self, device: Device) -> None:
        if self._scans and not self._deaf and device.tool.advertising:
            device.announce()

    def start_discovery(self, call: Message) -> Message:
        """Answer StartDiscovery; what advertises is heard after the answer."""
        if not self._meant(call):
            return answer(call)
        self._require_power()
        if call.sender in self._scans:
            raise bt.in_progress()
        self._scans.add(call.sender or "")
        self._deaf = self.faults.deaf_scans > 0
        self.faults.deaf_scans -= self._deaf
        self.table.change(self.path, bt.ADAPTER, Discovering=Variant("b", True))
        for device in self.devices.values():
            asyncio.get_running_loop().call_soon(self._announce, device)  # the answer comes first
        return answer(call)

    def stop_discovery(self, call: Message) -> Message:
        """Answer StopDiscovery."""
        if not self._meant(call):
            return answer(call)
        self._require_power()
        if call.sender not in self._scans:
            raise bt.failed("No discovery started")
        self._end_scans(call.sender or "")
        return answer(call)

    def _end_scans(self, name: str = "") -> None:
        """End the scan of one client, or of all."""
        self._scans = self._scans - {name} if name else set()
        if not self._scans:
            for device in self.devices.values():
                device.fade()
            self.table.change(self.path, bt.ADAPTER, Discovering=Variant("b", False))

    def set_discovery_filter(self, call: Message) -> Message:
        """Answer SetDiscoveryFilter; everything is heard whatever the filter."""
        if self._meant(call):
            self._require_power()
        return answer(call)

    def _meant(self, call: Message) -> bool:
        """Whether a call is for the adapter that hears, not the spare one; RefusedError when there is none such."""
        if call.path not in self.table:
            raise bt.unknown_object(call.path or "")
        return call.path != self._spare

    def remove_device(self, call: Message) -> Message:
        """Answer RemoveDevice."""
        self.forget(call.body[0])
        return answer(call)

    def forget(self, path: str) -> None:
        """Forget a device until it is heard again."""
        self.device(path).tool.drop()
        self.table.remove(path)

    def connect(self, call: Message) -> Message | None:
        """Answer Connect; None when the answer comes later."""
        self._require_power()
        return self.device(call.path).connect(call)

    def _require_power(self) -> None:
        if not self.powered:
            raise bt.not_ready()

    def device(self, path: str | None) -> Device:
        """Return the device that an object belongs to; RefusedError when there is no such object."""
        found = self.devices.get("/".join((path or "").split("/")[:5]))
        if found is None or path not in self.table:
            raise bt.unknown_object(path or "")
        return found

    def client_gone(self, name: str) -> None:
        """A client that has gone neither scans nor listens any more."""
        if name in self._scans:
            self._end_scans(name)
        for device in self.devices.values():
            device.client_gone(name)


def _properties(address: str, powered: bool, central: bool) -> bt.Properties:
    return {
        "Address": Variant("s", address),
        "AddressType": Variant("s", "public"),
        "Name": Variant("s", "bench"),
        "Alias": Variant("s", "bench"),
        "Powered": Variant("b", powered),
        "Discoverable": Variant("b", False),
        "Pairable": Variant("b", False),
        "Discovering": Variant("b", False),
        "UUIDs": Variant("as", []),
        "Roles": Variant("as", ["central", "peripheral"] if central else ["peripheral"]),
    }
