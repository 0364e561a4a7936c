"""A parcel conveyor's chain take-up with physics: two bearings on four bolts, two screws, a chain that hangs; mm.

All figures are invented. Tail shaft and head shaft carry sprockets alike; the upper run is taut, the lower one hangs.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from random import Random
from typing import ClassVar

from .machine import Fastener, Machine, Side, seen
from .machine_spec import MachineSpec, Shift

CONVEYOR = MachineSpec(
    front=19,
    rear=19,
    pitch_mm=19.05,
    links=144,
    elongation=0.006,
    slack_mm=47.0,
    apart_mm=1.1,
    thread_mm=1.5,
    backlash_turns=0.05,
    rear_eccentricity_mm=0.05,
    front_eccentricity_mm=0.02,
    phase_deg=70.0,
    side_datum_mm=62.0,
    slack_sd_mm=0.5,
    side_sd_mm=0.12,
    seated_shift=Shift(mean_mm=0.01, sd_mm=0.02),
    unseated_shift=Shift(mean_mm=0.12, sd_mm=0.1),
    snug_nm=8.0,
    nut_nm=72.0,
    stiffness_nm_per_deg=1.2,
)
"""One conveyor: slack is the sag of the lower run, nuts are the bearing bolts, rearward is towards the tail."""


@dataclass(slots=True)
class Conveyor(Machine):
    """One conveyor, locked out; angles in degrees of the tail sprocket."""

    holders: ClassVar[dict[Side, tuple[Fastener, ...]]] = {
        "left": ("left_front", "left_rear"),
        "right": ("right_front", "right_rear"),
    }
    locks: ClassVar[dict[Side, Fastener]] = {}

    def fastener(self, place: str) -> Fastener:
        """Name a bearing bolt of the sheet as the machine knows it: by the same name."""
        return place

    def true_slack(self, angle: float) -> float:
        """Sag of the lower run at this angle, in mm; zero where the chain is taut."""
        sprockets, centre = self.spec.sprockets, self.centre_mm + self._throw(angle)
        return sprockets.sag(centre, self.spec.chain_mm - sprockets.taut_loop(centre))

    def read_slack(self, part: str = "", *, larger: str = "") -> Decimal:
        """What the gauge says of the sag here and now, in mm, from a straight edge down to the chain."""
        return self.feel_slack(self.angle)

    def feel_slack(self, angle: float) -> Decimal:
        """Sag at this angle in mm, with a hand's scatter."""
        return seen(max(0.0, self.true_slack(angle) + self.rng.gauss(0, self.spec.slack_sd_mm)))

    def _excess_as_found(self, centre: float) -> float:
        low, high = 0.0, centre / 10
        for _ in range(48):
            middle = (low + high) / 2
            low, high = (
                (middle, high) if self.spec.sprockets.sag(centre, middle) < self.spec.slack_mm else (low, middle)
            )
        return (low + high) / 2


def conveyor_spec(rng: Random | None = None) -> MachineSpec:
    """A conveyor that comes in with too much sag and its tail shaft crooked; made for 18 to 36 mm of sag, 0.6 mm apart.

    With `rng` the state it comes in differs from conveyor to conveyor; without, it is always the same.
    """
    if rng is None:
        return CONVEYOR
    return replace(
        CONVEYOR,
        elongation=rng.uniform(0.002, 0.012),
        slack_mm=rng.uniform(42.0, 54.0),
        apart_mm=rng.choice((-1, 1)) * rng.uniform(0.9, 1.8),
        backlash_turns=rng.uniform(0.02, 0.1),
        rear_eccentricity_mm=rng.uniform(0.02, 0.08),
        front_eccentricity_mm=rng.uniform(0.0, 0.03),
        phase_deg=rng.uniform(0, 360),
    )
