"""The eight tools of the soak, every press of which has a value of its own, and the air between them and the bench.

The air does to notifications what air and worn firmware do: twice, late, in a burst, never, over a dead link. What
was really handed to the adapter is in the ledger, and nothing else is.
"""

import asyncio
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import ClassVar

from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import NotifyCallback
from bleak.exc import BleakDBusError, BleakError

from drivers import gatt
from drivers.octets import FrameError, Special
from drivers.profile import ToolProfile, parse_profile, shipped_profiles
from simulators.air import Air, AirClient
from simulators.clock import Pace
from simulators.tools import SimCaliper, SimCharacteristic, SimTool, SimWrench, stepped

from .soakledger import Account, Cut, Flight

IN_PROGRESS = "org.bluez.Error.InProgress"
_OWN = "7e57{:04x}-50a4-4000-8000-00805f9b34fb"
METRES, NEWTON_METRES = 0x2701, 0x2741
UNKNOWN = bytes.fromhex("ffffff7f")
"""A torque that is not known (GSS, the largest value of its type)."""
TEXT_WHOLE, TEXT_HEAD = 15, 8
COUNTED = 6
"""Octets of a frame that is counted."""
TEXT = f"""
profile = "soak-text"
kind = "caliper"
[recognise]
service = "{_OWN.format(3)}"
[[values]]
decode = "text"
characteristic = "{_OWN.format(4)}"
role = "reading"
pattern = "{{number}} mm"
picture = "+0000.0000"
unit = "mm"
terminator = "\\r\\n"
"""
COUNTING = f"""
profile = "soak-counting"
kind = "depth gauge"
[recognise]
service = "{_OWN.format(5)}"
[[values]]
decode = "number"
characteristic = "{_OWN.format(6)}"
role = "reading"
form = "signed"
offset = 0
width = 32
exponent = -4
unit = "mm"
counter = {{ at = 4, octets = 2 }}
"""


def profiles() -> tuple[ToolProfile, ...]:
    """Return the shipped profiles, and two of one's own: a text in two notifications, a number with a counter."""
    return (*shipped_profiles(), parse_profile(TEXT, "text"), parse_profile(COUNTING, "counting"))


class SoakCaliper(SimCaliper):
    """A caliper that adds to each value the number of the press, below what its display shows."""

    presses = 0

    def _shown(self) -> Decimal:
        self.presses += 1
        return stepped(self.measure(), Decimal("0.01")) + self.mark()

    def mark(self) -> Decimal:
        """Return what makes the present press unlike the hundred before it, in mm."""
        return Decimal(self.presses % 100) / 10_000

    def remember(self, millimetres: Decimal) -> tuple[int, bytes]:
        """Keep a reading taken out of reach; return where and what it sends."""
        self.keep(millimetres)
        return self.kept[-1]


def described_caliper(serial: str, name: str, measure: Callable[[], Decimal], clock: Pace) -> SoakCaliper:
    """Make a caliper whose numbers carry a Presentation Format."""
    tool = SoakCaliper(serial, name, measure, clock)
    tool.length.presentation = gatt.PresentationFormat(0x08, -7, METRES)
    tool.position.presentation = gatt.PresentationFormat(0x10, -7, METRES)
    _offer(tool, _OWN.format(1), tool.length, tool.position)
    return tool


def described_wrench(serial: str, name: str, clock: Pace) -> SimWrench:
    """Make a wrench whose numbers carry a Presentation Format."""
    tool = SimWrench(serial, name, clock)
    tool.stream.presentation = tool.peak.presentation = gatt.PresentationFormat(0x10, -2, NEWTON_METRES)
    _offer(tool, _OWN.format(2), tool.stream, tool.peak)
    return tool


class TextCaliper(SoakCaliper):
    """A caliper that writes its value out, in two notifications."""

    def __init__(self, serial: str, name: str, measure: Callable[[], Decimal], clock: Pace) -> None:
        super().__init__(serial, name, measure, clock)
        self.text = SimCharacteristic(_OWN.format(4), ("notify",))
        self.cut_off = False
        """Whether the link goes between the two of the next message."""
        _offer(self, _OWN.format(3), self.text)

    def _send(self, shown: Decimal) -> None:
        head, rest = _halves(shown)
        self.send(self.text, head)
        if self.cut_off:
            self.cut_off = False
            self.drop()
        else:
            self.send(self.text, rest)

    def remember(self, millimetres: Decimal) -> tuple[int, bytes]:
        """Keep a reading taken out of reach."""
        self.kept += [(self.text.handle, half) for half in _halves(millimetres)]
        return self.kept[-1]


def _halves(shown: Decimal) -> tuple[bytes, bytes]:
    message = f"{shown:+010.4f} mm\r\n".encode()
    return message[:TEXT_HEAD], message[TEXT_HEAD:]


class CountingGauge(SoakCaliper):
    """A depth gauge whose frames are counted."""

    def __init__(self, serial: str, name: str, measure: Callable[[], Decimal], clock: Pace) -> None:
        super().__init__(serial, name, measure, clock)
        self.counted = SimCharacteristic(_OWN.format(6), ("notify",))
        _offer(self, _OWN.format(5), self.counted)
        self._count = 0

    def _send(self, shown: Decimal) -> None:
        self.send(self.counted, self._frame(shown))

    def _frame(self, shown: Decimal) -> bytes:
        self._count += 1
        return int(shown * 10_000).to_bytes(4, "little", signed=True) + (self._count % 65_536).to_bytes(2, "little")

    def remember(self, millimetres: Decimal) -> tuple[int, bytes]:
        """Keep a reading taken out of reach."""
        self.kept.append((self.counted.handle, self._frame(millimetres)))
        return self.kept[-1]


def missed_between(before: bytes, now: bytes) -> int:
    """Return how many frames of a counting gauge are missing between two; none beside what is no frame of it."""
    if len(before) != COUNTED or len(now) != COUNTED:
        return 0
    return max(0, int.from_bytes(now[4:], "little") - int.from_bytes(before[4:], "little") - 1)


def _offer(tool: SimTool, service: str, *characteristics: SimCharacteristic) -> None:
    """Give a tool another service than the one it was made with."""
    tool.measured.uuid = service
    tool.measured.characteristics[:] = characteristics
    tool.__post_init__()


class Tools:
    """Five that measure lengths, three that measure torques."""

    def __init__(self, clock: Pace, measure: Callable[[], Decimal]) -> None:
        self.text = TextCaliper("SK-C4", "Writing gauge", measure, clock)
        self.counting = CountingGauge("SK-D1", "Counting depth gauge", measure, clock)
        self.calipers: tuple[SoakCaliper, ...] = (
            SoakCaliper("SK-C1", "Bench caliper", measure, clock),
            SoakCaliper("SK-C2", "Store caliper", measure, clock),
            described_caliper("SK-C3", "Old caliper", measure, clock),
            self.text,
        )
        self.gauges: tuple[SoakCaliper, ...] = (*self.calipers, self.counting)
        self.wrenches = (
            SimWrench("SK-W1", "Bench wrench", clock),
            SimWrench("SK-W2", "Small wrench", clock),
            described_wrench("SK-W3", "Old torque wrench", clock),
        )

    def __iter__(self) -> Iterator[SimTool]:
        return iter((*self.gauges, *self.wrenches))

    @property
    def names(self) -> dict[str, str]:
        """By each name that a tool goes by: its serial number."""
        serials = {tool.label.serial: tool.label.serial for tool in self}
        return serials | {tool.name: tool.label.serial for tool in self}

    @property
    def cuts(self) -> dict[str, Cut]:
        """How messages are cut."""
        return {self.text.label.serial: Cut(TEXT_WHOLE, TEXT_HEAD)}


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
