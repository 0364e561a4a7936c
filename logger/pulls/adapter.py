"""A torque adapter (extension, crowfoot) on a wrench: what to set or read so that the fastener gets its torque.

M_set = M_target L / (L + E cos theta): US Army TM 9-254 fig. 46, US Navy NAVEDTRA 14315 fig. 3-44.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from logger.errors import BadInput
from logger.units import Limits

Exact = Decimal | Fraction | int

_COSINES = {0: Fraction(1), 60: Fraction(1, 2), 90: Fraction(0), 120: Fraction(-1, 2), 180: Fraction(-1)}
"""The whole angles whose cosine is a fraction; any other is rounded at twelve decimals, the same on every machine."""


@dataclass(frozen=True, slots=True)
class TorqueAdapter:
    """An adapter on a wrench; both lengths in one unit, the angle in degrees, 0 straight out and 180 folded back."""

    wrench: Fraction
    """Centre of the square drive to the middle of the grip."""
    extension: Fraction
    """Centre of the square drive to the centre of the fastener."""
    angle: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if self.wrench <= 0 or self.extension < 0:
            raise BadInput(
                f"An adapter of {float(self.extension):g} on a wrench of {float(self.wrench):g} cannot be.",
                "Measure the wrench from the drive to the middle of the grip, the adapter from drive to fastener.",
            )
        if not 0 <= self.angle <= 180:
            raise BadInput(
                f"An adapter angle of {float(self.angle):g}° is not within 0 and 180.",
                "Straight out is 0°, square to the wrench 90°, folded back 180°.",
            )
        if self.factor_inverse <= 0:
            raise BadInput(
                "The adapter is folded back past the grip, so the wrench cannot turn it.",
                "Use a shorter adapter, a longer wrench or a smaller angle.",
            )

    @property
    def factor_inverse(self) -> Fraction:
        """The torque at the fastener for each unit that the wrench shows: (L + E cos theta) / L."""
        return 1 + self.extension * cosine(self.angle) / self.wrench

    def setting(self, target: Exact) -> Fraction:
        """Return what the wrench shows, or is set to, when the fastener gets `target`; in the unit of that."""
        return Fraction(target) / self.factor_inverse

    def at_fastener(self, shown: Exact) -> Fraction:
        """Return what the fastener gets when the wrench shows `shown`; in the unit of that."""
        return Fraction(shown) * self.factor_inverse

    def settings(self, limits: Limits) -> Limits:
        """Return a window at the fastener as a window on the wrench."""
        return Limits(*(None if end is None else self.setting(end) for end in limits))


def cosine(degrees: Exact) -> Fraction:
    """Return the cosine of an angle from 0 to 180 degrees: exact where it is a fraction, else to twelve decimals."""
    known = _COSINES.get(int(degrees)) if degrees == int(degrees) else None
    return known if known is not None else Fraction(round(math.cos(math.radians(degrees)) * 10**12), 10**12)
