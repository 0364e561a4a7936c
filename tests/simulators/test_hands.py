"""Hands: which way they turn, what they feel, and what an adapter gives a fastener."""

from random import Random

import pytest

from logger.sheets.sheet import AdapterTable
from logger.units import parse_quantity
from simulators.hands import amount, feel_for_tightest, gain, turn_side
from simulators.machine import Machine

from .anymachine import EXACT, loosened


def loose() -> Machine:
    return loosened(Machine(EXACT, Random(1)))


@pytest.mark.parametrize("flats", [2.0, -2.0, 0.5])
def test_a_side_ends_where_it_was_turned_to_either_way(flats: float) -> None:
    """One flat of six on a thread of 1 mm moves that side by a sixth of it."""
    machine = loose()
    machine.seat()
    before = machine.apart_mm
    turn_side(machine, "left", flats)
    machine.seat()
    assert machine.apart_mm - before == pytest.approx(flats / 6, abs=1e-9)


def test_the_place_felt_for_is_within_the_step_of_the_tightest() -> None:
    machine = loose()
    felt = feel_for_tightest(machine, Random(3))
    assert machine.true_slack(felt) == pytest.approx(machine.true_slack(machine.tightest_angle()), abs=1.5)


def _adapter(angle: int) -> AdapterTable:
    return AdapterTable.model_validate({"wrench": "400 mm", "extension": "40 mm", "angle": angle})


@pytest.mark.parametrize(("angle", "more"), [(0, 1.1), (90, 1.0), (180, 0.9)])
def test_a_fastener_gets_more_by_the_length_of_an_adapter(angle: int, more: float) -> None:
    """(L + E cos a) / L, the common formula for a torque adapter; common practice, no source."""
    assert gain(_adapter(angle)) == pytest.approx(more)


def test_without_an_adapter_a_fastener_gets_what_the_wrench_shows() -> None:
    assert gain(None) == 1.0
    assert amount(parse_quantity("1 in"), "mm") == pytest.approx(25.4)
