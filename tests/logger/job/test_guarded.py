"""Decisions as they reach a check: guarded against simple, and tools of which nothing is stated."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger import events as ev
from logger.units import Limits
from tests.logger.job.measuring import WINDOW, gap, walk_on, with_offset
from tests.logger.walk import described


@pytest.mark.parametrize(
    ("reading", "simple", "guarded"),
    [
        ("23.99 mm", "low", "low"),
        ("24.00 mm", "low", "unsure"),
        ("24.01 mm", "low", "unsure"),
        ("25.00 mm", "inside", "unsure"),
        ("25.99 mm", "inside", "unsure"),
        ("26.00 mm", "inside", "inside"),
        ("39.00 mm", "inside", "inside"),
        ("39.01 mm", "inside", "unsure"),
        ("40.99 mm", "high", "unsure"),
        ("41.00 mm", "high", "unsure"),
        ("41.01 mm", "high", "high"),
    ],
)
def test_the_zones_of_both_rules(reading: str, simple: str, guarded: str) -> None:
    """Method u = 0.5 mm: U = 1 mm is the guard band w (ILAC-G8:09/2019 4.2.2 and 4.2.3)."""
    assert gap(reading, decision="simple").verdict == simple
    assert gap(reading).verdict == guarded


def test_the_chance_of_being_inside_is_that_of_jcgm_106() -> None:
    """JCGM 106:2012 7.4: y 13.6, u 1.8, limits 12.5 and 16.3 give 0.66."""
    walk = walk_on('window = ["12.5 mm", "16.3 mm"]\nmethod_u = "1.8 mm"', aim="")
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    decision = walk.read("13.6 mm").verdicts["gap"].decision
    assert decision is not None
    assert (decision.u, decision.expanded, round(decision.chance, 6)) == (1.8, 3.6, 0.662630)


def test_at_the_edge_of_acceptance_the_risk_is_that_of_a_guard_band_of_u() -> None:
    """ILAC-G8: w = U leaves a specific risk below 2.5 %, exactly 2.275 %."""
    decision = gap("26.00 mm").decision
    assert decision is not None
    assert round(decision.chance, 6) == 0.977250
    assert decision.acceptance == Limits(Fraction(26), Fraction(39))


@pytest.mark.parametrize(
    ("more", "reading", "verdict"),
    [
        ('guard = "2 mm"', "26.99 mm", "unsure"),
        ('guard = "2 mm"', "27.00 mm", "inside"),
        ('guard = "0.1 in"', "27.54 mm", "inside"),
        ('guard = "0.1 in"', "27.53 mm", "unsure"),
        ('guarded = "low"', "39.99 mm", "inside"),
        ('guarded = "low"', "25.99 mm", "unsure"),
        ('guarded = "high"', "25.00 mm", "inside"),
        ('guarded = "high"', "39.01 mm", "unsure"),
    ],
)
def test_a_stated_guard_band_and_a_guarded_side(more: str, reading: str, verdict: str) -> None:
    assert gap(reading, more=more).verdict == verdict


@given(st.integers(20_000, 45_000))
def test_simple_is_what_the_limits_alone_say_and_guarded_never_contradicts_it(thousandths: int) -> None:
    value = Decimal(thousandths).scaleb(-3)
    plain = "low" if value < 25 else "high" if value > 40 else "inside"
    simple, guarded = gap(f"{value} mm", decision="simple"), gap(f"{value} mm")
    assert simple.verdict == plain
    assert guarded.verdict in (plain, "unsure")
    assert (guarded.verdict == "unsure") == (25 - 1 < value < 25 + 1 or 40 - 1 < value < 40 + 1)
    assert simple.margin == guarded.margin == min(value - 25, 40 - value)


def test_the_number_shown_never_contradicts_an_acceptance_limit() -> None:
    """Three repeats with a mean of 25.999...: with the digits of the readings it would show 26.00."""
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"\nrepeats = 3', decision="guarded")
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    judged = walk.read("25.99 mm", "26.00 mm", "26.00 mm").verdicts["gap"]
    assert (judged.verdict, judged.text) == ("unsure", "≈ 25.997")


@pytest.mark.parametrize(
    ("stated", "verdict"),
    [
        ({}, "waiting"),
        ({"resolution": "0.01 mm"}, "waiting"),
        ({"accuracy": "0.03 mm"}, "inside"),
        ({"calibration_u": "0.02 mm"}, "inside"),
    ],
)
def test_a_guarded_decision_rests_on_what_is_stated_of_the_tool(stated: dict[str, str], verdict: str) -> None:
    told = {"tool": "C1", "tool_kind": "caliper", "stated_by": "toolbook"} | stated
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"', decision="guarded")
    walk.say(ev.ToolDescribed.model_validate(told)).read("32.0 mm")
    judged = walk.verdicts["gap"]
    assert judged.verdict == verdict
    if verdict == "waiting":
        assert judged.reason.startswith("nothing states how far C1 may be off, so it cannot decide guarded: take it")
        assert walk.key == "measure:gap"
        assert walk.override("gap").verdict("gap") == "overridden"


def test_a_stated_guard_or_a_tool_of_the_toolbook_settles_it() -> None:
    assert walk_on(f'{WINDOW}\nguard = "1 mm"', decision="guarded").read("32.0 mm").verdict("gap") == "inside"
    assert walk_on(decision="simple").read("32.0 mm").verdict("gap") == "inside"
    walk = walk_on(decision="guarded").read("32.0 mm")
    assert walk.verdict("gap") == "waiting"
    walk.say(described("C2", "caliper", accuracy="0.03 mm", resolution="0.01 mm"))
    assert walk.read("32.0 mm", tool="C2").verdict("gap") == "inside"


def test_of_a_pair_read_with_one_tool_its_resolution_says_enough() -> None:
    walk = with_offset("0 mm", "0 mm", decision="guarded")
    bare = ev.ToolDescribed(tool="C1", tool_kind="caliper", resolution="0.01 mm", stated_by="toolbook")
    walk.say(bare).override("gap").read("36.00 mm", "36.00 mm")
    assert walk.verdict("ends.agreement") == "inside"


def test_a_verdict_that_cannot_be_told_says_so_and_one_that_can_says_nothing() -> None:
    assert gap("25.50 mm").reason == "too near a limit to tell"
    assert gap("32.00 mm").reason == gap("45.00 mm").reason == ""
