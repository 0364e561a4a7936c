"""The air of the soak, between eight tools and the bench, and the books of what it really handed over.

The air does to notifications what air and worn firmware do: twice, late, in a burst, never, over a dead link.
"""

import asyncio
from typing import ClassVar

from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import NotifyCallback
from bleak.exc import BleakDBusError, BleakError

from drivers import gatt
from drivers.octets import FrameError, Special
from simulators.air import Air, AirClient
from simulators.tools import SimTool, SimWrench
from tests.bench.soakledger import Account, Flight
from tests.bench.soaktools import CountingGauge, SoakCaliper, Tools, missed_between

IN_PROGRESS = "org.bluez.Error.InProgress"
UNKNOWN = bytes.fromhex("ffffff7f")
"""A torque that is not known (GSS, the largest value of its type)."""


class Books:
    """The account of the job that is on, and what is on its way; told of each notification that is handed over."""

    def __init__(self, tools: Tools) -> None:
        self.account = Account()
        self.flight = Flight(tools.cuts)
        self._foreign: set[bytes] = set()
        self._last: dict[str, bytes] = {}
        self.sent = 0

    def foreign(self, payload: bytes) -> None:
        """Note octets that no press of this job sends: they may never count."""
        self._foreign.add(payload)

    def sent_out(self, tool: SimTool, handle: int, payload: bytes, *, late: bool = False, again: bool = False) -> None:
        """Enter one notification that is handed over now: for the first time or `again`, over its link or too late."""
        serial, raw = tool.label.serial, payload.hex()
        of = self.account.sent[serial]
        self.flight.sent(serial)
        self.sent += 1
        text = sample_of(tool, handle, payload)
        if text is not None:
            of.loose[raw] += 1
            if text and not late:
                of.samples.append(text)
            return
        of.owed[raw] += 1
        # no two presses of a gauge send the same, so the same at once again is a worn button
        if again or (isinstance(tool, SoakCaliper) and self._last.get(serial) == payload):
            of.echoes[raw] += 1
        elif not late and payload not in self._foreign:
            of.presses[raw] += 1
        self._last[serial] = payload

    def close(self) -> Account:
        """Return the account of the job that ends, and begin the next one."""
        done, self.account = self.account, Account()
        self._foreign.clear()
        self._last.clear()
        return done


def sample_of(tool: SimTool, handle: int, payload: bytes) -> str | None:
    """Return the value of a sample of a stream, empty where it has none; None for what is no sample."""
    if not isinstance(tool, SimWrench) or handle != tool.stream.handle:
        return None
    try:
        value = gatt.SIG_VALUES[gatt.TORQUE].decode(payload)
    except FrameError:
        return None
    return "" if isinstance(value, Special) else gatt.plain(value)


class SoakClient(AirClient):
    """A link on which things go wrong; `faults` are those of the next connections, by tool."""

    books: ClassVar[Books]
    faults: ClassVar[dict[str, list[str]]]

    doubled = False
    """Every notification comes twice over this link: a subscription outlived the one before it."""
    echo = 0
    """How many of the next notifications come twice."""
    lose = 0
    """How many of the next notifications never arrive."""
    held: list[tuple[int, bytes]] | None = None
    """What is held up on its way; None where nothing is."""
    drop_after = 0
    """After how many more notifications the link goes; 0 for never."""
    unknown_after = 0
    """After how many more notifications a sample without a value is slipped in; 0 for never."""
    _before = b""
    """The last frame carried, of a tool that counts."""

    async def connect(self, pair: bool, **kwargs: object) -> None:
        """Connect, unless a fault is due."""
        match self._due("busy", "abort", "hang", "break"):
            case "busy":
                raise BleakDBusError(IN_PROGRESS, ["Operation already in progress"])
            case "abort":
                raise BleakError("le-connection-abort-by-local")
            case "hang":
                await _never()
            case "break":
                await super().connect(pair, **kwargs)
                self._tool.drop()
                return
        await super().connect(pair, **kwargs)

    async def start_notify(
        self, characteristic: BleakGATTCharacteristic, callback: NotifyCallback, **kwargs: object
    ) -> None:
        """Subscribe; under the fault "short" the link goes right after what was kept has been sent."""
        await super().start_notify(characteristic, callback, **kwargs)
        if self._due("short"):
            self._tool.drop()

    def _due(self, *names: str) -> str:
        """Take the next fault of this tool where it is one of these; empty where it is not."""
        due = self.faults.get(self._tool.label.serial, [])
        return due.pop(0) if due and due[0] in names else ""

    def notify(self, handle: int, payload: bytes) -> None:
        """Carry one notification, or hold it up, or lose it."""
        self.drop_after, self.unknown_after = max(0, self.drop_after) - 1, max(0, self.unknown_after) - 1
        if self.unknown_after == 0:
            self._carry(handle, UNKNOWN)
        if self.drop_after == 0:
            self._tool.drop()
        elif self.held is not None:
            self.held.append((handle, payload))
        elif self.lose:
            self.lose -= 1
        else:
            self._carry(handle, payload)

    def _carry(self, handle: int, payload: bytes) -> None:
        if isinstance(self._tool, CountingGauge):
            self.books.account.sent[self._tool.label.serial].missed += missed_between(self._before, payload)
            self._before = payload
        again = self.doubled or self.echo > 0
        self.echo = max(0, self.echo - 1)
        for second in (False, True) if again else (False,):
            self.books.sent_out(self._tool, handle, payload, again=second)
            super().notify(handle, payload)

    def let_through(self) -> None:
        """Deliver in one burst what was held up."""
        held, self.held = self.held or [], None
        for handle, payload in held:
            if self.is_connected:
                self._carry(handle, payload)

    def late(self, handle: int, payload: bytes) -> None:
        """Deliver a notification over this link although it has ended."""
        self.books.sent_out(self._tool, handle, payload, late=True)
        super().notify(handle, payload)


async def _never() -> None:
    await asyncio.Event().wait()


def air_of(tools: Tools, books: Books) -> tuple[Air, dict[str, list[str]]]:
    """Return the air with these tools, and the faults of its next connections."""
    air, faults = Air(tools), dict[str, list[str]]()
    kind = type("SoakClientHere", (SoakClient,), {"air": air, "books": books, "faults": faults})
    air.client_backend = kind
    return air, faults


def link_of(tool: SimTool) -> SoakClient | None:
    """Return the present link of a tool."""
    return tool.peer if isinstance(tool.peer, SoakClient) else None
