"""A chain drive with physics: axle, adjusters with thread and backlash, eccentric sprockets, nuts; lengths in mm.

`Machine` is the motorcycle; what stands on other fasteners and measures its slack otherwise is a subclass of it.

Only the simulated tools and hands touch it; nobody who prompts or advises may look at its truth.
"""

import math
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from typing import ClassVar, Literal, get_args

from .machine_spec import MachineSpec, Shift, courier_spec

__all__ = [
    "SIDES",
    "Fastener",
    "Machine",
    "MachineSpec",
    "Run",
    "Shift",
    "Side",
    "courier_spec",
]

Side = Literal["left", "right"]
Fastener = str
"""One name of `Machine.torque`."""
Run = Literal["taut down", "taut up"]

SIDES: tuple[Side, ...] = get_args(Side)
SLIPS = 0.05
"""Share of a turn that an adjuster makes against a tight axle nut before the hand gives up."""
DATUM_MM = Decimal(100)
"""Where the gauge of the run stands when the run is straight."""
MICROMETRE = Decimal("0.001")


@dataclass(slots=True)
class _Adjuster:
    """One side: how far its nut was turned, where its face holds, where the axle stands."""

    turned: float = 0.0
    face: float = 0.0
    axle_mm: float = 0.0

    def turn(self, turns: float, backlash: float) -> None:
        self.turned += turns
        self.face = min(max(self.face, self.turned), self.turned + backlash)


@dataclass(slots=True)
class Machine:
    """One machine in the stand, in neutral; angles in degrees of the rear wheel, torque in N·m."""

    holders: ClassVar[dict[Side, tuple[Fastener, ...]]] = {"left": ("axle",), "right": ("axle",)}
    """What holds each end of the axle; its own torque is the spec's `nut_nm`."""
    locks: ClassVar[dict[Side, Fastener]] = {"left": "lock_left", "right": "lock_right"}
    """What keeps each adjuster from turning, where anything does."""
    spec: MachineSpec
    rng: Random
    angle: float = 0.0
    seated: bool = True
    torque: dict[Fastener, float] = field(default_factory=dict)
    _sides: dict[Side, _Adjuster] = field(default_factory=dict)
    _centre_mm: float = 0.0

    def __post_init__(self) -> None:
        spec = self.spec
        self.torque = {each: spec.nut_nm for side in SIDES for each in self.holders[side]}
        self.torque |= dict.fromkeys(self.locks.values(), spec.lock_nm)
        share = spec.left_share
        start = {"left": (1 - share) * spec.apart_mm, "right": -share * spec.apart_mm}
        for side in SIDES:
            turns = start[side] / spec.thread_mm
            self._sides[side] = _Adjuster(turns, turns, start[side])
        self._centre_mm = self._centre_as_found()

    def _centre_as_found(self) -> float:
        """Centre distance at which the tightest place has the slack of the spec."""
        spec = self.spec
        excess = self._excess_as_found(spec.sprockets.centre_for_loop(spec.chain_mm))
        slackened = spec.sprockets.centre_for_loop(spec.chain_mm - excess)
        return slackened - self._throw(self.tightest_angle())

    def _excess_as_found(self, centre: float) -> float:
        """Chain beyond taut with which the run has the slack of the spec."""
        sprockets, depth = self.spec.sprockets, self.spec.slack_mm / 2
        return (sprockets.extra_at(centre, depth) + sprockets.extra_at(centre, -depth)) / 2

    # What hands do.

    def turn(self, side: Side, flats: float) -> float:
        """Turn an adjuster (positive tightens) and return the flats it really went.

        A locked adjuster does not turn; one against a tight axle nut hardly does. Backing off leaves the axle
        where it is until it is seated.
        """
        if side in self.locks and self.torque[self.locks[side]] > 0:
            return 0.0
        went = flats * (SLIPS if self._held(side) else 1.0)
        adjuster = self._sides[side]
        adjuster.turn(went / self.spec.flats_per_turn, self.spec.backlash_turns)
        adjuster.axle_mm = max(adjuster.axle_mm, adjuster.face * self.spec.thread_mm)
        self.seated = False
        return went

    def seat(self) -> bool:
        """Push the axle forward against both adjusters; False when it is held too tight for that."""
        if any(map(self._held, SIDES)):
            return False
        for adjuster in self._sides.values():
            adjuster.axle_mm = adjuster.face * self.spec.thread_mm
        self.seated = True
        return True

    def snug(self) -> None:
        """Run down by hand what holds the axle: it holds lightly and shifts nothing."""
        for side in SIDES:
            self.torque |= {each: max(self.torque[each], self.spec.snug_nm) for each in self.holders[side]}

    def loosen(self, fastener: Fastener) -> None:
        """Undo a fastener; the axle stays where it is."""
        self.torque[fastener] = 0.0

    def tighten(self, fastener: Fastener, torque: float) -> None:
        """Pull a fastener up to `torque`; an end that begins to be held shifts once, more when not seated."""
        held = {side: self._held(side) for side in SIDES}
        self.torque[fastener] = max(self.torque[fastener], torque)
        for side in SIDES:
            if self._held(side) and not held[side]:
                self._shift(self._sides[side])

    def _shift(self, adjuster: _Adjuster) -> None:
        stop = adjuster.face * self.spec.thread_mm
        shift = self.spec.seated_shift if self.seated else self.spec.unseated_shift
        moved = adjuster.axle_mm + shift.draw(self.rng)
        if adjuster.axle_mm > stop + self.spec.yields_mm:
            moved = stop + self.rng.random() * (adjuster.axle_mm - stop)
        adjuster.axle_mm = max(stop - self.spec.yields_mm, moved)

    def _held(self, side: Side) -> bool:
        return any(self.torque[each] > 2 * self.spec.snug_nm for each in self.holders[side])

    def fastener(self, place: str) -> Fastener:
        """Name a fastener of the sheet as the machine knows it: sided ones are the adjusters' lock nuts."""
        return f"lock_{place}" if place in SIDES else "axle"

    def rotate_to(self, angle: float) -> None:
        """Turn the rear wheel to this angle, counted on over as many turns as one likes."""
        self.angle = angle

    # What is true.

    def axle(self, side: Side) -> float:
        """Rearward position of one end of the axle, in mm."""
        return self._sides[side].axle_mm

    @property
    def apart_mm(self) -> float:
        """True left minus right axle position: zero is square."""
        return self.axle("left") - self.axle("right")

    @property
    def centre_mm(self) -> float:
        """Mean centre distance at the sprockets."""
        share = self.spec.left_share
        return self._centre_mm + share * self.axle("left") + (1 - share) * self.axle("right")

    def _throw(self, angle: float) -> float:
        """How much further apart the sprockets' true centres are at this wheel angle."""
        spec = self.spec
        front_angle = math.radians(angle * spec.rear / spec.front + spec.phase_deg)
        rear = spec.rear_eccentricity_mm * math.cos(math.radians(angle))
        return rear - spec.front_eccentricity_mm * math.cos(front_angle)

    def tightest_angle(self) -> float:
        """Wheel angle with the least slack over a full turn of both sprockets, to a hundredth of a degree."""
        best = max(range(int(self.spec.full_turn_deg)), key=self._throw)
        near = (best + step / 100 for step in range(-100, 101))
        return max(near, key=self._throw) % self.spec.full_turn_deg

    def _reach(self, angle: float) -> tuple[float, float]:
        sprockets = self.spec.sprockets
        centre = self.centre_mm + self._throw(angle)
        return sprockets.reach(centre, self.spec.chain_mm - sprockets.taut_loop(centre))

    def true_slack(self, angle: float) -> float:
        """Movement in mm of the lower run's middle from taut down to taut up; zero where the chain is taut."""
        return sum(self._reach(angle))

    # What tools see: positions, before the tool's own resolution and error.

    def read_run(self, run: Run, angle: float | None = None, datum_mm: float = float(DATUM_MM)) -> Decimal:
        """Where the lower run's middle stands in mm, growing downward from a datum, as hands find it."""
        down, up = self._reach(self.angle if angle is None else angle)
        position = datum_mm + (down if run == "taut down" else -up)
        return seen(position + self.rng.gauss(0, self.spec.slack_sd_mm / math.sqrt(2)))

    def read_slack(self, part: str, *, larger: str = "taut up") -> Decimal:
        """What the gauge says of the slack here and now, in mm; of a difference, this part of it."""
        position = self.read_run("taut down" if part == "taut down" else "taut up")
        return position if larger == "taut down" else 2 * DATUM_MM - position

    def feel_slack(self, angle: float) -> Decimal:
        """How much the run gives at this angle, in mm, as a hand feels it."""
        return self.read_run("taut down", angle) - self.read_run("taut up", angle)

    def read_side(self, side: Side) -> Decimal:
        """One side's gauge reading for the axle in mm, by the datum and sense of this machine."""
        spec = self.spec
        grown = self.axle(side) * (1 if spec.grows == "rearward" else -1)
        offset = spec.side_offset_mm / 2 * (1 if side == "left" else -1)
        return seen(spec.side_datum_mm + grown + offset + self.rng.gauss(0, spec.side_sd_mm / math.sqrt(2)))

    def chain_length_over(self, pitches: int) -> Decimal:
        """Length over N pitches, pin centre to pin centre, with a calliper's scatter."""
        return seen(pitches * self.spec.pitch_mm * (1 + self.spec.elongation) + self.rng.gauss(0, 0.02))

    def pull_curve(self, fastener: Fastener, target_peak: Decimal, rng: Random, dt_ms: int = 10) -> list[Decimal]:
        """Torque samples of one pull on a loose fastener, rest to rest, every `dt_ms`; the largest is its peak.

        It changes nothing on the machine: `tighten` does.
        """
        softness = 2.0 if fastener in self.locks.values() else 1.0
        degrees = float(target_peak) / self.spec.stiffness_nm_per_deg * softness
        return _curve(target_peak, max(0.4, degrees / rng.uniform(40, 80)), rng, dt_ms / 1000)


def _curve(peak: Decimal, rise_s: float, rng: Random, dt_s: float) -> list[Decimal]:
    """Rest, a rise that wobbles as hands do, the peak, a quick release, rest."""
    rest = [rng.gauss(0, 0.02) for _ in range(rng.randint(10, 20))]
    steps, top = max(8, round(rise_s / dt_s)), float(peak)
    beat = rng.uniform(1.5, 4.0)
    rise = [
        top * min(0.995, done - 0.03 * math.sin(2 * math.pi * beat * done) + rng.gauss(0, 0.003))
        for done in (step / steps for step in range(1, steps))
    ]
    fall_steps = max(4, round(0.12 / dt_s))
    fall = [top * (1 - step / fall_steps) ** 2 for step in range(1, fall_steps + 1)]
    after = [rng.gauss(0, 0.02) for _ in range(round(0.4 / dt_s))]
    before_peak, after_peak = ([_hundredths(value) for value in part] for part in (rest + rise, fall + after))
    return [*before_peak, peak, *after_peak]


def _hundredths(value: float) -> Decimal:
    return Decimal(value).quantize(Decimal("0.01"))


def seen(position: float) -> Decimal:
    """Return a position in mm as a gauge could tell it at best, to a micrometre."""
    return Decimal(position).quantize(MICROMETRE)
