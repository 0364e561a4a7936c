"""Chain wear as the advice sees it, and its words."""

from fractions import Fraction

import pytest

from logger.advice.wear import Wear, limit_of, wear_of, worn_chain
from logger.advice.words import how_to_span, wear_line
from logger.sheets.sheet import MeasureStep
from tests.logger.walk import Walk, sheet_of

SHEET = """
format = 1
id = "wear-only"
title = "Chain wear"
revision = "1"
about = "Invented figures for tests."
cautions = ["Key out."]
[conditions]
still = "on the stand"
[drive]
span = "640 mm"
pitch = "15.875 mm"
slack = "wear"
thread = "1.0 mm"
adjuster = "pulls"
tighten = "clockwise"
chain_side = "left"
[[step]]
id = "wear"
kind = "measure"
title = "Chain wear"
tools = ["caliper"]
ask = "Pull it taut and measure."
condition = "still"
pitches = 8
window = ["126 mm", "129.54 mm"]
plausible = ["100 mm", "160 mm"]
"""


def _read(text: str) -> tuple[Walk, Wear]:
    walk = Walk(sheet_of(SHEET)).read(text)
    step = walk.sheet.by_id["wear"]
    assert isinstance(step, MeasureStep)
    found = wear_of(walk.job, step)
    assert found is not None
    return walk, found


def _step(sheet: str = SHEET) -> MeasureStep:
    step = sheet_of(sheet).by_id["wear"]
    assert isinstance(step, MeasureStep)
    return step


def test_elongation_and_what_is_left_are_exact() -> None:
    # 8 pitches of 15.875 mm are 127 mm; 2 % more is 129.54 mm (arithmetic by hand).
    _, found = _read("128.27 mm")
    assert (found.share, found.limit, found.left) == (Fraction(1, 100), Fraction(2, 100), Fraction(1, 2))
    assert (found.past, found.miscounted) == (False, False)
    assert wear_line(found) == "worn by 1.00 %, limit 2.00 %; 50 % of the wear limit is left"


def test_past_the_limit_it_is_replaced_with_both_sprockets() -> None:
    walk, found = _read("129.55 mm")
    assert found.past
    assert worn_chain(walk.job) == found
    line = wear_line(found)
    assert "not to be adjusted but replaced, together with both sprockets" in line
    assert "2.01 %, limit 2.00 %" in line


def test_an_overridden_wear_check_no_longer_stands_against_adjusting() -> None:
    walk, _ = _read("129.55 mm")
    assert worn_chain(walk.override("wear").job) is None


def test_at_the_limit_it_still_passes() -> None:
    walk, found = _read("129.54 mm")
    assert not found.past
    assert found.left == 0
    assert worn_chain(walk.job) is None


@pytest.mark.parametrize(("length", "counted"), [("111.2 mm", 7), ("142.9 mm", 9), ("5.626 in", 9)])
def test_one_pitch_more_or_less_is_named_as_the_fencepost_trap(length: str, counted: int) -> None:
    _, found = _read(length)
    assert (found.counted, found.miscounted) == (counted, True)
    line = wear_line(found)
    assert f"nearer to {counted} pitches than to 8" in line
    assert "8 pitches is pin 1 to pin 9" in line


def test_a_chain_as_new_shows_no_wear() -> None:
    assert wear_line(_read("126.95 mm")[1]) == "no wear to be seen over 8 pitches"


def test_how_to_span_says_pins_and_whether_a_caliper_takes_it() -> None:
    pitch = Fraction(15875, 1000)
    assert how_to_span(_step(), pitch) == (
        "8 pitches is pin 1 to pin 9: 127 mm new, worn out above 129.54 mm; it fits a 150 mm caliper"
    )
    longer = SHEET.replace("pitches = 8", "pitches = 20").replace('window = ["126 mm", "129.54 mm"]', "")
    assert how_to_span(_step(longer), pitch) == (
        "20 pitches is pin 1 to pin 21: 317.5 mm new; it is too long for a 150 mm caliper"
    )
    assert how_to_span(_step(SHEET.replace("pitches = 8", "")), pitch) == ""


def test_without_a_limit_above_new_nothing_is_told_of_life() -> None:
    text = SHEET.replace('"129.54 mm"', '"127 mm"')
    assert limit_of(_step(text), Fraction(15875, 1000)) is None


def test_no_wear_without_a_pitch_or_a_reading() -> None:
    step = _step()
    assert wear_of(Walk(sheet_of(SHEET)).job, step) is None
    bare = Walk(sheet_of(SHEET.replace('pitch = "15.875 mm"', ""))).read("128 mm")
    assert wear_of(bare.job, step) is None
