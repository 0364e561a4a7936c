"""One simulated tool as BlueZ shows it: a device, its GATT objects, and the link to it."""

import asyncio
import socket
import time
from dataclasses import dataclass

from dbus_fast import Message, Variant

from simulators.tools import SimCharacteristic, SimTool

from .faults import Delay, Faults
from .gatt import MTU, add_gatt
from .pipe import Pipe
from .table import (
    CHARACTERISTIC,
    DESCRIPTOR,
    DEVICE,
    Properties,
    RefusedError,
    Send,
    Table,
    answer,
    failed,
    in_progress,
)


@dataclass(slots=True)
class Place:
    """What the devices of one adapter share."""

    adapter: str
    """Its path, which changes when the adapter is plugged in as another one."""
    table: Table
    send: Send
    faults: Faults


class Device:
    """A tool in reach of the adapter, and its `Peer` while it is linked."""

    def __init__(self, tool: SimTool, address: str, place: Place) -> None:
        self.tool = tool
        self.address = address
        self.leaked = 0
        """How often each notification goes out again over the present link: over subscriptions that outlived theirs."""
        self.delay = Delay()
        self.sent_ns: list[int] = []
        """The monotonic moment of each notification that the tool handed to its link; repeats are not counted."""
        self._place = place
        self._table, self._send, self._faults = place.table, place.send, place.faults
        self._waiting: Message | None = None
        self._linked = False
        self._sessions: dict[int, set[str]] = {}
        self._pipes: dict[int, Pipe] = {}
        self._paths: dict[int, str] = {}

    @property
    def path(self) -> str:
        """Its object, under that of its adapter."""
        return f"{self._place.adapter}/dev_{self.address.replace(':', '_')}"

    # --- on the air -------------------------------------------------------------------------------------------------

    def announce(self) -> None:
        """Let scanners hear an advertisement."""
        rssi = Variant("n", self.tool.rssi)
        if self.path in self._table:
            self._table.change(self.path, DEVICE, RSSI=rssi)
        else:
            self._table.add(self.path, {DEVICE: {**self._properties(), "RSSI": rssi}})

    def fade(self) -> None:
        """Forget the signal strength, as BlueZ does when no scan runs."""
        if self.path in self._table and "RSSI" in self._table.of(self.path, DEVICE):
            self._table.change(self.path, DEVICE, gone=("RSSI",))

    def _properties(self) -> Properties:
        return {
            "Address": Variant("s", self.address),
            "AddressType": Variant("s", "public"),
            "Name": Variant("s", self.tool.name),
            "Alias": Variant("s", self.tool.name),
            "Paired": Variant("b", False),
            "Bonded": Variant("b", False),
            "Trusted": Variant("b", False),
            "Blocked": Variant("b", False),
            "LegacyPairing": Variant("b", False),
            "Connected": Variant("b", self._linked),
            "ServicesResolved": Variant("b", False),
            "UUIDs": Variant("as", self.tool.advertised_services()),
            "Adapter": Variant("o", self._place.adapter),
        }

    # --- the link ---------------------------------------------------------------------------------------------------

    @property
    def linked(self) -> bool:
        """Whether the tool is connected."""
        return self._linked

    @property
    def acquired(self) -> int:
        """How many characteristics notify into a socket."""
        return len(self._pipes)

    def connect(self, call: Message) -> Message | None:
        """Answer Connect, at once or, for a tool that is not heard, when it is; RefusedError when it cannot be."""
        if self._linked:
            raise RefusedError("org.bluez.Error.AlreadyConnected", "Already Connected")
        if self._waiting is not None:
            raise in_progress()
        if not self.tool.advertising:
            self._waiting = call
            return None
        self._link()
        return answer(call)

    def on_air(self) -> bool:
        """Take up a connection that waits for the tool; say whether there was one."""
        call, self._waiting = self._waiting, None
        if call is not None:
            self._link()
            self._send(answer(call))
        return call is not None

    def _link(self) -> None:
        self.tool.accept(self)
        self._linked = True
        self._table.change(self.path, DEVICE, Connected=Variant("b", True))
        asyncio.get_running_loop().call_soon(self._resolve)  # the answer to Connect comes first

    def _resolve(self) -> None:
        if not self._linked or self.path not in self._table:
            return
        if not any(path in self._table for path in self._paths.values()):
            self._paths = add_gatt(self._table, self.path, self.tool.services)
        uuids = sorted({service.uuid for service in self.tool.services})
        self._table.change(self.path, DEVICE, ServicesResolved=Variant("b", True), UUIDs=Variant("as", uuids))

    def flicker(self) -> None:
        """Be connected for a moment, as a connection is that interference ends."""
        self._table.change(self.path, DEVICE, Connected=Variant("b", True))
        off = Variant("b", False)
        asyncio.get_running_loop().call_soon(lambda: self._table.change(self.path, DEVICE, Connected=off))

    def disconnect(self, call: Message) -> Message:
        """Answer Disconnect, which also ends a connection that is not made yet."""
        self.cancel("br-connection-canceled")
        if self._linked:
            self._end()
            self.tool.release()
        return answer(call)

    def cancel(self, why: str) -> None:
        """Give up a connection that is not made yet."""
        waiting, self._waiting = self._waiting, None
        if waiting is not None:
            self._send(failed(why).reply(waiting))

    def lost(self) -> None:
        """The tool has gone without being asked to."""
        self._end()

    def _end(self) -> None:
        self.delay.flush()
        self._linked = False
        self.leaked = 0
        self._sessions.clear()
        for pipe in self._pipes.values():
            pipe.close()
        self._pipes.clear()
        off = Variant("b", False)
        self._table.change(self.path, DEVICE, ServicesResolved=off)
        self._table.change(self.path, DEVICE, Connected=off)

    # --- GATT -------------------------------------------------------------------------------------------------------

    def _characteristic(self, path: str) -> SimCharacteristic:
        if not self._linked:
            raise failed("Not connected")
        return self.tool.characteristic(int(path[-4:], 16))

    def read(self, call: Message, path: str) -> Message:
        """Answer ReadValue of a characteristic; who is subscribed to it gets the value as a notification as well."""
        found = self._characteristic(path)
        if self._sessions.get(found.handle):
            self._table.tell(path, CHARACTERISTIC, {"Value": Variant("ay", found.value)})
        return answer(call, "ay", found.value)

    def read_descriptor(self, call: Message, path: str) -> Message:
        """Answer ReadValue of a descriptor."""
        found = self._characteristic(path.rpartition("/")[0])
        uuid = self._table.of(path, DESCRIPTOR)["UUID"].value
        return answer(call, "ay", found.descriptors()[uuid])

    def start_notify(self, call: Message, path: str) -> Message:
        """Answer StartNotify."""
        handle = self._notifying(path)
        self._sessions.setdefault(handle, set()).add(call.sender or "")
        self._subscribe(path, handle)
        return answer(call)

    def stop_notify(self, call: Message, path: str) -> Message:
        """Answer StopNotify."""
        self._leave(self._characteristic(path).handle, call.sender or "")
        return answer(call)

    def acquire_notify(self, call: Message, path: str) -> tuple[Message, socket.socket]:
        """Answer AcquireNotify: notifications go into a socket; its other end is handed over, then to be closed.

        RefusedError where it was handed over already.
        """
        handle = self._notifying(path)
        if handle in self._pipes:
            raise RefusedError("org.bluez.Error.NotPermitted", "Notify acquired")
        pipe = self._pipes[handle] = Pipe(lambda: self._released(handle))
        self._subscribe(path, handle)
        return Message.new_method_return(call, "hq", [0, MTU], [pipe.theirs.fileno()]), pipe.theirs

    def _released(self, handle: int) -> None:
        """The reader of an acquired characteristic has closed its end."""
        self._pipes.pop(handle).close()
        self._leave(handle, "")

    def _notifying(self, path: str) -> int:
        found = self._characteristic(path)
        if "notify" not in found.properties:
            raise RefusedError("org.bluez.Error.NotSupported", "Operation is not supported")
        return found.handle

    def _subscribe(self, path: str, handle: int) -> None:
        self.tool.subscribe(handle)
        self._table.change(path, CHARACTERISTIC, Notifying=Variant("b", True))

    def client_gone(self, name: str) -> None:
        """End what a client that has gone was subscribed to; the link stays, as with BlueZ."""
        for handle in list(self._sessions):
            self._leave(handle, name)

    def _leave(self, handle: int, name: str) -> None:
        sessions = self._sessions.get(handle, set())
        sessions.discard(name)
        if not sessions and handle not in self._pipes:
            self._sessions.pop(handle, None)
            self.tool.subscribed.discard(handle)

    def notify(self, handle: int, payload: bytes) -> None:
        """Take one notification from the tool and pass it on, as often and as late as was told."""
        self.sent_ns.append(time.monotonic_ns())
        for _ in range(1 + self._faults.repeats + self.leaked):
            self.delay.put(lambda: self._emit(handle, payload))

    def _emit(self, handle: int, payload: bytes) -> None:
        if handle in self._pipes:
            self._pipes[handle].send(payload)
        if self._sessions.get(handle):
            self._table.tell(self._paths[handle], CHARACTERISTIC, {"Value": Variant("ay", payload)})
