"""After three rounds: what a job's own readings show of why it is not converging, and its words."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from logger.advice.advice import Nut
from logger.advice.ownpairs import Fitted, Shift
from logger.advice.plan import Plan
from logger.advice.whynot import UNKNOWN, why_not
from logger.advice.words import fitted_line, shift_lines, why_not_line
from logger.drive import Fit
from tests.logger.walk import Walk, answer, shipped


def _job() -> Walk:
    sheet = shipped()
    steps = tuple(
        step.model_copy(update={"recheck": "all"}) if step.kind == "measure" and step.id == "slack" else step
        for step in sheet.step
    )
    walk = Walk(sheet.model_copy(update={"step": steps}))
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    return walk


def _read(walk: Walk, tightest: str, opposite: str, apart: str) -> Walk:
    up = [f"{100 + Decimal(text)} mm" for text in (tightest, opposite)]
    return walk.read("100.0 mm", up[0], "100.0 mm", up[1], f"{40 + Decimal(apart)} mm", "40.0 mm")


def _rounds(*read: tuple[str, str, str], turns: tuple[str, str] = ("1", "1")) -> Plan:
    walk = _read(_job(), *read[0])
    for each in read[1:]:
        if walk.key.startswith("loosen"):
            walk.confirm()
        _read(walk.turned(*turns).confirm(), *each)
    assert walk.plan is not None, walk.key
    return walk.plan


def test_nothing_is_said_before_the_third_round() -> None:
    found = _rounds(("60.0", "61.0", "1.5"), ("56.9", "57.9", "1.5"), ("53.6", "54.6", "1.5"))
    assert (found.rounds, found.why_not) == (2, ())


# One flat on both sides of a 1.0 mm thread is 0.1667 mm of axle: 60.0, 56.9, 53.6, 50.1 (arithmetic by hand).
STEADY = (("60.0", "61.0", "1.5"), ("56.9", "57.9", "1.5"), ("53.6", "54.6", "1.5"), ("50.1", "51.1", "1.5"))


def test_where_the_readings_show_no_cause_that_is_said() -> None:
    found = _rounds(*STEADY)
    assert found.why_not == (UNKNOWN,)
    assert why_not_line(found.why_not, found.rounds).startswith("after 3 rounds: the readings of this job show no")


def test_another_thread_shows_from_the_pairs_and_is_used_nowhere() -> None:
    # A 1.5 mm thread: 0.25 mm of axle a flat pair, 60.0, 55.3, 50.1, 44.3.
    found = _rounds(("60.0", "61.0", "1.5"), ("55.3", "56.4", "1.5"), ("50.1", "51.3", "1.5"), ("44.3", "45.6", "1.5"))
    assert found.given is not None
    (slack,) = found.fitted
    assert (slack.what, slack.differs, slack.nominal_mm) == ("slack", True, Fraction(1, 6))
    assert slack.fit.per_flat_mm == pytest.approx(0.25, abs=0.01)
    assert found.given.drive.per_flat_mm == Fraction(1, 6)
    assert any("look at the thread" in why for why in found.why_not)
    line = fitted_line(slack)
    assert "nominal 0.167 mm" in line
    assert "another thread than the sheet says, or miscounted flats" in line


def test_a_negative_advance_is_no_thread_but_something_swapped() -> None:
    shown = Fitted("difference", Fit(-0.167, 0.01, 3), Fraction(1, 6))
    line = fitted_line(shown)
    assert "something is reversed or swapped" in line
    assert "another thread" not in line
    found = _rounds(*STEADY)
    assert found.given is not None
    assert found.advice is not None
    walk = _read(_job(), "60.0", "61.0", "1.5").confirm()
    for _ in range(3):
        walk.turned("1", "1").confirm()
    why = why_not(walk.job, found.given, found.advice, None, (shown,))
    assert "the flats move their side the other way round here: the sides, the gauge or the turns are swapped" in why
    assert not any("look at the thread" in each for each in why)


def test_the_sides_show_their_own_advance() -> None:
    turns = ("0", "2")
    sides = _rounds(
        ("60.0", "61.0", "3.0"),
        ("56.9", "57.9", "2.67"),
        ("53.6", "54.6", "2.33"),
        ("50.1", "51.1", "2.0"),
        turns=turns,
    )
    by = {each.what: each for each in sides.fitted}
    assert by["difference"].fit.per_flat_mm == pytest.approx(1 / 6, abs=0.002)
    assert not by["difference"].differs
    assert "by the left minus right" in fitted_line(by["difference"])
    assert "another thread" not in fitted_line(by["difference"])


def test_an_axle_that_comes_to_rest_anywhere_shows_as_seating() -> None:
    found = _rounds(("60.0", "61.0", "1.5"), ("60.0", "61.0", "1.9"), ("49.5", "50.6", "1.3"), ("51.0", "52.0", "1.9"))
    assert any("seat it against both adjusters" in why for why in found.why_not)


def test_a_tighter_spot_than_the_one_marked_is_named() -> None:
    found = _rounds(*STEADY[:3], ("50.1", "46.0", "1.5"))
    assert any("opposite has 4.1 mm less slack than tightest" in why for why in found.why_not)


def test_a_nut_that_pulls_the_axle_is_named_after_the_third_round() -> None:
    walk = _read(_job(), "60.0", "61.0", "0.0").confirm()
    for turns, read in (("1", "56.9"), ("1", "53.6"), ("5", "34.0")):
        _read(walk.turned(turns, turns).confirm(), read, read, "0.0")
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    found = _read(walk, "21.0", "22.0", "0.0").plan
    assert found is not None
    said = "tightening the nut pulls the axle: allow for it, or snug the nut harder before measuring"
    assert (found.rounds, found.why_not) == (3, (said,))


def test_the_words_of_a_shift() -> None:
    walk = _read(_job(), "45.0", "46.0", "0.0").confirm().turned("2", "2").confirm()
    _read(walk, "34.0", "35.0", "0.0")
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    _read(walk, "21.0", "22.0", "0.0")
    found = walk.plan
    assert found is not None
    did, offered = shift_lines(found.shift, found.advice, found.allowing)
    assert did.startswith("tightening the nut changed slack by -13.0 ± 2.3 mm and left minus right by +0.00 ± ")
    assert did.endswith("loosened and seated, expect that back")
    assert offered.startswith("allowing for the same again: left ")
    assert shift_lines(None, None, None) == ()


def test_a_shift_within_the_scatter_is_no_ground_to_allow_for_it() -> None:
    nut = Nut(movement_mm=0.02)
    shift = Shift(-1.0, 1.1, 0.1, 0.18, nut)
    assert not shift.tells
    assert shift_lines(shift, None, None) == (
        "tightening the nut changed slack by -1.0 ± 2.2 mm and left minus right by +0.10 ± 0.36 mm: "
        "no more than the readings scatter",
    )
    assert replace(shift, difference_mm=0.4).tells
