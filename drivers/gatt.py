"""Bluetooth SIG numbers, and values by SIG type or by a Presentation Format descriptor: octets <-> exact values.

Sources: Bluetooth SIG Assigned Numbers and GATT Specification Supplement (value types); Core Specification Vol 3
Part G 3.3.3.5 (descriptor 0x2904). Values counted in metres leave in mm: that moves the decimal point and no more.
"""

import struct
from dataclasses import dataclass
from decimal import Decimal
from typing import Self

from . import octets
from .octets import FrameError, Integer, Number, NumberFormat, Special, shift
from .reading import Quantity


def uuid16(number: int) -> str:
    """Return the full text of a 16-bit SIG number, on the Bluetooth base UUID."""
    return f"0000{number:04x}-0000-1000-8000-00805f9b34fb"


GENERIC_ACCESS, GENERIC_ATTRIBUTE = uuid16(0x1800), uuid16(0x1801)
DEVICE_INFORMATION, BATTERY, INDUSTRIAL_MEASUREMENT = uuid16(0x180A), uuid16(0x180F), uuid16(0x185A)
MODEL_NUMBER, SERIAL_NUMBER, FIRMWARE_REVISION = uuid16(0x2A24), uuid16(0x2A25), uuid16(0x2A26)
BATTERY_LEVEL = uuid16(0x2A19)
USER_DESCRIPTION, PRESENTATION_FORMAT = uuid16(0x2901), uuid16(0x2904)
LINEAR_POSITION, LENGTH, TORQUE = uuid16(0x2C08), uuid16(0x2C0A), uuid16(0x2C0B)

MAX_MAGNITUDE = Decimal("1E12")
MAX_PLACES = 18
"""Beyond these, in whatever unit, a value is no measured one."""


@dataclass(frozen=True, slots=True)
class ValueFormat:
    """How one value travels: number format, power of ten, unit as it leaves here, and the code for "not known"."""

    number: NumberFormat
    exponent: int
    unit: str
    quantity: Quantity
    unknown: int | None = None

    def decode(self, payload: bytes) -> Number:
        """Return the exact value in `unit`, or what was sent instead; FrameError when it cannot be understood."""
        number = self.number.decode(payload)
        if isinstance(number, Special):
            return number
        if number == self.unknown:
            return Special.NOT_KNOWN
        value = shift(number, self.exponent)
        within_reason(value)
        return value

    def encode(self, value: Number) -> bytes:
        """Return the payload of a value in `unit`; FrameError when this format cannot carry it."""
        if value is Special.NOT_KNOWN and self.unknown is not None:
            return self.number.encode(Decimal(self.unknown))
        return self.number.encode(value if isinstance(value, Special) else shift(value, -self.exponent))


def within_reason(value: Decimal) -> None:
    """Keep texts short: a float64 may name a number of three hundred digits, no measuring tool does.

    FrameError for what is beyond reason.
    """
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int) or exponent < -MAX_PLACES or abs(value) >= MAX_MAGNITUDE:
        raise FrameError("Its value is beyond what any measuring tool can mean.")


def plain(value: Decimal) -> str:
    """Return the digits of a value, without exponent and without the sign of a zero: "36.2000"."""
    return format(value if value else value.copy_abs(), "f")


SIG_VALUES: dict[str, ValueFormat] = {
    TORQUE: ValueFormat(octets.SINT32, -2, "N·m", "torque", 0x7FFFFFFF),
    LENGTH: ValueFormat(octets.UINT32, -4, "mm", "length", 0xFFFFFFFF),
    LINEAR_POSITION: ValueFormat(octets.SINT32, -4, "mm", "length", 0x7FFFFFFF),
}
"""Characteristics of the Industrial Measurement Device service (GSS): torque in 0.01 N·m, positive clockwise;
length and linear position in 1e-7 m, which is 1e-4 mm."""

FORMATS: dict[int, NumberFormat] = {
    0x04: octets.UINT8,
    0x06: octets.UINT16,
    0x07: octets.UINT24,
    0x08: octets.UINT32,
    0x09: octets.UINT48,
    0x0A: octets.UINT64,
    0x0C: octets.SINT8,
    0x0E: octets.SINT16,
    0x0F: octets.SINT24,
    0x10: octets.SINT32,
    0x11: octets.SINT48,
    0x12: octets.SINT64,
    0x14: octets.FLOAT32,
    0x15: octets.FLOAT64,
    0x16: octets.SFLOAT,
    0x17: octets.FLOAT,
}
"""Format types of 0x2904 that carry one number in whole octets (SIG formattypes)."""


@dataclass(frozen=True, slots=True)
class _Unit:
    name: str
    quantity: Quantity
    places: int = 0


UNITS: dict[int, _Unit] = {
    0x2701: _Unit("mm", "length", 3),
    0x27A2: _Unit("in", "length"),
    0x2741: _Unit("N·m", "torque"),
}
"""SIG units that are understood: metre (leaves in mm), inch, newton metre. SIG has no lbf·ft and no millimetre."""


@dataclass(frozen=True, slots=True)
class PresentationFormat:
    """The seven octets of descriptor 0x2904: actual value = characteristic value x 10^exponent, in a SIG unit."""

    format: int
    exponent: int
    unit: int
    namespace: int = 1
    description: int = 0

    @classmethod
    def decode(cls, payload: bytes) -> Self:
        """Read a descriptor; FrameError unless it has seven octets."""
        if len(payload) != 7:
            raise FrameError(f"Its Presentation Format has {len(payload)} octets where 7 are needed.")
        return cls(*struct.unpack("<BbHBH", payload))

    def encode(self) -> bytes:
        """Return the seven octets."""
        return struct.pack("<BbHBH", self.format, self.exponent, self.unit, self.namespace, self.description)

    def value_format(self) -> ValueFormat:
        """Return how to read the value it describes; FrameError names the format or unit that is not understood.

        The exponent counts for integer formats only; with a float it is ignored.
        """
        if self.format not in FORMATS:
            raise FrameError(f"Its number format 0x{self.format:02X} is not one that is understood.")
        if self.unit not in UNITS:
            raise FrameError(f"Its unit 0x{self.unit:04X} is not one that is understood.")
        number, unit = FORMATS[self.format], UNITS[self.unit]
        exponent = self.exponent if isinstance(number, Integer) else 0
        return ValueFormat(number, exponent + unit.places, unit.name, unit.quantity)


def text_of(payload: bytes) -> str:
    """Return a SIG text value (UTF-8), its padding and control characters taken out, at most 64 characters."""
    text = payload.decode("utf-8", errors="replace")
    return "".join(c for c in text if c.isprintable()).strip()[:64]


def battery_of(payload: bytes) -> int | None:
    """Return the battery level in percent, or None for the reserved codes above 100."""
    return payload[0] if len(payload) == 1 and payload[0] <= 100 else None
