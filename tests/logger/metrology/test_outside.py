"""Uncertainty and decisions against the outside: published budgets and decisions, reference libraries, simulation.

Where a figure could not be seen in its source it is said to be from memory; the arithmetic of each was checked.
"""

import math
import random
from collections import Counter
from decimal import Decimal
from fractions import Fraction

import GTC  # type: ignore[import-untyped]
import pytest
import uncertainties  # type: ignore[import-untyped]
from GTC import reporting
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad  # type: ignore[import-untyped]
from scipy.stats import norm, t  # type: ignore[import-untyped]

from logger.metrology.conformity import GUARDED, SIMPLE, DecisionRule, chance_inside, decide, normal_cdf
from logger.metrology.uncertainty import (
    Amount,
    Budget,
    Component,
    accuracy,
    coverage_factor,
    repeats,
    resolution,
    stated,
    within,
)
from logger.metrology.worth import difference
from logger.units import Limits

D = Decimal


def limits(low: str | None, high: str | None) -> Limits:
    return Limits(None if low is None else Fraction(low), None if high is None else Fraction(high))


# --- JCGM 106:2012 and ILAC-G8:09/2019 ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "u", "window", "chance", "printed"),
    [
        # 7.4, two-sided, viscosity of an oil: inputs seen as quoted, the printed 0.66 from memory
        ("13.6", 1.8, limits("12.5", "16.3"), 0.662630, 0.66),
        # 7.3.3 example 1, an upper limit (breakdown voltage): from memory
        ("-5.47", 0.05, limits(None, "-5.40"), 0.919243, 0.92),
        # 7.3.3 example 2, a lower limit (burst pressure): from memory
        ("509.7", 8.6, limits("490", None), 0.989010, 0.99),
    ],
)
def test_the_chance_of_jcgm_106(value: str, u: float, window: Limits, chance: float, printed: float) -> None:
    found = chance_inside(D(value), window, u)
    assert found == pytest.approx(chance, abs=5e-7)
    assert round(found, 2) == printed


@pytest.mark.parametrize(
    ("probability", "z"),
    [(0.80, 0.8416), (0.90, 1.2816), (0.95, 1.6449), (0.975, 1.9600), (0.99, 2.3263), (0.999, 3.0902)],
)
def test_the_z_values_of_jcgm_106_table_1(probability: float, z: float) -> None:
    assert normal_cdf(z) == pytest.approx(probability, abs=1e-5)


@pytest.mark.parametrize(
    ("times_u", "risk", "within_risk"),
    [
        ("0", 0.5, 0.5),  # simple acceptance, ILAC-G8 4.2.1
        ("2", 0.02275, 0.025),  # w = U with k = 2, ILAC-G8 4.2.2
        ("1.66", 0.04846, 0.05),  # w = 0.83 U, the ISO 14253-1:2017 row: from memory
        ("3", 0.00135, 0.0016),  # w = 1.5 U, "3 sigma": from memory
        ("6", 9.866e-10, 1e-6),  # w = 3 U, "6 sigma": from memory
    ],
)
def test_the_largest_risk_of_each_guard_band_of_ilac_g8(times_u: str, risk: float, within_risk: float) -> None:
    """At an acceptance limit, against one tolerance limit."""
    rule = DecisionRule("guarded", Fraction(times_u) * Fraction("1.2"))
    budget = Budget((stated("all", D("1.2")),))
    one_sided = limits(None, "106")
    at_the_limit = 106 - Fraction(times_u) * Fraction("1.2")
    found = decide(at_the_limit, one_sided, budget, rule)
    assert found.word == "inside"
    assert 1 - found.chance == pytest.approx(risk, rel=2e-3)
    assert 1 - found.chance <= within_risk
    assert decide(at_the_limit + Fraction(1, 10**6), one_sided, budget, rule).word != "inside"


@pytest.mark.parametrize(
    ("value", "chance"),
    [("88", 0.04779), ("90", 0.5), ("92", 0.95221), ("93", 0.99379), ("98", 1), ("104", 0.95221), ("106", 0.5)],
)
def test_the_chance_in_a_torque_window(value: str, chance: float) -> None:
    """Own vector: 90 to 106 N·m, u = 1.2."""
    assert chance_inside(D(value), limits("90", "106"), 1.2) == pytest.approx(chance, abs=5e-6)


@pytest.mark.parametrize(("guard", "chance"), [("2.4", 0.977250), ("1.98", 0.95053)])
def test_the_chance_at_the_edges_of_a_guarded_torque_window(guard: str, chance: float) -> None:
    """Own vector, w = U and w = 1.65 u."""
    for edge in (90 + D(guard), 106 - D(guard)):
        assert chance_inside(edge, limits("90", "106"), 1.2) == pytest.approx(chance, abs=5e-6)


# --- scipy ----------------------------------------------------------------------------------------------------------


@given(st.floats(-37, 37))
def test_the_normal_distribution_is_the_one_of_scipy(z: float) -> None:
    assert normal_cdf(z) == pytest.approx(float(norm.cdf(z)), rel=1e-10)


@given(st.decimals(80, 116, places=3), st.floats(0.05, 20))
def test_the_chance_is_the_one_of_scipy(value: Decimal, u: float) -> None:
    low, high = (norm(loc=float(value), scale=u).cdf(end) for end in (90, 106))
    assert chance_inside(value, limits("90", "106"), u) == pytest.approx(float(high - low), abs=1e-12)


@pytest.mark.parametrize("degrees", [*range(1, 21), 25, 30, 35, 40, 50, 100])
def test_the_coverage_factors_are_those_of_students_t(degrees: int) -> None:
    """GUM table G.2, column 95.45 % (from memory), against scipy."""
    exact = float(t.ppf((1 + 0.954499736) / 2, degrees))
    assert float(coverage_factor(Fraction(degrees))) == pytest.approx(exact, abs=0.0052)


# --- GUM, EA-4/02, GTC and uncertainties ----------------------------------------------------------------------------


TEMPERATURES = tuple(
    D(hundredths).scaleb(-2)
    for hundredths in (
        *(9690, 9818, 9825, 9861, 9903, 9949, 9956, 9974, 9989, 10007),
        *(10033, 10042, 10068, 10095, 10111, 10120, 10157, 10184, 10236, 10272),
    )
)


def test_type_a_of_twenty_temperatures() -> None:
    """GUM 4.4.3 (data from memory, in accord with the published mean): printed 100.145, s 1.489, u 0.333."""
    component = repeats(TEMPERATURES)
    assert component is not None
    assert component.u == pytest.approx(0.332916, abs=5e-7)
    assert component.degrees == 19
    ours = GTC.type_a.estimate([float(value) for value in TEMPERATURES])
    assert (component.u, component.degrees) == pytest.approx((ours.u, ours.df))


@pytest.mark.parametrize("values", [(30.2, 30.5, 30.1, 30.4, 30.3), (97.8, 98.4, 98.1, 98.6, 97.9)])
def test_type_a_of_five_is_the_one_of_gtc(values: tuple[float, ...]) -> None:
    component = repeats([D(str(value)) for value in values])
    assert component is not None
    estimate = GTC.type_a.estimate(values)
    assert (component.u, component.degrees) == pytest.approx((estimate.u, estimate.df))


@given(st.decimals("0.001", 10, places=3))
def test_rectangles_are_those_of_gtc(half_width: Decimal) -> None:
    assert within("a", half_width).u == pytest.approx(GTC.type_b.uniform(float(half_width)))
    assert resolution(2 * half_width).u == pytest.approx(GTC.type_b.uniform(float(half_width)))


def test_the_vernier_calliper_of_ea_4_02_s10() -> None:
    """EA-4/02 S10, in µm: printed u 33 (of parts rounded to 0.46, 1.15 x 1.7, 15, 29), k 1.83, U 0.06 mm.

    The bounds behind the parts are from memory: block ±0.8, temperature ±2 °C at 1.7 µm/°C, steps of 50, mechanics ±50.
    """
    temperature = Component("temperature", within("", 2).variance, "±2 °C", sensitivity=Fraction("1.7"))
    parts = (within("gauge block", D("0.8")), temperature, resolution(50), within("mechanics", 50))
    assert [part.u for part in parts] == pytest.approx([0.46, 1.15 * 1.7, 15, 29], rel=0.04)
    budget = Budget(parts, k=Fraction("1.833892"))
    assert budget.u == pytest.approx(32.338, abs=5e-4)
    assert budget.expanded == pytest.approx(59.304, abs=2e-3)
    assert round(budget.expanded / 1000, 2) == 0.06


def test_the_gauge_block_of_gum_h_1() -> None:
    """GUM H.1 in nm through GTC, its parts through ours: printed u 32, degrees of freedom 16, l = 50.000 838 mm."""
    standard = GTC.ureal(50_000_623, 25, 18, label="standard")
    compared = [GTC.ureal(215, 5.8, 24), GTC.ureal(0, 3.9, 5), GTC.ureal(0, 6.7, 8)]
    expansion = GTC.ureal(11.5e-6, GTC.type_b.uniform(2e-6))
    of_expansions = GTC.ureal(0, GTC.type_b.uniform(1e-6), 50)
    of_temperatures = GTC.ureal(0, GTC.type_b.uniform(0.05), 2)
    deviation = GTC.ureal(-0.1, 0.2) + GTC.ureal(0, GTC.type_b.arcsine(0.5))
    length = standard + sum(compared) - standard * (of_expansions * deviation + expansion * of_temperatures)
    assert GTC.value(length) == pytest.approx(50_000_838, abs=0.5)

    degrees = {25.0: 18, 16.599: 2, 6.7: 8, 5.8: 24, 3.9: 5, 2.887: 50}
    parts = [influence.u for influence in reporting.budget(length, trim=0) if influence.u > 0]
    assert sorted(round(u, 3) for u in parts) == sorted(degrees)
    budget = Budget(tuple(stated(str(u), Fraction(u), degrees=degrees[round(u, 3)]) for u in parts))
    assert budget.u == pytest.approx(GTC.uncertainty(length)) == pytest.approx(31.663879)
    assert float(budget.degrees or 0) == pytest.approx(GTC.dof(length)) == pytest.approx(16.7519, abs=1e-4)


def test_a_difference_of_readings_with_a_common_error_is_the_one_of_uncertainties() -> None:
    """The two correlate through one input, as the error of one tool does."""
    share = Amount(Fraction("0.01"), share=True)
    ours = difference(*(Budget((accuracy(share, value), resolution(D("0.1")))) for value in (80, 50)), same_tool=True)
    gain = uncertainties.ufloat(1, 0.01 / math.sqrt(3))
    rounding = [uncertainties.ufloat(0, 0.1 / math.sqrt(12)) for _ in range(2)]
    assert ours.u == pytest.approx((gain * 80 + rounding[0] - gain * 50 - rounding[1]).s)


@given(st.lists(st.tuples(st.decimals("0.01", 10, places=2), st.integers(1, 50)), min_size=1, max_size=5))
def test_u_and_degrees_of_any_budget_are_those_of_gtc(parts: list[tuple[Decimal, int]]) -> None:
    ours = Budget(tuple(stated("part", u, degrees=degrees) for u, degrees in parts))
    theirs = sum(GTC.ureal(0, float(u), degrees) for u, degrees in parts)
    assert ours.u == pytest.approx(theirs.u, rel=1e-9)
    assert float(ours.degrees or 0) == pytest.approx(theirs.df, rel=1e-9)


# --- simulation -----------------------------------------------------------------------------------------------------

TRIALS = 20_000
SPREAD, U = 4.0, 1.2  # of what is measured, about the middle of 90 to 106 N·m, and of the measurement


@pytest.mark.parametrize("rule", [SIMPLE, GUARDED], ids=["simple", "guarded"])
def test_false_accepts_and_rejects_come_as_often_as_theory_says(rule: DecisionRule) -> None:
    """Global risks by JCGM 106:2012 9.5 (clause from memory), by numerical integration, beside a seeded simulation."""
    chance = random.Random(20260)
    budget, window = Budget((stated("all", Fraction(U)),)), limits("90", "106")
    seen: Counter[str] = Counter()
    for _ in range(TRIALS):
        truth = chance.gauss(98, SPREAD)
        word = decide(Fraction(chance.gauss(truth, U)), window, budget, rule).word
        good = 90 <= truth <= 106
        seen["false accept"] += word == "inside" and not good
        seen["false reject"] += word in ("low", "high") and good
        seen["unsure"] += word == "unsure"
    for name, expected in _theory(0.0 if rule is SIMPLE else 2 * U).items():
        four_sigma = 4 * math.sqrt(expected * (1 - expected) / TRIALS)
        assert seen[name] / TRIALS == pytest.approx(expected, abs=four_sigma + 1e-12), name


def _theory(guard: float) -> dict[str, float]:
    measured, production = norm(scale=U), norm(loc=98, scale=SPREAD)

    def inside(truth: float) -> float:
        return float(measured.cdf(106 - guard - truth) - measured.cdf(90 + guard - truth))

    def beyond(truth: float) -> float:
        return float(measured.sf(106 + guard - truth) + measured.cdf(90 - guard - truth))

    def average(function: object, low: float, high: float) -> float:
        assert callable(function)
        return float(quad(lambda truth: function(truth) * production.pdf(truth), low, high)[0])

    return {
        "false accept": average(inside, 106, 130) + average(inside, 66, 90),
        "false reject": average(beyond, 90, 106),
        "unsure": 1 - average(lambda truth: inside(truth) + beyond(truth), 66, 130),
    }


def test_what_a_guard_band_of_2u_buys_and_costs() -> None:
    simple, guarded = _theory(0.0), _theory(2 * U)
    assert simple == pytest.approx({"false accept": 0.0090965, "false reject": 0.0190055, "unsure": 0}, abs=1e-6)
    assert guarded == pytest.approx({"false accept": 0.0002264, "false reject": 0.0003394, "unsure": 0.16717}, abs=1e-5)
