"""Chain-drive geometry against published chain lengths and arithmetic by hand."""

import math
import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.drive import Drive, elongation, life_left, off_centre_factor, pitch_radius, worn_length
from tests.logger.drives import DRIVE, PITCH
from tests.logger.handbook import centre_from_links, chain_pitches

# Published chain lengths. Textbook chapter 30 example 30-3; a paper on chain drive design (114.8 and 35.6).


def test_published_chain_length_in_mm() -> None:
    assert chain_pitches(21, 42, 9.52, 50 * 9.52) * 9.52 == pytest.approx(1254.01, abs=0.005)


def test_the_drive_of_this_page_by_hand() -> None:
    # 17/42 at 650 mm: 111.776 416 pitches; 112 pitches lie straight at 651.783 09 mm (arithmetic by hand).
    assert chain_pitches(17, 42, 15.875, 650) == pytest.approx(111.776416, abs=1e-6)
    assert centre_from_links(112, 17, 42, 15.875) == pytest.approx(651.78309, abs=1e-5)


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


@given(st.floats(5, 80), st.sampled_from(["total", "rest_to_up", "sag"]), st.floats(0, 100))
def test_what_a_slack_is_worth_as_movement(slack: float, kind: str, off: float) -> None:
    drive = Drive.from_span(600, 1, slack_kind=kind, off_centre_mm=off)  # type: ignore[arg-type]
    by_steps = drive.movement(slack + 0.001, slack - 0.001) / 0.002 * 0.8
    assert drive.movement_u(slack, 0.8) == pytest.approx(by_steps, rel=1e-4)


def test_what_a_slack_is_worth_as_movement_grows_with_the_lean_of_the_run() -> None:
    """A run that leans by 60 degrees takes twice the movement of one in line: half of 2 cos(beta), by hand."""
    straight, leaning = Drive(600, 1.0, Fraction(1)), Drive(600, 0.5, Fraction(1))
    assert leaning.movement_u(30, 0.8) == pytest.approx(2 * straight.movement_u(30, 0.8))
    assert leaning.movement(31, 30) == pytest.approx(2 * straight.movement(31, 30))


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
    assert Drive(0.5, 1.0, Fraction(1)).span_mm == 0.5, "a span is longer than nothing"
    assert Drive.from_span(600, 1, off_centre_mm=299.9).off_centre_mm == 299.9
    assert DRIVE.slack(0) == 0


def test_a_drive_from_teeth_keeps_what_it_is_told() -> None:
    told = Drive.from_teeth(42, 17, PITCH, 650, 1, flats_per_turn=4, slack_kind="sag", off_centre_mm=Decimal("12.5"))
    assert (told.flats_per_turn, told.slack_kind, told.off_centre_mm) == (4, "sag", 12.5)
    assert (told.span_mm, told.cos_beta) == (DRIVE.span_mm, DRIVE.cos_beta), "which sprocket is the larger is the same"
    plain = Drive.from_teeth(17, 42, PITCH, 650, 1)
    assert (plain.flats_per_turn, plain.slack_kind, plain.off_centre_mm) == (6, "total", 0.0)
    assert Drive.from_span(600, 1) == Drive(600.0, 1.0, Fraction(1), 6, "total", 0.0)


@pytest.mark.parametrize("off", [0, 60, 150])
def test_a_hanging_run_seen_off_centre_is_a_parabola(off: int) -> None:
    """y = f (1 - (2x/L)^2), the parabola through both ends with sag f: elementary geometry, no source."""
    middle = Drive.from_span(600, 1, slack_kind="sag")
    aside = Drive.from_span(600, 1, slack_kind="sag", off_centre_mm=off)
    assert aside.slack(2.0) / middle.slack(2.0) == pytest.approx(1 - (2 * off / 600) ** 2)
    string = Drive.from_span(600, 1, off_centre_mm=off).slack(2.0) / Drive.from_span(600, 1).slack(2.0)
    assert string == pytest.approx(math.sqrt(1 - (2 * off / 600) ** 2)), "pulled taut it is an ellipse"
    both = Drive.from_span(600, 1, slack_kind="rest_to_up", off_centre_mm=off)
    taut = Drive.from_span(600, 1, slack_kind="total", off_centre_mm=off)
    assert both.slack(2.0) == pytest.approx(taut.slack(2.0) / 2 + aside.slack(2.0))
