"""The eight tools of the soak: shipped profiles and two of one's own, and a value of its own for every press."""

from collections.abc import Callable, Iterator
from decimal import Decimal

from drivers import gatt
from drivers.profile.file import shipped_profiles
from drivers.profile.profile import ToolProfile, parse_profile
from simulators.clock import Pace
from simulators.tools import SimCaliper, SimCharacteristic, SimTool, SimWrench, stepped

from .soakledger import Cut

_OWN = "7e57{:04x}-50a4-4000-8000-00805f9b34fb"
METRES, NEWTON_METRES = 0x2701, 0x2741
TEXT_HEAD = 10
"""Octets of the first notification of a message, which has the whole number and is like no other; five follow."""
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
        return self.kept[-2]


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
        return {self.text.label.serial: Cut(TEXT_HEAD)}
