"""Chain-drive geometry: slack against axle movement, chain length, wear; every length in mm.

Predictions are floats, because nothing here judges a reading; what can become a limit (advance per flat,
elongation) stays an exact fraction.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, Self

Exact = Decimal | Fraction | int
Length = Exact | float
SlackKind = Literal["total", "rest_to_up", "sag"]

SHARE_OF_TOTAL: dict[SlackKind, float] = {
    "total": 1.0,
    "rest_to_up": 0.5 + math.sqrt(3) / 4,
    "sag": math.sqrt(3) / 4,
}
"""How much of the whole movement (taut down to taut up) each way of measuring sees.

A run hanging at rest is a shallow parabola of the same excess, 8 sag^2 / (3 L) = s^2 / (2 L).
"""
TAUT_SHARE: dict[SlackKind, float] = {"total": 1.0, "rest_to_up": 0.5, "sag": 0.0}
"""The part of that which is seen with the run pulled taut, straight from either sprocket; the rest is a hanging run."""


@dataclass(frozen=True, slots=True)
class Drive:
    """One chain drive as the advice needs it; a slack is a reading of `slack_kind`, movement is rearward."""

    span_mm: float
    """Straight length of the measured run between the points where it leaves the sprockets."""
    cos_beta: float
    """Cosine of the angle between a run and the line of centres."""
    advance_per_turn_mm: Fraction
    flats_per_turn: int = 6
    slack_kind: SlackKind = "total"
    off_centre_mm: float = 0.0
    """Distance of the measuring point from the middle of the run."""

    def __post_init__(self) -> None:
        if not self.span_mm > 0 or not 0 < self.cos_beta <= 1:
            raise ValueError(f"the chain run must be longer than 0 mm (got {self.span_mm} mm): measure it again")
        if self.advance_per_turn_mm <= 0 or self.flats_per_turn < 1:
            raise ValueError("the adjuster must move the axle: give a thread pitch above 0 mm and at least one flat")
        if abs(self.off_centre_mm) * 2 >= self.span_mm:
            raise ValueError("the measuring point must lie within the chain run: give its distance from the middle")

    @classmethod
    def from_teeth(
        cls,
        front: int,
        rear: int,
        pitch_mm: Length,
        centre_mm: Length,
        thread_mm: Exact,
        *,
        flats_per_turn: int = 6,
        slack_kind: SlackKind = "total",
        off_centre_mm: Length = 0,
    ) -> Self:
        """Build from tooth counts, chain pitch and centre distance; ValueError when the sprockets would touch."""
        small, large = sorted((pitch_radius(front, pitch_mm), pitch_radius(rear, pitch_mm)))
        centre = float(centre_mm)
        if centre <= small + large:
            raise ValueError(
                f"a centre distance of {centre:g} mm lets sprockets of {front} and {rear} teeth touch: "
                f"it must be more than {small + large:.1f} mm"
            )
        span = math.sqrt(centre**2 - (large - small) ** 2)
        return cls(span, span / centre, Fraction(thread_mm), flats_per_turn, slack_kind, float(off_centre_mm))

    @classmethod
    def from_span(
        cls,
        span_mm: Length,
        thread_mm: Exact,
        *,
        flats_per_turn: int = 6,
        slack_kind: SlackKind = "total",
        off_centre_mm: Length = 0,
    ) -> Self:
        """Build from the measured straight run where teeth are unknown; both runs are taken as parallel.

        Two runs 5.6 degrees off the line of centres make that 0.5 % of the movement.
        """
        return cls(float(span_mm), 1.0, Fraction(thread_mm), flats_per_turn, slack_kind, float(off_centre_mm))

    @property
    def per_flat_mm(self) -> Fraction:
        """Movement of one side for one flat of its adjuster, in mm, exact."""
        return self.advance_per_turn_mm / self.flats_per_turn

    @property
    def _share(self) -> float:
        seen = off_centre_factor(self.off_centre_mm, self.span_mm)
        taut = TAUT_SHARE[self.slack_kind]
        return taut * seen + (SHARE_OF_TOTAL[self.slack_kind] - taut) * seen**2  # a parabola falls off by 1 - (2x/L)^2

    def excess(self, slack_mm: Length) -> float:
        """Length in mm by which the run is longer than straight: sqrt(L^2 + s^2) - L."""
        total = float(slack_mm) / self._share
        return total**2 / (math.hypot(self.span_mm, total) + self.span_mm)

    def slack(self, excess_mm: float) -> float:
        """Return the slack reading in mm of a run with this excess; ValueError below zero: a taut chain has none."""
        if excess_mm < 0:
            raise ValueError(f"an excess of {excess_mm:g} mm is below zero: the chain would be taut")
        return math.sqrt(excess_mm * (2 * self.span_mm + excess_mm)) * self._share

    def slack_after(self, slack_mm: Length, movement_mm: Length) -> float | None:
        """Slack in mm once the axle has moved rearward by `movement_mm`, or None where the chain runs taut.

        Where nothing moves it is the reading itself, without what a way there and back through floats adds.
        """
        if not movement_mm:
            return float(slack_mm) or None
        left_over = self.excess(slack_mm) - 2 * float(movement_mm) * self.cos_beta
        return self.slack(left_over) if left_over > 0 else None

    def movement(self, slack_mm: Length, wanted_mm: Length) -> float:
        """Rearward axle movement in mm which brings `slack_mm` to `wanted_mm`; negative is forward."""
        return (self.excess(slack_mm) - self.excess(wanted_mm)) / (2 * self.cos_beta)

    def movement_u(self, slack_mm: Length, u_mm: float) -> float:
        """Standard uncertainty, as axle movement in mm, of a slack read with standard uncertainty `u_mm`."""
        total = float(slack_mm) / self._share
        return total / math.hypot(self.span_mm, total) * u_mm / self._share / (2 * self.cos_beta)


def pitch_radius(teeth: int, pitch_mm: Length) -> float:
    """Radius in mm of the circle through the chain pins: p / (2 sin(pi/N)); ValueError below five teeth."""
    if teeth < 5:
        raise ValueError(f"a chain sprocket has at least 5 teeth, not {teeth}: count them again")
    return float(pitch_mm) / (2 * math.sin(math.pi / teeth))


def off_centre_factor(off_mm: Length, span_mm: Length) -> float:
    """Share of the mid-span movement that is seen `off_mm` away from the middle: sqrt(1 - (2x/L)^2)."""
    return math.sqrt(1 - (2 * float(off_mm) / float(span_mm)) ** 2)


def elongation(length_mm: Exact, pitches: int, pitch_mm: Exact) -> Fraction:
    """Wear as an exact share (0.01 is 1 %), from the length in mm over N pitches, which is N + 1 pins.

    ValueError below one pitch.
    """
    if pitches < 1:
        raise ValueError(f"wear is measured over at least one pitch, not {pitches}")
    return Fraction(length_mm) / (pitches * Fraction(pitch_mm)) - 1


def worn_length(share: Exact, pitches: int, pitch_mm: Exact) -> Fraction:
    """Length in mm, exact, of N pitches of a chain with this elongation: the limit a measurement is held to."""
    return pitches * Fraction(pitch_mm) * (1 + Fraction(share))


def life_left(worn: Exact, limit: Exact) -> Fraction:
    """Share of the wear limit that is still left, 0 to 1; at 0 the chain is replaced, not adjusted.

    Both are shares (0.01 is 1 %); ValueError for a limit that is not above zero.
    """
    if limit <= 0:
        raise ValueError("the wear limit must be above zero")
    return min(Fraction(1), max(Fraction(0), 1 - Fraction(worn) / Fraction(limit)))


@dataclass(frozen=True, slots=True)
class Move:
    """One turning as it was read: how far an end or the axle moved rearward (mm), and the flats that should do it."""

    mm: float
    flats: float
    u_before: float = 0.0
    """What the reading before adds to the standard uncertainty of `mm`."""
    u_after: float = 0.0
    joined: bool = False
    """Whether the reading before is the reading after the move before this one, so that its error enters once."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The effective advance per flat that moves show, in mm, with its standard uncertainty."""

    per_flat_mm: float
    u_mm: float
    moves: int

    def tells(self, nominal_mm: Length) -> bool:
        """Whether enough was turned to tell: twice its uncertainty is at most half a nominal flat."""
        return 0 < 4 * self.u_mm <= float(nominal_mm)

    def differs(self, nominal_mm: Length) -> bool:
        """Whether it is further from the nominal advance than twice its standard uncertainty."""
        return abs(self.per_flat_mm - float(nominal_mm)) > 2 * self.u_mm


def fit_advance(moves: Iterable[Move]) -> Fit | None:
    """Return the advance per flat by least squares through zero; None where nothing was turned.

    To be shown beside the nominal figure, never used in its place unasked.
    """
    known = [move for move in moves if move.flats]
    weight = sum(move.flats**2 for move in known)
    if not weight:
        return None
    advance = sum(move.mm * move.flats for move in known) / weight
    return Fit(advance, math.sqrt(sum((share * u) ** 2 for share, u in _readings(known))) / weight, len(known))


def _readings(moves: Iterable[Move]) -> Iterable[tuple[float, float]]:
    """Each reading once: how much the fit leans on it, and its standard uncertainty as a movement."""
    found: list[tuple[float, float]] = []
    for move in moves:
        if move.joined and found:
            found[-1] = (found[-1][0] - move.flats, move.u_before)  # the last move leans on it too, the other way
        else:
            found.append((move.flats, move.u_before))
        found.append((move.flats, move.u_after))
    return found
