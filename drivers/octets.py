"""Numbers as they travel: little-endian octets <-> exact decimals, both ways, without I/O.

Sources: Bluetooth Core Specification Vol 3 Part G 3.3.3.5 (format types) and ISO/IEEE 11073-20601 as restated in the
HL7 Personal Health Device guide, "FLOATs and SFLOATs" (medical floats).
"""

import math
import struct
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Special(StrEnum):
    """What a tool may send instead of a number."""

    NOT_KNOWN = "not known"
    NOT_A_NUMBER = "not a number"
    NOT_AT_RESOLUTION = "not at this resolution"
    PLUS_INFINITY = "above its range"
    MINUS_INFINITY = "below its range"
    RESERVED = "a reserved code"


Number = Decimal | Special


class FrameError(ValueError):
    """Octets that cannot be understood, or a number that cannot be written; the text is one sentence."""


def shift(number: Decimal, places: int) -> Decimal:
    """Move the decimal point right by `places`: exact whatever the number of digits, trailing zeros kept.

    FrameError for what is not finite.
    """
    sign, digits, exponent = number.as_tuple()
    if not isinstance(exponent, int):
        raise FrameError(f"{number} is not a finite number.")
    return Decimal((sign, digits, exponent + places))


def _sized(octets: bytes, size: int) -> bytes:
    if len(octets) != size:
        raise FrameError(f"It has {len(octets)} octet{'' if len(octets) == 1 else 's'} where {size} are needed.")
    return octets


@dataclass(frozen=True, slots=True)
class Integer:
    """An integer of whole octets."""

    size: int
    signed: bool

    def decode(self, octets: bytes) -> Decimal:
        """Return the integer; FrameError when the number of octets is wrong."""
        return Decimal(int.from_bytes(_sized(octets, self.size), "little", signed=self.signed))

    def encode(self, number: Number) -> bytes:
        """Return the octets; FrameError for a fraction, a special value or a number out of range."""
        if isinstance(number, Special) or number != number.to_integral_value():
            raise FrameError(f"{number} is not a whole count.")
        try:
            return int(number).to_bytes(self.size, "little", signed=self.signed)
        except OverflowError:
            raise FrameError(f"{number} does not fit in {self.size} octets.") from None


_NAN, _PLUS, _MINUS = Special.NOT_A_NUMBER, Special.PLUS_INFINITY, Special.MINUS_INFINITY


@dataclass(frozen=True, slots=True)
class BinaryFloat:
    """IEEE 754 binary32 or binary64.

    A decoded number is the shortest decimal that encodes to the same octets: nothing is lost, and it is what the
    tool's own display shows (98.1 rather than 98.09999847412109375).
    """

    size: int

    @property
    def _format(self) -> str:
        return "<f" if self.size == 4 else "<d"

    def decode(self, octets: bytes) -> Number:
        """Return the shortest decimal with these octets, or what is sent in place of a number."""
        (value,) = struct.unpack(self._format, _sized(octets, self.size))
        if math.isnan(value):
            return _NAN
        if math.isinf(value):
            return _PLUS if value > 0 else _MINUS
        numbers = (Decimal(f"{value:.{digits}g}") for digits in range(1, 18))
        return next(number for number in numbers if self._writes(number, octets))

    def _writes(self, number: Decimal, octets: bytes) -> bool:
        try:
            return self.encode(number) == octets
        except FrameError:  # rounded up past the largest float
            return False

    def encode(self, number: Number) -> bytes:
        """Return the octets of the nearest float; FrameError when the number is too large."""
        specials = {_NAN: "nan", _PLUS: "inf", _MINUS: "-inf"}
        if isinstance(number, Special) and number not in specials:
            raise FrameError(f"A binary float cannot say {number}.")
        try:
            return struct.pack(self._format, float(specials[number] if isinstance(number, Special) else number))
        except OverflowError:
            raise FrameError(f"{number} does not fit in {self.size} octets.") from None


@dataclass(frozen=True, slots=True)
class MedicalFloat:
    """SFLOAT (2 octets) or FLOAT (4 octets): decimal mantissa and exponent, both two's complement.

    The special codes are taken as special with exponent 0 only, as the text of the standard defines them: SFLOAT
    0x17FF is 20470. (Some decoders look at the mantissa alone and would call it "not a number".)
    """

    size: int
    mantissa_bits: int

    @property
    def _specials(self) -> dict[int, Special]:
        top = 1 << (self.mantissa_bits - 1)
        return {
            top - 1: _NAN,
            -top: Special.NOT_AT_RESOLUTION,
            top - 2: _PLUS,
            2 - top: _MINUS,
            1 - top: Special.RESERVED,
        }

    @property
    def _exponents(self) -> range:
        half = 1 << (8 * self.size - self.mantissa_bits - 1)
        return range(-half, half)

    def decode(self, octets: bytes) -> Number:
        """Return the number with the precision that was sent (2, 2.0 and 2.00 differ), or its special value."""
        raw = int.from_bytes(_sized(octets, self.size), "little", signed=True)
        exponent, mantissa = raw >> self.mantissa_bits, raw & ((1 << self.mantissa_bits) - 1)
        if mantissa >> (self.mantissa_bits - 1):
            mantissa -= 1 << self.mantissa_bits
        if exponent == 0 and mantissa in self._specials:
            return self._specials[mantissa]
        return shift(Decimal(mantissa), exponent)

    def encode(self, number: Number) -> bytes:
        """Return the octets with the precision kept where it fits; FrameError when the number cannot be written."""
        if isinstance(number, Special):
            codes = {special: code for code, special in self._specials.items()}
            if number not in codes:
                raise FrameError(f"A medical float cannot say {number}.")
            return self._pack(codes[number], 0)
        exponent = number.as_tuple().exponent
        if not isinstance(exponent, int):
            raise FrameError(f"{number} is not a finite number.")
        for e in sorted(self._exponents, key=lambda e: abs(e - exponent)):
            mantissa = shift(number, -e)
            if self._plain(mantissa, e):
                return self._pack(int(mantissa), e)
        raise FrameError(f"{number} does not fit in {self.size} octets.")

    def _plain(self, mantissa: Decimal, exponent: int) -> bool:
        top = 1 << (self.mantissa_bits - 1)
        whole = mantissa == mantissa.to_integral_value() and -top <= mantissa < top
        return whole and not (exponent == 0 and int(mantissa) in self._specials)

    def _pack(self, mantissa: int, exponent: int) -> bytes:
        raw = (exponent << self.mantissa_bits) | (mantissa & ((1 << self.mantissa_bits) - 1))
        return raw.to_bytes(self.size, "little", signed=True)


NumberFormat = Integer | BinaryFloat | MedicalFloat

UINT8, SINT8 = Integer(1, False), Integer(1, True)
UINT16, SINT16 = Integer(2, False), Integer(2, True)
UINT24, SINT24 = Integer(3, False), Integer(3, True)
UINT32, SINT32 = Integer(4, False), Integer(4, True)
UINT48, SINT48 = Integer(6, False), Integer(6, True)
UINT64, SINT64 = Integer(8, False), Integer(8, True)
FLOAT32, FLOAT64 = BinaryFloat(4), BinaryFloat(8)
SFLOAT, FLOAT = MedicalFloat(2, 12), MedicalFloat(4, 24)
