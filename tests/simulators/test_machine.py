"""The simulated machine behaves as machines do, and its physics are not those of the advice."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from random import Random
from statistics import fmean, stdev

import pytest

from logger.advice.advice import Advice, AdviceInput, advise
from logger.drive import Drive
from simulators.chain import Sprockets
from simulators.machine import (
    Machine,
    MachineSpec,
    Shift,
    Side,
    courier_spec,
)

from .anymachine import EXACT, loosened, random_spec


def loose(spec: MachineSpec = EXACT, seed: int = 1) -> Machine:
    return loosened(Machine(spec, Random(seed)))


def tightest(machine: Machine) -> float:
    return machine.true_slack(machine.tightest_angle())


def obey(machine: Machine, advice: Advice) -> None:
    turns: dict[Side, float] = {"left": float(advice.left), "right": float(advice.right)}
    for side, flats in turns.items():
        machine.turn(side, flats - (flats < 0))
    machine.seat()
    for side, flats in turns.items():
        machine.turn(side, flats < 0)
    machine.seat()
    machine.snug()


def advice_for(machine: Machine) -> AdviceInput:
    spec, angle = machine.spec, machine.tightest_angle()
    drive = Drive.from_teeth(
        spec.front, spec.rear, Decimal(str(spec.pitch_mm)), machine.centre_mm, Decimal(str(spec.thread_mm))
    )
    places = {"tightest": angle, "opposite": angle + 180}
    return AdviceInput(
        drive=drive,
        slack_mm={place: Decimal(f"{machine.true_slack(at):.2f}") for place, at in places.items()},
        governing="tightest",
        aim_mm=Fraction(32),
        window_mm=(Fraction(25), Fraction(40)),
        difference_mm=Decimal(f"{machine.apart_mm:.2f}"),
        agree_within_mm=Fraction(1, 2),
    )


# The chain itself, against figures of tangents with moving contact points, 112 pitches of 15.875 on 17/42.


@pytest.mark.parametrize(
    ("slack", "below_taut", "excess", "down"),
    [
        (20, 0.1550, 0.30855, 10.012),
        (30, 0.3488, 0.69425, 15.027),
        (40, 0.6200, 1.23425, 20.047),
        (60, 1.3952, 2.77719, 30.107),
        (80, 2.4805, 4.93758, 40.190),
    ],
)
def test_reach_of_a_known_excess(slack: float, below_taut: float, excess: float, down: float) -> None:
    outward, inward = Sprockets(17, 42, 15.875).reach(651.251 - below_taut, excess)
    assert outward + inward == pytest.approx(slack, abs=0.002)
    assert outward == pytest.approx(down, abs=0.002)


def test_a_straight_chain_lies_where_rigid_links_put_it() -> None:
    assert Sprockets(17, 42, 15.875).centre_for_loop(112 * 15.875) == pytest.approx(651.781, abs=0.002)


# As found, and what turning does.


def test_the_courier_comes_in_as_its_spec_says() -> None:
    machine = Machine(courier_spec(), Random(1))
    assert tightest(machine) == pytest.approx(47.0, abs=0.1)
    assert machine.apart_mm == pytest.approx(-0.9)
    assert 530 <= machine.spec.sprockets.span(machine.centre_mm) <= 560
    assert machine.spec.links % 2 == 0


def test_slack_falls_flat_by_flat_until_taut() -> None:
    machine = loose()
    found = [tightest(machine)]
    for _ in range(7):
        assert machine.turn("left", 1) == machine.turn("right", 1) == 1
        found.append(tightest(machine))
    assert found == sorted(found, reverse=True)
    assert found[-1] == 0


@pytest.mark.parametrize("seed", range(12))
def test_small_moves_agree_with_the_advice_geometry(seed: int) -> None:
    spec = replace(random_spec(Random(seed)), backlash_turns=0, slack_mm=45.0)
    machine = loose(spec)
    drive = advice_for(machine).drive
    before = tightest(machine)
    machine.turn("left", 1)
    machine.turn("right", 2)
    predicted = drive.slack_after(before, Fraction(3, 2) * drive.per_flat_mm)
    assert predicted == pytest.approx(tightest(machine), rel=0.01)


def test_backing_off_leaves_the_axle_until_it_is_seated() -> None:
    machine = loose()
    before = machine.axle("left")
    machine.turn("left", -2)
    assert machine.axle("left") == before
    assert machine.seat()
    assert machine.axle("left") == pytest.approx(before - 2 / 6)


def test_backlash_is_taken_up_before_anything_moves() -> None:
    machine = loose(replace(EXACT, backlash_turns=0.1))
    before = machine.axle("right")
    machine.turn("right", -0.5)
    machine.seat()
    assert machine.axle("right") == before, "half a flat is within the play"
    machine.turn("right", -0.5)
    machine.seat()
    assert machine.axle("right") == pytest.approx(before - (1 / 6 - 0.1))
    machine.turn("right", 0.5)
    assert machine.axle("right") == pytest.approx(before - (1 / 6 - 0.1)), "coming back, the play again"
    machine.turn("right", 1)
    assert machine.axle("right") == pytest.approx(before + 0.5 / 6)


def test_a_tight_axle_nut_or_a_lock_nut_stops_an_adjuster() -> None:
    machine = Machine(EXACT, Random(1))
    before = machine.axle("left")
    assert machine.turn("left", 3) == 0
    machine.loosen("lock_left")
    assert machine.turn("left", 3) == pytest.approx(0.15)
    assert machine.axle("left") - before < 0.03
    assert not machine.seat()
    machine.loosen("axle")
    assert machine.turn("left", 3) == 3
    machine.snug()
    assert machine.turn("left", 1) == 1, "a snug nut lets the axle move"


def test_one_side_moves_the_sprocket_by_half_and_turns_the_axle() -> None:
    machine = loose()
    centre, apart = machine.centre_mm, machine.apart_mm
    machine.turn("left", 6)
    assert machine.centre_mm - centre == pytest.approx(0.5)
    assert machine.apart_mm - apart == pytest.approx(1.0)


# The nut.


def shifts(seat: bool) -> list[float]:
    found = []
    for seed in range(200):
        machine = loose(courier_spec(), seed)
        machine.turn("left", 2)
        machine.turn("right", 2)
        if seat:
            machine.seat()
        before = machine.axle("left")
        machine.tighten("axle", 60)
        found.append(machine.axle("left") - before)
    return found


def test_an_unseated_axle_shifts_more_and_backward() -> None:
    seated, unseated = shifts(seat=True), shifts(seat=False)
    assert abs(fmean(seated)) < 0.03
    assert fmean(unseated) > 0.1
    assert stdev(unseated) > 2 * stdev(seated)


def test_an_axle_that_stayed_back_falls_somewhere_into_its_gap() -> None:
    machine = loose()
    stayed = machine.axle("left")
    machine.turn("left", -4)
    machine.tighten("axle", 60)
    assert stayed - 4 / 6 <= machine.axle("left") < stayed


def test_it_shifts_once_and_seating_again_undoes_it() -> None:
    machine = loose(replace(EXACT, seated_shift=Shift(mean_mm=0.05, sd_mm=0)))
    before = machine.axle("right")
    for torque in (10, 40, 60, 60):
        machine.tighten("axle", torque)
    assert machine.axle("right") == pytest.approx(before + 0.05)
    machine.loosen("axle")
    assert machine.axle("right") == pytest.approx(before + 0.05), "loosening alone moves nothing"
    machine.seat()
    assert machine.axle("right") == before
    assert machine.torque["axle"] == 0


def test_an_axle_dragged_forward_stops_at_its_adjuster() -> None:
    machine = loose(replace(EXACT, seated_shift=Shift(mean_mm=-0.5, sd_mm=0)))
    before = machine.axle("left")
    machine.tighten("axle", 60)
    assert machine.axle("left") == pytest.approx(before - machine.spec.yields_mm)


# The wheel.


@pytest.mark.parametrize("seed", range(6))
def test_the_tightest_place_is_the_least_slack_there_is(seed: int) -> None:
    machine = Machine(random_spec(Random(seed)), Random(0))
    least = tightest(machine)
    turn = int(machine.spec.full_turn_deg)
    assert least <= min(machine.true_slack(angle) for angle in range(0, turn, 7)) + 1e-6
    assert machine.true_slack(turn + 11.5) == pytest.approx(machine.true_slack(11.5))


def test_run_out_alone_makes_slack_differ() -> None:
    even = Machine(replace(EXACT, rear_eccentricity_mm=0, front_eccentricity_mm=0), Random(0))
    assert even.true_slack(0) == pytest.approx(even.true_slack(180))
    uneven = Machine(EXACT, Random(0))
    angle = uneven.tightest_angle()
    assert uneven.true_slack(angle + 180) > uneven.true_slack(angle) + 1


def test_a_front_sprocket_that_runs_out_comes_round_with_its_own_turn() -> None:
    machine = Machine(replace(EXACT, rear_eccentricity_mm=0, front_eccentricity_mm=0.05), Random(0))
    turn, tight = 360 * 15 / 42, machine.tightest_angle()
    assert machine.true_slack(tight + turn) == pytest.approx(machine.true_slack(tight), abs=0.001)
    assert machine.true_slack(tight + turn / 2) > machine.true_slack(tight) + 1


# What tools see.


def test_two_positions_of_the_run_differ_by_its_slack() -> None:
    machine = Machine(EXACT, Random(0))
    machine.rotate_to(77)
    difference = machine.read_run("taut down") - machine.read_run("taut up")
    assert float(difference) == pytest.approx(machine.true_slack(77), abs=0.002)
    assert machine.read_run("taut down", datum_mm=300) > 300 > machine.read_run("taut up", datum_mm=300)


def test_hands_scatter_a_slack_as_much_as_the_spec_says() -> None:
    machine = Machine(replace(EXACT, slack_sd_mm=0.8), Random(5))
    found = [float(machine.read_run("taut down") - machine.read_run("taut up")) for _ in range(600)]
    assert stdev(found) == pytest.approx(0.8, rel=0.1)


@pytest.mark.parametrize(("grows", "sign"), [("rearward", 1), ("forward", -1)])
def test_side_readings_follow_the_axle_in_the_sense_of_the_gauge(grows: str, sign: int) -> None:
    machine = loose(replace(EXACT, grows=grows, side_offset_mm=0.3))  # type: ignore[arg-type]
    difference = machine.read_side("left") - machine.read_side("right")
    assert float(difference) == pytest.approx(sign * -0.9 + 0.3, abs=0.0021)
    before = machine.read_side("right")
    machine.turn("right", 3)
    assert float(machine.read_side("right") - before) == pytest.approx(sign * 0.5, abs=0.0011)


def test_wear_shows_over_many_pitches() -> None:
    length = Machine(replace(EXACT, elongation=0.01), Random(0)).chain_length_over(8)
    assert float(length) == pytest.approx(8 * 12.7 * 1.01, abs=0.1)


@pytest.mark.parametrize("seed", range(10))
def test_a_pull_goes_from_rest_to_its_peak_and_back(seed: int) -> None:
    machine, peak = Machine(EXACT, Random(0)), Decimal("61.35")
    curve = machine.pull_curve("axle", peak, Random(seed))
    assert max(curve) == peak
    assert curve.count(peak) == 1
    assert all(abs(sample) < Decimal("0.2") for sample in (*curve[:8], *curve[-20:]))
    assert len(curve) > 60
    assert curve == machine.pull_curve("axle", peak, Random(seed))
    assert machine.torque["axle"] == EXACT.nut_nm, "a curve tightens nothing"


# All of it.


def test_the_same_seed_is_the_same_machine() -> None:
    def story(seed: int) -> list[object]:
        machine = loose(random_spec(Random(seed)), seed)
        machine.turn("left", 2)
        machine.tighten("axle", 70)
        return [machine.read_run("taut up", 12), machine.read_side("left"), machine.axle("right"), machine.spec]

    assert story(3) == story(3)
    assert story(3) != story(4)


@pytest.mark.parametrize("seed", [None, *range(25)])
def test_every_courier_is_wrong_and_comes_right_with_whole_flats(seed: int | None) -> None:
    spec = courier_spec(None if seed is None else Random(seed))
    machine = loose(spec, seed or 0)
    assert tightest(machine) > 40
    assert abs(machine.apart_mm) > 0.5
    advice = advise(advice_for(machine))
    assert advice.fits
    assert advice.left.denominator == advice.right.denominator == 1
    obey(machine, advice)
    angle = machine.tightest_angle()
    assert 25 <= machine.true_slack(angle) <= machine.true_slack(angle + 180) <= 40
    assert abs(machine.apart_mm) <= 0.5
