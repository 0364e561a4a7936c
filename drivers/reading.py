"""What a driver hands over: readings, torque samples, peaks, undecodable frames and the state of each tool.

Values are exact decimals in the text form the tool sent (a power of ten is decoding, not conversion: lengths
leave in mm when the tool counts in metres); they are never floats and never converted to another unit.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal, Protocol

RADIO = "radio"
"""The tool (and kind) of a ToolState that is about the radio itself: LOST with what to do, READY once it is back."""

Quantity = Literal["length", "torque"]
Source = Literal["sig", "described", "profile", "typed"]
"""How a value was understood: a Bluetooth SIG value type, a 0x2904 descriptor, a profile, or typed text."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something arrived, by both clocks of the host, in nanoseconds."""

    utc_ns: int
    mono_ns: int


class Clock(Protocol):
    """Both clocks of the host; injected, so that simulated tools can live in simulated time."""

    def now(self) -> Stamp:
        """Return the present moment."""
        ...


class Link(StrEnum):
    """Where a tool stands: `asleep` is patience, not an error."""

    SEARCHING = "searching"
    CONNECTING = "connecting"
    READY = "ready"
    ASLEEP = "asleep"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class ToolReading:
    """One value that a tool gave as a reading (its button was pressed, or a person typed it)."""

    tool: str
    """Identity of the tool: its serial number where it tells one, never its address."""
    quantity: Quantity
    text: str
    """The exact decimal in `unit`, trailing zeros kept: "36.20"."""
    unit: str
    """"mm", "in", "N·m", "lbf·ft" ...: the unit as sent."""
    source: Source
    raw: str
    """The payload as lower-case hex, or the typed line."""
    at: Stamp
    kind: str = ""
    """Kind of tool: "caliper", "torque wrench", "tape" ..., or empty when not known."""
    characteristic: str = ""
    duplicate: bool = False
    """The same frame again within the duplicate window of the same link: recorded, never counted."""
    old: bool = False
    """Measured before the tool came in reach, and sent from its memory: offered, never the answer to a prompt."""
    mode: str = ""
    """The mode the tool says it is in (absolute, held ...), where its profile can tell."""
    key_gap_ms: int | None = None
    """Of a typed line: the median time between its keys. A tool types faster than a hand: evidence, and no proof."""


@dataclass(frozen=True, slots=True)
class TorqueSample:
    """One value of a torque stream; positive is clockwise. `text` is None where the tool said "not known"."""

    tool: str
    text: str | None
    unit: str
    at: Stamp
    source: Source = "sig"
    raw: str = ""
    """The payload as lower-case hex."""


@dataclass(frozen=True, slots=True)
class ToolPeak:
    """The peak of the last pull as the tool itself recorded it."""

    tool: str
    text: str
    unit: str
    raw: str
    at: Stamp
    duplicate: bool = False
    source: Source = "sig"


@dataclass(frozen=True, slots=True)
class Undecoded:
    """A frame that gives no reading; kept as hex, with the reason."""

    tool: str
    characteristic: str
    raw: str
    reason: str
    at: Stamp
    aside: bool = False
    """Nothing is wrong with it: it is another kind of message, such as a heartbeat."""


@dataclass(frozen=True, slots=True)
class ToolState:
    """The state of one tool's link, with what the tool tells of itself."""

    tool: str
    """Its identity; until it has told its serial number this is its advertised name, and `address` ties both."""
    kind: str
    link: Link
    at: Stamp
    battery: int | None = None
    """Percent, 0 to 100."""
    address: str = ""
    """Evidence only: an address is not an identity."""
    serial: str = ""
    model: str = ""
    firmware: str = ""
    profile: str = ""
    """The name of the profile it is read by."""
    message: str = ""
    """One sentence for a person, with what to do, when something is wrong."""


Arrival = ToolReading | TorqueSample | ToolPeak | Undecoded | ToolState
