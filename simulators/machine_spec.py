"""What is true of one simulated machine: its parts, its wear, the state it rolls in with; lengths in mm.

All figures are invented, in the range of small chain-drive motorcycles.
"""

import math
from dataclasses import dataclass, replace
from random import Random
from typing import Literal

from .chain import Sprockets


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """How far one side of the axle moves rearward when its nut is tightened: mean and spread."""

    mean_mm: float
    sd_mm: float

    def draw(self, rng: Random) -> float:
        """One tightening's movement in mm."""
        return rng.gauss(self.mean_mm, self.sd_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineSpec:
    """All that is true of one machine as it rolls in; a rearward axle is positive."""

    front: int
    rear: int
    pitch_mm: float
    links: int
    elongation: float
    """Wear as a share: 0.01 is 1 %."""
    slack_mm: float
    """Total slack as found at the tightest place."""
    apart_mm: float
    """Left minus right axle position as found: above zero, the left side is further back."""
    thread_mm: float
    flats_per_turn: int = 6
    backlash_turns: float = 0.05
    rear_eccentricity_mm: float = 0.05
    front_eccentricity_mm: float = 0.02
    phase_deg: float = 0.0
    """Of the front sprocket's high spot when the rear one's points away from it."""
    left_share: float = 0.5
    """Share of the left side's movement that reaches the sprocket."""
    grows: Literal["rearward", "forward"] = "rearward"
    side_datum_mm: float = 40.0
    side_offset_mm: float = 0.0
    """Left minus right gauge reading when the axle is square."""
    slack_sd_mm: float = 0.5
    """Scatter of a whole slack (two readings), from hands and placement."""
    side_sd_mm: float = 0.1
    """Scatter of a whole left-right difference (two readings)."""
    seated_shift: Shift = Shift(mean_mm=0.01, sd_mm=0.02)
    unseated_shift: Shift = Shift(mean_mm=0.15, sd_mm=0.12)
    yields_mm: float = 0.03
    """How far an adjuster gives when the nut drags the axle forward against it."""
    snug_nm: float = 10.0
    nut_nm: float = 60.0
    lock_nm: float = 16.0
    stiffness_nm_per_deg: float = 1.5

    @property
    def sprockets(self) -> Sprockets:
        """The pair of sprockets and the chain's nominal pitch."""
        return Sprockets(self.front, self.rear, self.pitch_mm)

    @property
    def chain_mm(self) -> float:
        """Length of the whole chain, worn."""
        return self.links * self.pitch_mm * (1 + self.elongation)

    @property
    def full_turn_deg(self) -> float:
        """Wheel angle after which both sprockets stand again as they stood."""
        return 360.0 * self.front / math.gcd(self.front, self.rear)


COURIER = MachineSpec(
    front=15,
    rear=42,
    pitch_mm=12.7,
    links=116,
    elongation=0.004,
    slack_mm=47.0,
    apart_mm=-0.9,
    thread_mm=1.0,
    backlash_turns=0.06,
    rear_eccentricity_mm=0.05,
    front_eccentricity_mm=0.02,
    phase_deg=70.0,
    nut_nm=98.0,
    lock_nm=21.0,
)


def courier_spec(rng: Random | None = None) -> MachineSpec:
    """A courier motorcycle: 15/42 teeth, 12.7 mm chain, 1.0 mm adjuster thread; it comes in slack and crooked.

    Made for a total slack of 25 to 40 mm, 32 mm at the tightest place, sides within 0.5 mm. With `rng` the
    state it comes in differs from machine to machine; without, it is always the same.
    """
    if rng is None:
        return COURIER
    return replace(
        COURIER,
        elongation=rng.uniform(0.001, 0.006),
        slack_mm=rng.uniform(43.0, 56.0),
        apart_mm=rng.choice((-1, 1)) * rng.uniform(0.8, 1.6),
        backlash_turns=rng.uniform(0.02, 0.12),
        rear_eccentricity_mm=rng.uniform(0.02, 0.055),
        front_eccentricity_mm=rng.uniform(0.0, 0.02),
        phase_deg=rng.uniform(0, 360),
    )
