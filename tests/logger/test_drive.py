"""Chain-drive geometry against published chain lengths and a rigid-link model of our own."""

import math
import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from itertools import product
from random import Random
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.drive import (
    Drive,
    Fit,
    Move,
    elongation,
    fit_advance,
    life_left,
    off_centre_factor,
    pitch_radius,
    worn_length,
)

from .handbook import centre_from_links, chain_pitches

PITCH = Decimal("15.875")
DRIVE = Drive.from_teeth(17, 42, PITCH, 650, Decimal("1.25"))


# An independent oracle: pins on two polygons, links of one pitch, the chain a taut string round the pins.

Point = tuple[float, float]


def _zero(function: Callable[[float], float], low: float, high: float) -> float:
    """Bisection; the function changes its sign once, in either direction."""
    falls = function(low) > 0
    assert falls != (function(high) > 0), "no change of sign"
    for _ in range(36):
        middle = (low + high) / 2
        low, high = (middle, high) if (function(middle) > 0) == falls else (low, middle)
    return (low + high) / 2


def _cross(origin: Point, a: Point, b: Point) -> float:
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
            if all(_cross(self.front[0], self.rear[0], pin) < 1e-9 for pin in self.front + self.rear):
                return
        raise AssertionError("no whole number of links lies on the upper run")

    def _pins(self, x: float, radius: float, teeth: int, start: float, way: int) -> list[Point]:
        angles = (start + way * 2 * math.pi * k / teeth for k in range(teeth))
        return [(x + radius * math.cos(a), radius * math.sin(a)) for a in angles]

    def _rear_start(self, pin: Point, length: float) -> float:
        def miss(angle: float) -> float:
            x, y = self.centre + self.r2 * math.cos(angle), self.r2 * math.sin(angle)
            return math.hypot(x - pin[0], y - pin[1]) - length

        return _zero(miss, 0.3, 2.8)

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
                k for k in range(2, len(pins)) if all(side * _cross(pins[k], point, other) > -1e-9 for other in pins)
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
        down = _zero(lambda depth: self.loop(depth, off) - chain, rest, 150)
        up = _zero(lambda depth: self.loop(depth, off) - chain, rest, -150)
        return down - up


def mean_slack(centre: float, chain: float = 112 * 15.875) -> float:
    """Mean over the tooth phases, because a polygon's slack breathes by half a millimetre."""
    return fmean(RigidLinks(17, 42, 15.875, centre, phase / 8).slack(chain) for phase in range(8))


@pytest.mark.parametrize(("before", "after"), [(651.16, 651.43), (650.78, 651.43), (650.4, 651.6)])
def test_slack_after_a_movement_agrees_with_rigid_links(before: float, after: float) -> None:
    slack = mean_slack(before)
    predicted = DRIVE.slack_after(slack, after - before)
    assert predicted == pytest.approx(mean_slack(after), abs=0.05)


@pytest.mark.parametrize("excess", [0.3, 0.7, 1.2, 2.8])
def test_slack_of_an_excess_agrees_with_rigid_links(excess: float) -> None:
    drives = [RigidLinks(17, 42, 15.875, 650, phase / 8) for phase in range(8)]
    found = fmean(drive.slack(drive.taut()[1] + excess) for drive in drives)
    assert DRIVE.slack(excess) == pytest.approx(found, rel=0.0005)
    assert DRIVE.excess(found) == pytest.approx(excess, rel=0.001)


def test_rigid_links_go_straight_where_the_handbook_says() -> None:
    chain = 112 * 15.875
    taut = [
        _zero(lambda centre, f=phase / 4: RigidLinks(17, 42, 15.875, centre, f).taut()[1] - chain, 650, 653)  # type: ignore[misc]
        for phase in range(4)
    ]
    assert fmean(taut) == pytest.approx(centre_from_links(112, 17, 42, 15.875), abs=0.01)


# Published chain lengths. Textbook chapter 30 example 30-3; a paper on chain drive design (114.8 and 35.6).


def test_published_chain_length_in_mm() -> None:
    assert chain_pitches(21, 42, 9.52, 50 * 9.52) * 9.52 == pytest.approx(1254.01, abs=0.005)


def test_the_drive_of_this_page_by_hand() -> None:
    # 17/42 at 650 mm: 111.776 416 pitches; 112 pitches lie straight at 651.783 09 mm (arithmetic by hand).
    assert chain_pitches(17, 42, 15.875, 650) == pytest.approx(111.776416, abs=1e-6)
    assert centre_from_links(112, 17, 42, 15.875) == pytest.approx(651.78309, abs=1e-5)


@pytest.mark.parametrize("off", [-100, -50, 50, 100])
def test_off_centre_agrees_with_rigid_links(off: int) -> None:
    """Both runs of a string held beside the middle, its contact points moving; the formula leaves out the arcs."""
    links = RigidLinks(17, 42, 15.875, 650, 0.25)
    chain = links.taut()[1] + 1.2
    seen = links.slack(chain, off) / links.slack(chain)
    assert seen == pytest.approx(off_centre_factor(off, DRIVE.span_mm), abs=0.004)


def test_published_chain_length_in_pitches_and_its_centre() -> None:
    assert chain_pitches(20, 63, 1, 36) == pytest.approx(114.8, abs=0.05)
    assert centre_from_links(114, 20, 63, 1) == pytest.approx(35.6, abs=0.05)


@pytest.mark.parametrize(("teeth", "diameter"), [(17, 86.394785), (42, 212.431154)])
def test_pitch_circle(teeth: int, diameter: float) -> None:
    # d = p / sin(180/N), the usual handbook formula, arithmetic by hand.
    assert 2 * pitch_radius(teeth, PITCH) == pytest.approx(diameter, abs=1e-6)


def test_span_and_lean_of_a_known_drive() -> None:
    assert DRIVE.span_mm == pytest.approx(646.937948, abs=1e-6)
    assert math.degrees(math.acos(DRIVE.cos_beta)) == pytest.approx(5.563625, abs=1e-6)


# Tangents with moving contact points, solved numerically once for 112 pitches; (slack, centre below taut).
SLACK_BY_CENTRE = {10: 0.0388, 20: 0.1550, 30: 0.3488, 40: 0.6200, 50: 0.9688, 60: 1.3952, 80: 2.4805}


@pytest.mark.parametrize(("before", "after"), [(40, 30), (50, 30), (60, 30), (80, 30), (30, 10), (40, 20)])
def test_movement_between_two_slacks(before: int, after: int) -> None:
    moved = SLACK_BY_CENTRE[before] - SLACK_BY_CENTRE[after]
    drive = Drive.from_teeth(17, 42, PITCH, 651.251 - SLACK_BY_CENTRE[before], Decimal("1.25"))
    assert drive.movement(before, after) == pytest.approx(moved, rel=0.001)
    assert drive.slack_after(before, drive.movement(before, after)) == pytest.approx(after)


def test_one_flat_of_a_fine_thread_is_steep_and_then_taut() -> None:
    flat = DRIVE.per_flat_mm
    found = [DRIVE.slack_after(slack, flat) for slack in (40, 35, 30, 20)]
    assert found[:3] == pytest.approx([32.595, 26.218, 19.037], rel=0.002)
    assert found[3] is None


def test_taut_is_said_not_rounded_to_nothing() -> None:
    assert DRIVE.slack_after(30, DRIVE.movement(30, 0)) is None
    assert DRIVE.slack_after(30, 5) is None


@pytest.mark.parametrize("read", ["32.1", "30.05", "0.1", "47.3"])
def test_where_nothing_moves_slack_is_what_was_read(read: str) -> None:
    assert DRIVE.slack_after(Decimal(read), 0) == float(read)
    assert DRIVE.slack_after(0, 0) is None
    with pytest.raises(ValueError, match="taut"):
        DRIVE.slack(-0.1)


# ISO 261 pitches as two charts give them; per flat is a sixth.
@pytest.mark.parametrize(("thread", "flat"), [("1.0", "1/6"), ("1.25", "5/24"), ("1.5", "1/4"), ("1.75", "7/24")])
def test_advance_per_flat_is_exact(thread: str, flat: str) -> None:
    assert Drive.from_span(550, Decimal(thread)).per_flat_mm == Fraction(flat)


@given(st.floats(1, 100), st.sampled_from(["total", "rest_to_up", "sag"]), st.floats(-150, 150))
def test_slack_and_excess_undo_each_other(slack: float, kind: str, off: float) -> None:
    drive = Drive.from_span(
        600,
        Decimal(1),
        slack_kind=kind,  # type: ignore[arg-type]
        off_centre_mm=off,
    )
    assert drive.slack(drive.excess(slack)) == pytest.approx(slack)


@given(st.floats(5, 80), st.floats(-2, 1), st.floats(0.001, 1))
def test_more_tightening_never_gives_more_slack(slack: float, movement: float, more: float) -> None:
    less, least = DRIVE.slack_after(slack, movement), DRIVE.slack_after(slack, movement + more)
    assert least is None or (less is not None and least < less)


def test_a_hanging_run_is_measured_by_its_true_excess() -> None:
    # Independent: arc length of a shallow parabola by Simpson's rule, sag 12.99 for a total of 30.
    sag, span, steps = 30 * math.sqrt(3) / 4, 600.0, 2000

    def slope(x: float) -> float:
        return math.hypot(1, 8 * sag * x / span**2)

    width = span / steps
    inner = sum((4 if k % 2 else 2) * slope(-span / 2 + k * width) for k in range(1, steps))
    arc = width / 3 * (slope(-span / 2) + slope(span / 2) + inner)
    assert sag == pytest.approx(12.99, abs=0.001)
    assert Drive.from_span(600, 1, slack_kind="sag").excess(sag) == pytest.approx(arc - span, rel=0.001)
    up = Drive.from_span(600, 1, slack_kind="rest_to_up")
    assert up.excess(0.9330127 * 30) == pytest.approx(Drive.from_span(600, 1).excess(30))


@pytest.mark.parametrize(("off", "factor"), [(25, 0.9970), (50, 0.9880), (100, 0.9510)])
def test_off_centre(off: int, factor: float) -> None:
    # The largest height of a two-legged string of fixed length lies on an ellipse; span 646.94 mm.
    assert off_centre_factor(off, DRIVE.span_mm) == pytest.approx(factor, abs=6e-5)


@pytest.mark.parametrize(
    ("pitch", "pitches", "share", "length"),
    [
        ("15.875", 20, "0", "317.500"),
        ("15.875", 20, "0.015", "322.2625"),
        ("12.7", 20, "0.02", "259.080"),
        ("15.875", 19, "0.02", "307.6575"),
        ("15.875", 16, "0.03", "261.620"),
    ],
)
def test_wear_is_exact(pitch: str, pitches: int, share: str, length: str) -> None:
    assert elongation(Decimal(length), pitches, Decimal(pitch)) == Fraction(share)
    assert worn_length(Decimal(share), pitches, Decimal(pitch)) == Fraction(length)


def test_pins_counted_as_pitches_look_worn() -> None:
    # Nineteen pins span eighteen pitches, 285.75 mm: told as nineteen it is far too short.
    assert elongation(Decimal("285.75"), 18, PITCH) == 0
    assert elongation(Decimal("285.75"), 19, PITCH) < Fraction(-5, 100)


def test_life_left_stops_at_both_ends() -> None:
    limit = Fraction(2, 100)
    assert life_left(Fraction(1, 100), limit) == Fraction(1, 2)
    assert life_left(Fraction(3, 100), limit) == 0
    assert life_left(Fraction(-1, 1000), limit) == 1


def test_the_advance_that_readings_show() -> None:
    moves = [
        Move(DRIVE.movement(before, DRIVE.slack_after(before, moved) or 0), flats)
        for before, moved, flats in ((50, 0.4, 2), (45, 0.2, 1), (30, -0.6, -3))
    ]
    found = fit_advance(moves)
    assert found is not None
    assert found.per_flat_mm == pytest.approx(0.2)
    assert found.moves == 3
    assert fit_advance([Move(0.3, 0)]) is None


def test_a_fit_knows_what_it_is_worth_by_simulation() -> None:
    # Monte Carlo over the readings themselves; each is used once, also where two moves share one.
    rng, flats, us = Random(7), (2.0, -1.0, 3.0), (0.05, 0.04, 0.06, 0.05)
    found = []
    for _ in range(4000):
        errors = [rng.gauss(0, u) for u in us]
        moves = [Move(0.2 * flat + errors[k + 1] - errors[k], flat) for k, flat in enumerate(flats)]
        fit = fit_advance(moves)
        assert fit is not None
        found.append(fit.per_flat_mm)
    fit = fit_advance(Move(0, flat, us[k], us[k + 1], joined=k > 0) for k, flat in enumerate(flats))
    assert fit is not None
    assert fit.u_mm == pytest.approx(stdev(found), rel=0.05)
    assert fmean(found) == pytest.approx(0.2, abs=0.002)


def test_a_fit_tells_only_when_enough_was_turned() -> None:
    nominal = Fraction(1, 4)
    assert Fit(0.25, 0.06, 1).tells(nominal)
    assert not Fit(0.25, 0.07, 1).tells(nominal)
    assert not Fit(0.34, 0.05, 1).differs(nominal)
    assert Fit(0.36, 0.05, 1).differs(nominal)


@given(st.floats(5, 80), st.sampled_from(["total", "rest_to_up", "sag"]), st.floats(0, 100))
def test_what_a_slack_is_worth_as_movement(slack: float, kind: str, off: float) -> None:
    drive = Drive.from_span(600, 1, slack_kind=kind, off_centre_mm=off)  # type: ignore[arg-type]
    by_steps = drive.movement(slack + 0.001, slack - 0.001) / 0.002 * 0.8
    assert drive.movement_u(slack, 0.8) == pytest.approx(by_steps, rel=1e-4)


RUN = "the chain run must be longer than 0 mm"
ADJUSTER = "the adjuster must move the axle: give a thread pitch above 0 mm and at least one flat"
WITHIN = "the measuring point must lie within the chain run: give its distance from the middle"


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (
            lambda: Drive.from_teeth(17, 42, PITCH, 140, 1),
            "a centre distance of 140 mm lets sprockets of 17 and 42 teeth touch: it must be more than 149.4 mm",
        ),
        (lambda: Drive.from_span(0, 1), f"{RUN} (got 0.0 mm): measure it again"),
        (lambda: Drive(600, 0, Fraction(1)), f"{RUN} (got 600 mm): measure it again"),
        (lambda: Drive(600, 1.01, Fraction(1)), f"{RUN} (got 600 mm): measure it again"),
        (lambda: Drive.from_span(600, 0), ADJUSTER),
        (lambda: Drive.from_span(600, 1, flats_per_turn=0), ADJUSTER),
        (lambda: Drive.from_span(600, 1, off_centre_mm=300), WITHIN),
        (lambda: Drive.from_span(600, 1, off_centre_mm=-300), WITHIN),
        (lambda: DRIVE.slack(-0.1), "an excess of -0.1 mm is below zero: the chain would be taut"),
        (lambda: pitch_radius(4, PITCH), "a chain sprocket has at least 5 teeth, not 4: count them again"),
        (lambda: elongation(127, 0, PITCH), "wear is measured over at least one pitch, not 0"),
        (lambda: life_left(0, 0), "the wear limit must be above zero"),
    ],
)
def test_bad_input_is_one_clear_sentence(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)) as refused:
        call()
    assert str(refused.value) == said


def test_sprockets_that_just_touch_are_refused() -> None:
    with pytest.raises(ValueError, match="touch"):
        Drive.from_teeth(17, 42, PITCH, pitch_radius(17, PITCH) + pitch_radius(42, PITCH), 1)


def test_the_smallest_that_can_be_is_taken() -> None:
    assert pitch_radius(5, 1) == pytest.approx(1 / (2 * math.sin(math.pi / 5)))
    assert elongation(Decimal("12.7"), 1, Decimal("12.7")) == 0
    assert Drive.from_span(600, Decimal("1.5"), flats_per_turn=1).per_flat_mm == Fraction(3, 2)
    assert life_left(0, Fraction(1, 200)) == 1
    assert DRIVE.slack(0) == 0


def test_a_drive_from_teeth_keeps_what_it_is_told() -> None:
    told = Drive.from_teeth(42, 17, PITCH, 650, 1, flats_per_turn=4, slack_kind="sag", off_centre_mm=Decimal("12.5"))
    assert (told.flats_per_turn, told.slack_kind, told.off_centre_mm) == (4, "sag", 12.5)
    assert (told.span_mm, told.cos_beta) == (DRIVE.span_mm, DRIVE.cos_beta), "which sprocket is the larger is the same"
    plain = Drive.from_teeth(17, 42, PITCH, 650, 1)
    assert (plain.flats_per_turn, plain.slack_kind, plain.off_centre_mm) == (6, "total", 0.0)
    assert Drive.from_span(600, 1) == Drive(600.0, 1.0, Fraction(1), 6, "total", 0.0)


def test_the_limits_of_what_a_fit_tells_and_differs_by() -> None:
    assert Fit(0.25, 0.0625, 1).tells(Fraction(1, 4)), "twice its uncertainty is just half a flat"
    assert not Fit(0.25, 0.0, 1).tells(Fraction(1, 4)), "nothing is known of what it is worth"
    assert not Fit(0.5, 0.125, 1).differs(Fraction(1, 4)), "just twice its uncertainty away"
    assert not Fit(0.0, 0.125, 1).differs(Fraction(1, 4))


@pytest.mark.parametrize("off", [0, 60, 150])
def test_a_hanging_run_seen_off_centre_is_a_parabola(off: int) -> None:
    """y = f (1 - (2x/L)^2), the parabola through both ends with sag f: elementary geometry, no source."""
    middle = Drive.from_span(600, 1, slack_kind="sag")
    aside = Drive.from_span(600, 1, slack_kind="sag", off_centre_mm=off)
    assert aside.slack(2.0) / middle.slack(2.0) == pytest.approx(1 - (2 * off / 600) ** 2)
    both = Drive.from_span(600, 1, slack_kind="rest_to_up", off_centre_mm=off)
    taut = Drive.from_span(600, 1, slack_kind="total", off_centre_mm=off)
    assert both.slack(2.0) == pytest.approx(taut.slack(2.0) / 2 + aside.slack(2.0))
