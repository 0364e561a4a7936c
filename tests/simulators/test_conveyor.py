"""The simulated conveyor: a chain that hangs as chains do, bearings on four bolts, screws that push."""

import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from random import Random
from statistics import fmean, stdev

import pytest

from logger.advice.advice import Advice, AdviceInput, advise
from logger.drive import Drive
from simulators.chain import Sprockets
from simulators.conveyor import CONVEYOR, Conveyor, conveyor_spec
from simulators.machine import SIDES, Shift
from simulators.machine_spec import MachineSpec

from .anymachine import STILL, loosened

EXACT = replace(CONVEYOR, slack_sd_mm=0, side_sd_mm=0, backlash_turns=0, seated_shift=STILL)
BOLTS = ("left_front", "left_rear", "right_front", "right_rear")


def loose(spec: MachineSpec = EXACT, seed: int = 1) -> Conveyor:
    return loosened(Conveyor(spec, Random(seed)))


def tightest(conveyor: Conveyor) -> float:
    return conveyor.true_slack(conveyor.tightest_angle())


# --- the hanging chain, against the outside ---------------------------------------------------------------------------


def links_hang(span: float, pitch: float, links: int) -> float:
    """Sag of rigid links of one weight between two pins: the slope grows by one weight a link over a common pull.

    Statics of a hanging linkage, as in any textbook (from memory): tan(angle of link i) = (i - (n - 1) / 2) w / H.
    """
    low, high = 1e-6, 1.0
    for _ in range(80):
        ratio = (low + high) / 2
        angles = [math.atan((link - (links - 1) / 2) * ratio) for link in range(links)]
        reach = pitch * sum(math.cos(angle) for angle in angles)
        low, high = (ratio, high) if reach > span else (low, ratio)
    return -pitch * sum(math.sin(angle) for angle in angles[: links // 2])


@pytest.mark.parametrize("excess", [0.3, 0.7, 1.3, 2.9, 6.7])
def test_a_chain_hangs_as_rigid_links_do(excess: float) -> None:
    links, tiny = 1200, Sprockets(6, 6, 0.01)
    pitch = (1200 + excess) / links
    assert tiny.sag(1200, excess) == pytest.approx(links_hang(1200, pitch, links), rel=1e-4)


@pytest.mark.parametrize(("sag", "excess"), [(18, 0.72), (24, 1.28), (36, 2.88), (54, 6.48)])
def test_a_shallow_sag_is_that_of_a_parabola(sag: float, excess: float) -> None:
    """Length of a shallow parabola: L + 8 f^2 / (3 L), the usual formula of cable sag (handbooks, from memory)."""
    assert excess == pytest.approx(8 * sag**2 / (3 * 1200))
    assert Sprockets(19, 19, 19.05).sag(1200, excess) == pytest.approx(sag, rel=0.01)


def test_a_chain_that_leaves_its_sprockets_sooner_hangs_a_little_other() -> None:
    """Contact points move outward by R sin(slope) and up by R (1 - cos(slope)): the two nearly undo each other."""
    wide, tiny = Sprockets(19, 19, 19.05), Sprockets(6, 6, 0.01)
    assert wide.sag(1200, 1.28) != tiny.sag(1200, 1.28)
    assert wide.sag(1200, 1.28) == pytest.approx(tiny.sag(1200, 1.28), abs=0.15)


def test_a_taut_chain_does_not_hang() -> None:
    assert Sprockets(19, 19, 19.05).sag(1200, 0) == 0
    assert Sprockets(19, 19, 19.05).sag(1200, -1) == 0


# --- the take-up ------------------------------------------------------------------------------------------------------


def test_it_comes_in_as_its_spec_says() -> None:
    conveyor = Conveyor(CONVEYOR, Random(1))
    assert tightest(conveyor) == pytest.approx(47.0, abs=0.1)
    assert conveyor.apart_mm == pytest.approx(1.1)
    assert 1190 < conveyor.centre_mm < 1210
    assert conveyor.torque == dict.fromkeys(BOLTS, 72.0)


def test_tightening_takes_the_sag_out_until_taut() -> None:
    conveyor = loose()
    found = [tightest(conveyor)]
    while found[-1] > 0:
        assert conveyor.turn("left", 1) == conveyor.turn("right", 1) == 1
        found.append(tightest(conveyor))
        assert found[-1] < found[-2]
    assert len(found) > 6


@pytest.mark.parametrize("flats", [2, 4, 6])
def test_small_moves_agree_with_the_advice_geometry(flats: int) -> None:
    conveyor = loose()
    drive = Drive.from_teeth(19, 19, Decimal("19.05"), 1200, Decimal("1.5"), slack_kind="sag")
    before = tightest(conveyor)
    for side in SIDES:
        conveyor.turn(side, flats)
    assert drive.slack_after(before, flats * drive.per_flat_mm) == pytest.approx(tightest(conveyor), rel=0.02)


def test_each_bearing_is_held_by_its_own_bolts() -> None:
    conveyor = Conveyor(EXACT, Random(1))
    for bolt in ("left_front", "left_rear"):
        assert conveyor.turn("left", 2) == pytest.approx(0.1)
        conveyor.loosen(bolt)
    assert conveyor.turn("left", 2) == 2
    assert conveyor.turn("right", 2) == pytest.approx(0.1)
    assert not conveyor.seat(), "the right bearing is still held"
    conveyor.loosen("right_front")
    assert not conveyor.seat()
    conveyor.loosen("right_rear")
    assert conveyor.seat()
    conveyor.snug()
    assert conveyor.torque == dict.fromkeys(BOLTS, EXACT.snug_nm)
    assert conveyor.turn("right", 1) == 1, "snug bolts let the bearing move"


def test_a_bearing_shifts_once_with_its_first_tight_bolt() -> None:
    conveyor = loose(replace(EXACT, seated_shift=Shift(mean_mm=0.05, sd_mm=0)))
    left, right = conveyor.axle("left"), conveyor.axle("right")
    conveyor.tighten("left_front", 35)
    assert conveyor.axle("left") == pytest.approx(left + 0.05)
    assert conveyor.axle("right") == right
    for bolt, torque in (("left_rear", 35), ("left_front", 72), ("left_rear", 72)):
        conveyor.tighten(bolt, torque)
    assert conveyor.axle("left") == pytest.approx(left + 0.05)
    assert conveyor.torque["left_rear"] == 72


# --- what tools see ---------------------------------------------------------------------------------------------------


def test_a_sag_is_read_with_the_scatter_of_the_spec() -> None:
    conveyor = Conveyor(replace(EXACT, slack_sd_mm=0.8), Random(5))
    conveyor.rotate_to(40)
    found = [float(conveyor.read_slack()) for _ in range(600)]
    assert fmean(found) == pytest.approx(conveyor.true_slack(40), abs=0.15)
    assert stdev(found) == pytest.approx(0.8, rel=0.1)


def test_wear_shows_over_six_pitches() -> None:
    length = Conveyor(replace(EXACT, elongation=0.01), Random(0)).chain_length_over(6)
    assert float(length) == pytest.approx(6 * 19.05 * 1.01, abs=0.1)


# --- all of it --------------------------------------------------------------------------------------------------------


def advice_for(conveyor: Conveyor) -> Advice:
    angle = conveyor.tightest_angle()
    places = {"tightest": angle, "opposite": angle + 180}
    return advise(
        AdviceInput(
            drive=Drive.from_teeth(19, 19, Decimal("19.05"), 1200, Decimal("1.5"), slack_kind="sag"),
            slack_mm={place: Decimal(f"{conveyor.true_slack(at):.2f}") for place, at in places.items()},
            governing="tightest",
            aim_mm=Fraction(24),
            window_mm=(Fraction(18), Fraction(36)),
            difference_mm=Decimal(f"{conveyor.apart_mm:.2f}"),
            agree_within_mm=Fraction(3, 5),
        )
    )


@pytest.mark.parametrize("seed", [None, *range(15)])
def test_every_conveyor_is_wrong_and_comes_right_with_whole_flats(seed: int | None) -> None:
    conveyor = loose(conveyor_spec(None if seed is None else Random(seed)), seed or 0)
    assert tightest(conveyor) > 36
    assert abs(conveyor.apart_mm) > 0.6
    advice = advice_for(conveyor)
    assert advice.fits
    assert advice.left.denominator == advice.right.denominator == 1
    for side, flats in (("left", advice.left), ("right", advice.right)):
        conveyor.turn("left" if side == "left" else "right", float(flats) - (flats < 0))
    conveyor.seat()
    for side, flats in (("left", advice.left), ("right", advice.right)):
        conveyor.turn("left" if side == "left" else "right", float(flats < 0))
    conveyor.seat()
    angle = conveyor.tightest_angle()
    assert 18 <= conveyor.true_slack(angle) <= conveyor.true_slack(angle + 180) <= 36
    assert abs(conveyor.apart_mm) <= 0.6


def test_the_same_seed_is_the_same_conveyor() -> None:
    def story(seed: int) -> list[object]:
        conveyor = loose(conveyor_spec(Random(seed)), seed)
        conveyor.turn("left", 2)
        conveyor.tighten("left_front", 70)
        return [conveyor.read_slack(), conveyor.read_side("left"), conveyor.axle("left"), conveyor.spec]

    assert story(3) == story(3)
    assert story(3) != story(4)
