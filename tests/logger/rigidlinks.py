"""An independent oracle: pins on two polygons, links of one pitch, the chain a taut string round the pins."""

import math
from collections.abc import Callable
from itertools import product
from statistics import fmean

Point = tuple[float, float]


def zero(function: Callable[[float], float], low: float, high: float) -> float:
    """Bisection; the function changes its sign once, in either direction."""
    falls = function(low) > 0
    assert falls != (function(high) > 0), "no change of sign"
    for _ in range(36):
        middle = (low + high) / 2
        low, high = (middle, high) if (function(middle) > 0) == falls else (low, middle)
    return (low + high) / 2


def cross(origin: Point, a: Point, b: Point) -> float:
    return (a[0] - origin[0]) * (b[1] - origin[1]) - (a[1] - origin[1]) * (b[0] - origin[0])


class RigidLinks:
    """A chain of rigid links on two sprockets at one phase; the upper run is taut, the lower one is measured."""

    def __init__(self, front: int, rear: int, pitch: float, centre: float, phase: float) -> None:
        self.pitch = pitch
        self.r1, self.r2 = (pitch / 2 / math.sin(math.pi / teeth) for teeth in (front, rear))
        self.centre, self.lean = centre, math.asin((self.r2 - self.r1) / centre)
        upper = math.sqrt(centre**2 - (self.r2 - self.r1) ** 2) / pitch
        for top, links in product(range(-1, 3), range(math.floor(upper) - 1, math.ceil(upper) + 2)):
            angle = math.pi / 2 + self.lean + (top + phase) * 2 * math.pi / front
            # Both lists start at the upper run's pin and follow the chain away from it.
            self.front = self._pins(0.0, self.r1, front, angle, 1)
            start = self._rear_start(self.front[0], links * pitch)
            self.rear = self._pins(centre, self.r2, rear, start, -1)
            self.upper = links
            if all(cross(self.front[0], self.rear[0], pin) < 1e-9 for pin in self.front + self.rear):
                return
        raise AssertionError("no whole number of links lies on the upper run")

    def _pins(self, x: float, radius: float, teeth: int, start: float, way: int) -> list[Point]:
        angles = (start + way * 2 * math.pi * k / teeth for k in range(teeth))
        return [(x + radius * math.cos(a), radius * math.sin(a)) for a in angles]

    def _rear_start(self, pin: Point, length: float) -> float:
        def miss(angle: float) -> float:
            x, y = self.centre + self.r2 * math.cos(angle), self.r2 * math.sin(angle)
            return math.hypot(x - pin[0], y - pin[1]) - length

        return zero(miss, 0.3, 2.8)

    def loop(self, depth: float, off: float = 0.0) -> float:
        """Chain that goes round with the lower run held `depth` below its straight line, `off` behind its middle."""
        direction = (math.cos(self.lean), -math.sin(self.lean))
        below = (-math.sin(self.lean), -math.cos(self.lean))
        start = (below[0] * self.r1, below[1] * self.r1)
        half = self.centre * math.cos(self.lean) / 2 + off
        point = (
            start[0] + half * direction[0] + depth * below[0],
            start[1] + half * direction[1] + depth * below[1],
        )
        length = self.upper * self.pitch
        for pins, side in ((self.front, 1), (self.rear, -1)):
            leaves = next(
                k for k in range(2, len(pins)) if all(side * cross(pins[k], point, other) > -1e-9 for other in pins)
            )
            length += leaves * self.pitch + math.dist(pins[leaves], point)
        return length

    def taut(self) -> tuple[float, float]:
        """Depth at which the lower run is straight between its pins, and the loop's length there."""
        low, high = -2.0, 2.0
        for _ in range(40):
            third = (high - low) / 3
            nearer = self.loop(low + third) < self.loop(high - third)
            low, high = (low, high - third) if nearer else (low + third, high)
        return low, self.loop(low)

    def slack(self, chain: float, off: float = 0.0) -> float:
        rest, _ = self.taut()
        down = zero(lambda depth: self.loop(depth, off) - chain, rest, 150)
        up = zero(lambda depth: self.loop(depth, off) - chain, rest, -150)
        return down - up


def mean_slack(centre: float, chain: float = 112 * 15.875) -> float:
    """Mean over the tooth phases, because a polygon's slack breathes by half a millimetre."""
    return fmean(RigidLinks(17, 42, 15.875, centre, phase / 8).slack(chain) for phase in range(8))
