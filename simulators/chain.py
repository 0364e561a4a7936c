"""Where a chain really runs: tangents to both pitch circles and a load at mid-span, solved numerically (mm).

Deliberately its own geometry: nothing here is taken from what the job uses to give advice.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

STEPS = 48
"""Halvings: a run of a metre is solved far below a nanometre."""


@dataclass(frozen=True, slots=True)
class Sprockets:
    """A pair of sprockets under one chain of `pitch_mm`."""

    front: int
    rear: int
    pitch_mm: float

    def radius(self, teeth: int) -> float:
        """Pitch-circle radius in mm, from the chord between two pins."""
        return self.pitch_mm / (2 * math.sin(math.pi / teeth))

    @property
    def step(self) -> float:
        """Rear radius less front radius, in mm."""
        return self.radius(self.rear) - self.radius(self.front)

    def span(self, centre: float) -> float:
        """Length of a straight run between its tangent points, in mm."""
        return math.sqrt(centre**2 - self.step**2)

    def taut_loop(self, centre: float) -> float:
        """Length of a chain with no slack, in mm; on the sprockets it lies in chords, one pitch a tooth."""
        lean = math.asin(self.step / centre)
        wrapped = (self.front * (math.pi - 2 * lean) + self.rear * (math.pi + 2 * lean)) * self.pitch_mm
        return 2 * self.span(centre) + wrapped / (2 * math.pi)

    def centre_for_loop(self, length: float) -> float:
        """Centre distance at which a chain of this length has no slack, in mm."""
        return _solve(self.taut_loop, length, abs(self.step) + 1.0, length)

    def extra_at(self, centre: float, depth: float) -> float:
        """Chain in mm that a run takes beyond straight when its middle is held `depth` mm away (positive: outward)."""
        half = self.span(centre) / 2
        front = _leg(half, self.radius(self.front), depth)
        return front + _leg(half, self.radius(self.rear), depth) - 2 * half

    def reach(self, centre: float, excess: float) -> tuple[float, float]:
        """How far, in mm, the middle of a run with this excess goes outward and inward from the straight line."""
        if excess <= 0:
            return 0.0, 0.0
        far = self.span(centre) / 2
        outward = _solve(lambda depth: self.extra_at(centre, depth), excess, 0.0, far)
        inward = _solve(lambda depth: self.extra_at(centre, -depth), excess, 0.0, far)
        return outward, inward

    def sag(self, centre: float, excess: float) -> float:
        """How far the middle of a lower run with this excess hangs below the straight line at rest, in mm.

        A catenary between contact points that move round the sprockets with its slope: y = a cosh(x / a). For
        sprockets alike, whose runs lie level; unlike ones are taken at their mean radius.
        """
        if excess <= 0:
            return 0.0
        half, radius = self.span(centre) / 2, (self.radius(self.front) + self.radius(self.rear)) / 2
        slope = _solve(lambda angle: 2 * _hangs(half, radius, angle)[0], excess, 1e-9, 1.2)
        return _hangs(half, radius, slope)[1]


def _hangs(half: float, radius: float, slope: float) -> tuple[float, float]:
    """What half a hanging run takes beyond straight, and its sag, by its slope (radians) at the sprocket."""
    reach = half + radius * math.sin(slope)
    scale = reach / math.asinh(math.tan(slope))
    arc, depth = scale * math.tan(slope), scale * (1 / math.cos(slope) - 1)
    return arc - radius * slope - half, depth - radius * (1 - math.cos(slope))


def _leg(half: float, radius: float, depth: float) -> float:
    """Half a run, from the straight run's tangent point: the tangent, less the arc that it leaves sooner."""
    drop = depth + radius
    tangent = math.sqrt(half**2 + drop**2 - radius**2)
    leaves_sooner = math.atan2(drop, half) - math.atan2(radius, tangent)
    return tangent - radius * leaves_sooner


def _solve(rising: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return (low + high) / 2
