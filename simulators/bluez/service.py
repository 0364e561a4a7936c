"""A stand-in for BlueZ: a process that owns `org.bluez` on a private D-Bus, so that bleak's real Linux backend talks
to simulated tools.

Raw messages are answered from one table of objects; which method does what is one table too. It does as BlueZ does:
Connect answers before the services are resolved, a device stays connected when its client dies, GATT objects outlive
a link. Commands come in by lines (`commands.py`).
"""

import argparse
import asyncio
import os
import socket
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from typing import Any, cast

from dbus_fast import Message, MessageType, NameFlag, RequestNameReply
from dbus_fast.aio import MessageBus
from dbus_fast.constants import BusType

from simulators.tools import SimTool

from . import table as bt
from .adapter import Adapter
from .commands import Commands, TalkError, make_tool, serve
from .private_bus import ADDRESS, PrivateBus, missing
from .table import RefusedError, answer

DAEMON = "org.freedesktop.DBus"
ABORTED = "le-connection-abort-by-local"
"""The error of a connection that interference ended; BlueZ was connected for a moment, and says so."""
Method = Callable[[Message], Message | None]
"""Answers a call; None when the answer comes later."""


class Patient:
    """A socket to D-Bus that takes nothing where it is full, instead of failing, so that a flood goes through."""

    def __init__(self, inner: socket.socket) -> None:
        self._inner = inner

    def send(self, data: bytes) -> int:
        """Send what there is room for."""
        with suppress(BlockingIOError):
            return self._inner.send(data)
        return 0

    def sendmsg(self, buffers: list[bytes], ancillary: list[Any]) -> int:
        """Send descriptors; these are rare, and only a full socket refuses them."""
        return self._inner.sendmsg(buffers, ancillary)


class StandIn:
    """What answers on one D-Bus connection."""

    def __init__(self, bus: MessageBus, tools: Iterable[SimTool]) -> None:
        self._bus = bus
        self.adapter = Adapter(bus.send, tools)
        self._methods = self._table_of_methods()

    async def begin(self) -> None:
        """Take the name and show the adapter; TalkError when somebody else has the name."""
        self._bus.add_message_handler(self._handle)
        add = Message(
            destination=DAEMON,
            path="/org/freedesktop/DBus",
            interface=DAEMON,
            member="AddMatch",
            signature="s",
            body=[f"type='signal',sender='{DAEMON}',member='NameOwnerChanged'"],
        )
        await self._bus.call(add)
        if await self._bus.request_name(bt.SERVICE, NameFlag.DO_NOT_QUEUE) != RequestNameReply.PRIMARY_OWNER:
            raise TalkError("somebody else owns org.bluez on this bus")
        self.adapter.plug(True)

    # --- messages ---------------------------------------------------------------------------------------------------

    def _table_of_methods(self) -> dict[tuple[str, str], Method]:
        adapter, device = self.adapter, self.adapter.device
        return {
            (bt.OBJECT_MANAGER, "GetManagedObjects"): adapter.table.managed,
            (bt.PROPERTIES, "GetAll"): lambda c: answer(c, "a{sv}", adapter.table.of(c.path or "", c.body[0])),
            (bt.ADAPTER, "SetDiscoveryFilter"): adapter.set_discovery_filter,
            (bt.ADAPTER, "StartDiscovery"): adapter.start_discovery,
            (bt.ADAPTER, "StopDiscovery"): adapter.stop_discovery,
            (bt.ADAPTER, "RemoveDevice"): adapter.remove_device,
            (bt.DEVICE, "Connect"): adapter.connect,
            (bt.DEVICE, "Disconnect"): lambda c: device(c.path).disconnect(c),
            (bt.CHARACTERISTIC, "ReadValue"): lambda c: device(c.path).read(c, c.path or ""),
            (bt.CHARACTERISTIC, "StartNotify"): lambda c: device(c.path).start_notify(c, c.path or ""),
            (bt.CHARACTERISTIC, "StopNotify"): lambda c: device(c.path).stop_notify(c, c.path or ""),
            (bt.CHARACTERISTIC, "AcquireNotify"): self._acquire,
            (bt.DESCRIPTOR, "ReadValue"): lambda c: device(c.path).read_descriptor(c, c.path or ""),
        }

    def _acquire(self, call: Message) -> None:
        reply, theirs = self.adapter.device(call.path).acquire_notify(call, call.path or "")
        self._bus.send(reply).add_done_callback(lambda _: theirs.close())

    def _handle(self, message: Message) -> Message | bool:
        if message.message_type is MessageType.SIGNAL:
            if message.member == "NameOwnerChanged" and not message.body[2]:
                self.adapter.client_gone(message.body[0])
            return False
        method = self._methods.get((message.interface or "", message.member or ""))
        if message.message_type is not MessageType.METHOD_CALL or method is None:
            return False
        try:
            return self.adapter.faults.meet(message.member or "") or method(message) or True
        except RefusedError as refused:
            if refused.text == ABORTED:
                self.adapter.device(message.path).flicker()
            return refused.reply(message)


async def _gone(bus: MessageBus) -> None:
    with suppress(OSError, EOFError):  # how the bus ended is of no interest: there is nothing to stand in for
        await cast(Any, bus).wait_for_disconnect()


async def run(specs: Iterable[str]) -> None:
    """Stand in for BlueZ on the bus named in the environment, until the commands end or the bus does."""
    tools = [make_tool(spec) for spec in specs]
    bus = MessageBus(bus_type=BusType.SYSTEM, negotiate_unix_fd=True)
    await bus.connect()
    cast(Any, bus)._writer.sock = Patient(cast(Any, bus)._sock)  # dbus-fast has no door for this
    stand_in = StandIn(bus, tools)
    await stand_in.begin()
    serving = asyncio.ensure_future(serve(Commands(stand_in.adapter)))
    gone = asyncio.ensure_future(_gone(bus))
    await asyncio.wait({serving, gone}, return_when=asyncio.FIRST_COMPLETED)
    serving.cancel()
    bus.disconnect()


async def _run_with_own_bus(specs: Iterable[str]) -> None:
    async with PrivateBus() as bus:
        os.environ.update(bus.environ())
        sys.stdout.write(f'export {ADDRESS}={bus.address} PATH="{bus.folder}:$PATH"\n')
        await run(specs)


def main() -> int:
    """Run the stand-in as a process of its own; commands on stdin, one answer in JSON for each on stdout."""
    parser = argparse.ArgumentParser(prog="python -m simulators.bluez", description="Stand in for BlueZ.")
    parser.add_argument("--tools", nargs="+", metavar="SPEC", required=True, help="such as caliper:DC-1 or wrench:TW-1")
    parser.add_argument("--own-bus", action="store_true", help="start a private bus first, and print how to use it")
    args = parser.parse_args()
    if not args.own_bus and ADDRESS not in os.environ:
        parser.error(f"{ADDRESS} is not set: set it to a private bus, or add --own-bus.")
    if args.own_bus and (why := missing()):
        parser.error(why)
    try:
        asyncio.run((_run_with_own_bus if args.own_bus else run)(args.tools))
    except (TalkError, OSError) as error:
        parser.error(str(error))
    return 0
