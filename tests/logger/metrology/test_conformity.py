"""Decisions near a limit: the zones of each rule to the last digit, the chance, further repeats."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.metrology.conformity import GUARDED, SIMPLE, Decision, DecisionRule, chance_inside, decide, repeat_worth
from logger.metrology.uncertainty import Amount, Budget, accuracy, stated
from logger.units import Limits, margin, position

D = Decimal
WINDOW = Limits(Fraction(90), Fraction(106))
U_1_2 = Budget((stated("all", D("1.2")),))
CERTAIN = Budget()
values = st.decimals(80, 116, places=3)
budgets = st.decimals(0, 12, places=3).map(lambda u: Budget((stated("all", u),)))
rules = st.builds(
    DecisionRule,
    st.sampled_from(["simple", "guarded"]),
    st.none() | st.fractions(0, 12, max_denominator=100),
    st.sampled_from(["both", "low", "high"]),
)


def word(value: str, rule: DecisionRule, budget: Budget = U_1_2, limits: Limits = WINDOW) -> str:
    return decide(D(value), limits, budget, rule).word


@pytest.mark.parametrize(
    ("value", "simple", "guarded"),
    [
        ("87.599", "low", "low"),
        ("87.6", "low", "unsure"),
        ("87.601", "low", "unsure"),
        ("89.999", "low", "unsure"),
        ("90", "inside", "unsure"),
        ("92.399", "inside", "unsure"),
        ("92.4", "inside", "inside"),
        ("98", "inside", "inside"),
        ("103.6", "inside", "inside"),
        ("103.601", "inside", "unsure"),
        ("106", "inside", "unsure"),
        ("106.001", "high", "unsure"),
        ("108.399", "high", "unsure"),
        ("108.4", "high", "unsure"),
        ("108.401", "high", "high"),
    ],
)
def test_the_zones_of_both_rules(value: str, simple: str, guarded: str) -> None:
    """Zones of ILAC-G8:09/2019 4.2 with w = U = 2.4, a conditional fail up to and with TL + w; own torque window."""
    assert word(value, SIMPLE) == simple
    assert word(value, GUARDED) == guarded


@pytest.mark.parametrize(
    ("sides", "at_low", "at_high", "under", "over"),
    [
        ("both", "unsure", "unsure", "unsure", "unsure"),
        ("low", "unsure", "inside", "unsure", "high"),
        ("high", "inside", "unsure", "low", "unsure"),
    ],
)
def test_one_side_alone_can_be_guarded(
    sides: Literal["both", "low", "high"], at_low: str, at_high: str, under: str, over: str
) -> None:
    rule = DecisionRule("guarded", sides=sides)
    assert [word(value, rule) for value in ("90", "106", "89.9", "106.1")] == [at_low, at_high, under, over]


def test_a_stated_guard_replaces_the_expanded_uncertainty() -> None:
    rule = DecisionRule("guarded", Fraction("1.98"))
    assert decide(98, WINDOW, U_1_2, rule).acceptance == Limits(Fraction("91.98"), Fraction("104.02"))
    assert word("91.98", rule) == "inside"
    assert word("91.97", rule) == "unsure"
    assert word("88.02", rule) == "unsure"
    assert word("88.01", rule) == "low"


def test_a_window_with_nothing_left_is_never_inside_and_still_low_and_high_far_out() -> None:
    wide = Budget((stated("all", 5),))
    found = decide(98, WINDOW, wide, GUARDED)
    assert found.word == "unsure"
    assert found.acceptance is None
    assert word("79.9", GUARDED, wide) == "low"
    assert word("116.1", GUARDED, wide) == "high"


def test_an_open_side_has_no_limit_and_no_guard() -> None:
    at_least = Limits(Fraction(90), None)
    assert word("1000", GUARDED, limits=at_least) == "inside"
    assert word("91", GUARDED, limits=at_least) == "unsure"
    assert word("91", GUARDED, limits=Limits(None, Fraction(90))) == "unsure"
    assert decide(95, at_least, U_1_2, GUARDED).acceptance == Limits(Fraction("92.4"), None)


def test_a_narrow_window_guarded_below_still_takes_its_upper_limit_as_a_limit() -> None:
    rule = DecisionRule("guarded", sides="low")
    narrow = Limits(Fraction(90), Fraction(91))
    assert [word(value, rule, limits=narrow) for value in ("91", "91.1")] == ["unsure", "high"]


def test_a_narrow_window_guarded_above_still_takes_its_lower_limit_as_a_limit() -> None:
    rule = DecisionRule("guarded", sides="high")
    narrow = Limits(Fraction(90), Fraction(91))
    assert [word(value, rule, limits=narrow) for value in ("90", "89.9")] == ["unsure", "low"]


def test_what_a_record_prints_beside_the_word() -> None:
    found = decide(D("92"), WINDOW, U_1_2, GUARDED)
    assert found == Decision(
        "unsure", Fraction(2), found.chance, Limits(Fraction("92.4"), Fraction("103.6")), 1.2, 2.4, Fraction("2.4")
    )
    assert found.chance_stored == "0.952210"
    assert found.chance_shown == "95.2 %"


@given(values, rules)
def test_without_uncertainty_both_rules_are_the_inclusive_limits(value: Decimal, rule: DecisionRule) -> None:
    plain = DecisionRule(rule.kind, None, rule.sides)
    found = decide(value, WINDOW, CERTAIN, plain)
    assert found.word == position(value, WINDOW)
    assert found.chance == (found.word == "inside")
    assert found.chance_shown == ("100 %" if found.word == "inside" else "0 %")


@given(values, budgets)
def test_the_simple_rule_does_not_look_at_the_uncertainty(value: Decimal, budget: Budget) -> None:
    found = decide(value, WINDOW, budget)
    assert found.word == position(value, WINDOW)
    assert found.margin == margin(value, WINDOW)
    assert found.acceptance == WINDOW


@given(values, budgets, rules)
def test_inside_is_exactly_the_acceptance_limits(value: Decimal, budget: Budget, rule: DecisionRule) -> None:
    found = decide(value, WINDOW, budget, rule)
    accepted = found.acceptance is not None and margin(value, found.acceptance) >= 0
    assert (found.word == "inside") is accepted
    if found.word in ("low", "high"):
        assert position(value, WINDOW) == found.word, "a guarded rule never calls low what lies within the limits"


@given(values, values, budgets, rules)
def test_a_larger_value_never_has_a_lower_word(one: Decimal, two: Decimal, budget: Budget, rule: DecisionRule) -> None:
    small, large = sorted((one, two))
    words = [decide(value, WINDOW, budget, rule).word for value in (small, large)]
    assert words[1] != "low" or words[0] == "low"
    assert words[0] != "high" or words[1] == "high"


@given(values, budgets)
def test_a_guarded_pass_is_truly_inside_by_97_7_percent_a_side(value: Decimal, budget: Budget) -> None:
    """JCGM 106:2012 8.3.2 with w = 2u: at most 2.275 % beyond either limit."""
    found = decide(value, WINDOW, budget, GUARDED)
    if found.word == "inside":
        assert found.chance >= 1 - 2 * 0.0227502
    elif found.word != "unsure":
        assert found.chance <= 0.0227502


@given(values, st.floats(0.001, 50))
def test_the_chance_is_a_probability_and_symmetric(value: Decimal, u: float) -> None:
    chance = chance_inside(value, WINDOW, u)
    assert 0 <= chance <= 1
    assert chance == pytest.approx(chance_inside(196 - value, WINDOW, u), rel=1e-9, abs=1e-300)


def test_a_chance_far_outside_keeps_its_digits() -> None:
    low = chance_inside(60, WINDOW, 1.2)
    high = chance_inside(136, WINDOW, 1.2)
    assert low == high > 0


@pytest.mark.parametrize(
    ("value", "shown"), [("98", "over 99.9 %"), ("80", "under 0.1 %"), ("90", "50.0 %"), ("88", "4.8 %")]
)
def test_the_chance_is_never_shown_as_certain(value: str, shown: str) -> None:
    assert decide(D(value), WINDOW, U_1_2).chance_shown == shown


@pytest.mark.parametrize(
    ("value", "worth"),
    [("87.59", False), ("87.6", True), ("90", True), ("92.39", True), ("92.4", False), ("98", False), ("104", True)],
)
def test_another_repeat_is_worth_taking_within_the_uncertainty_of_a_limit(value: str, worth: bool) -> None:
    assert repeat_worth(D(value), WINDOW, U_1_2) is worth


@given(values, budgets)
def test_another_repeat_is_worth_taking_exactly_when_the_guarded_rule_is_unsure(value: Decimal, budget: Budget) -> None:
    if decide(value, WINDOW, budget, GUARDED).word == "unsure":
        assert repeat_worth(value, WINDOW, budget)
    elif 2 * budget.guard() <= 16:
        assert not repeat_worth(value, WINDOW, budget)


def test_the_guard_of_a_torque_is_the_one_of_its_own_reading() -> None:
    share = Amount(Fraction("0.04"), share=True)
    found = decide(98, WINDOW, Budget((accuracy(share, 98, of_reference=True),)), GUARDED)
    assert float(found.guard) == pytest.approx(2 * 98 * 0.04 / (1 - 0.0016) / 3**0.5, abs=1e-6)


@pytest.mark.parametrize(("chance", "shown"), [(0.999, "99.9 %"), (0.9991, "over 99.9 %"), (0.001, "0.1 %")])
def test_the_last_chances_that_are_shown_as_figures(chance: float, shown: str) -> None:
    assert replace(decide(98, WINDOW, U_1_2), chance=chance).chance_shown == shown


def test_the_guard_band_is_rounded_up_at_the_digits_asked_for() -> None:
    coarse = decide(98, WINDOW, U_1_2, GUARDED, digits=0)
    assert (coarse.guard, coarse.acceptance) == (Fraction(3), Limits(Fraction(93), Fraction(103)))
    assert repeat_worth(D("92.9"), WINDOW, U_1_2, digits=0)
    assert not repeat_worth(D("92.9"), WINDOW, U_1_2)


def test_of_two_guard_bands_the_wider_is_told() -> None:
    assert decide(98, WINDOW, U_1_2, DecisionRule("guarded", sides="low")).guard == Fraction("2.4")
    assert decide(98, WINDOW, U_1_2, DecisionRule("guarded", sides="high")).guard == Fraction("2.4")


def test_acceptance_limits_that_meet_still_hold_one_value() -> None:
    found = decide(98, WINDOW, U_1_2, DecisionRule("guarded", Fraction(8)))
    assert (found.word, found.acceptance) == ("inside", Limits(Fraction(98), Fraction(98)))


@pytest.mark.parametrize(("value", "chance"), [("90", 1.0), ("106", 1.0), ("89.999", 0.0), ("106.001", 0.0)])
def test_without_uncertainty_a_value_on_a_limit_is_inside_for_certain(value: str, chance: float) -> None:
    assert chance_inside(D(value), WINDOW, 0) == chance
