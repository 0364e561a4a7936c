"""Decisions as they reach a check: guarded against simple, further repeats, a machine's own side difference."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger import events as ev
from logger.job import words
from logger.job.job import opened
from logger.job.rules import Judged
from logger.units import Limits
from tests.logger.walk import SMALL, Walk, answer, described, sheet_of, shipped

WINDOW = 'window = ["25 mm", "40 mm"]'
DIFFERENCE = 'takes = "difference"\nparts = ["down", "up"]\nlarger = "up"\n'


def walk_on(gap: str = WINDOW, *, decision: str = "simple", ends: str = "", aim: str = 'aim = "32 mm"') -> Walk:
    """The small sheet at its first measure step, with other lines for its two measure steps and its decision."""
    text = SMALL.replace('about = "', f'decision = "{decision}"\nabout = "')
    text = (
        text.replace('aim = "32 mm"', aim)
        .replace(WINDOW, gap)
        .replace('agree_within = "0.5 mm"', ends or 'agree_within = "0.5 mm"')
    )
    return Walk(sheet_of(text)).confirm()


def gap(reading: str, *, method: str = "0.5 mm", decision: str = "guarded", more: str = "") -> Judged:
    """The verdict of one reading of the 25 to 40 mm window, by a caliper that adds nothing to the method's u."""
    walk = walk_on(f'{WINDOW}\nmethod_u = "{method}"\n{more}', decision=decision)
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    return walk.read(reading).verdicts["gap"]


# --- the rules of ILAC-G8:09/2019 4.2 and JCGM 106:2012 as a check shows them ---


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


# --- what a reading is worth ---


def _u(walk: Walk, check: str) -> float:
    decision = walk.verdicts[check].decision
    assert decision is not None
    return decision.u


def _expanded(walk: Walk, check: str) -> float:
    decision = walk.verdicts[check].decision
    assert decision is not None
    return decision.expanded


def test_what_nobody_stated_of_a_reading_is_not_made_up_from_its_digits() -> None:
    walk = walk_on().read("32.0 mm", kind="", source="typed")
    assert _u(walk, "gap") == 0
    assert walk.verdicts["gap"].unknown == ("accuracy", "resolution", "calibration", "method", "repeats")


def test_a_stated_resolution_is_a_rectangle() -> None:
    """GUM F.2.2.1: a step of 0.1 mm is 0.028 868 mm."""
    walk = walk_on().say(described("C1", "caliper", accuracy="0 mm", resolution="0.1 mm")).read("32.0 mm")
    assert _u(walk, "gap") == pytest.approx(0.028868, abs=1e-6)


def test_accuracy_resolution_calibration_and_method_add_in_squares() -> None:
    """GUM 5.1.2: a rectangle of 0.05, steps of 0.1, U = 0.04 with k = 2, and a method of 0.3 mm."""
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.3 mm"')
    walk.say(described("C1", "caliper", accuracy="0.05 mm", resolution="0.1 mm", calibration_u="0.04 mm"))
    walk.read("32.0 mm")
    assert _u(walk, "gap") == pytest.approx(math.sqrt(0.05**2 / 3 + 0.1**2 / 12 + 0.02**2 + 0.3**2))
    assert walk.verdicts["gap"].unknown == ("repeats",)


def test_a_figure_in_inches_is_taken_into_the_readings_unit() -> None:
    walk = walk_on().say(described("C1", "caliper", accuracy="0 mm", resolution="0.01 in")).read("32.0 mm")
    assert _u(walk, "gap") == pytest.approx(0.254 / math.sqrt(12))


def test_repeats_say_something_of_their_scatter_from_four_on() -> None:
    """Own vector: 30.2 30.5 30.1 30.4 30.3, s = 0.158 114, u = 0.070 711 (GUM 4.2.3); three of them say nothing."""
    values = ("30.2 mm", "30.5 mm", "30.1 mm", "30.4 mm", "30.3 mm")
    for count, u in ((5, 0.070710678), (3, 0.0)):
        walk = walk_on(f"{WINDOW}\nrepeats = {count}")
        walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm")).read(*values[:count])
        assert _u(walk, "gap") == pytest.approx(u)
        assert ("repeats" in walk.verdicts["gap"].unknown) == (count < 4)


@pytest.mark.parametrize(("method", "k"), [("0 mm", 2.87), ("0.05 mm", 2.32), ("0.5 mm", 2.025)])
def test_what_rests_on_few_repeats_has_the_factor_of_student(method: str, k: float) -> None:
    """Five repeats have four degrees of freedom, GUM table G.2: 2.87; beside a large method, over 100: 2.025."""
    walk = walk_on(f'{WINDOW}\nrepeats = 5\nmethod_u = "{method}"')
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    walk.read("30.2 mm", "30.5 mm", "30.1 mm", "30.4 mm", "30.3 mm")
    assert _expanded(walk, "gap") == pytest.approx(k * _u(walk, "gap"))


def test_a_pair_of_few_repeats_has_the_factor_of_both() -> None:
    walk = walk_on(ends='agree_within = "0.5 mm"\nrepeats = 4').read("32.00 mm")
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    walk.read(*["36.0 mm", "36.1 mm", "36.2 mm", "36.1 mm"] * 2)
    assert _expanded(walk, "ends.agreement") == pytest.approx(2.52 * _u(walk, "ends.agreement")), "six degrees"


def test_one_tools_common_error_cancels_in_a_difference_and_two_tools_do_not() -> None:
    """Accuracy 0.3 mm; the method enters once, not twice (EA-4/02 for the squares, GUM F.1.2.3 for what is common)."""
    for second, u, assumed in (
        ("C1", 0.4, "one tool for both"),
        ("C2", math.sqrt(0.4**2 + 2 * 0.3**2 / 3), "two tools"),
    ):
        walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.4 mm"')
        for tool in ("C1", "C2"):
            walk.say(described(tool, "caliper", accuracy="0.3 mm", resolution="0 mm"))
        walk.read("100.00 mm").read("132.00 mm", tool=second)
        assert _u(walk, "gap") == pytest.approx(u)
        assert walk.verdicts["gap"].assumed.startswith(assumed)


def test_of_a_relative_accuracy_the_share_of_the_difference_is_left() -> None:
    walk = walk_on(f"{DIFFERENCE}{WINDOW}")
    walk.say(described("C1", "caliper", accuracy="1 %", resolution="0 mm")).read("100.00 mm", "132.00 mm")
    assert _u(walk, "gap") == pytest.approx(0.32 / math.sqrt(3))


@pytest.mark.parametrize(("second", "squares"), [("C1", 0.0), ("C2", 2 * 0.03**2 / 3)])
def test_a_pair_by_one_caliper_or_by_two(second: str, squares: float) -> None:
    walk = walk_on(ends='agree_within = "0.5 mm"\nmethod_u = "0.1 mm"').read("32.00 mm")
    for tool in ("C1", "C2"):
        walk.say(described(tool, "caliper", accuracy="0.03 mm", resolution="0.01 mm"))
    walk.read("36.00 mm").read("36.10 mm", tool=second)
    assert _u(walk, "ends.agreement") == pytest.approx(math.sqrt(0.1**2 + 2 * 0.01**2 / 12 + squares))


def test_two_tools_in_one_value_count_as_the_less_certain_one() -> None:
    walk = walk_on(f"{WINDOW}\nrepeats = 2")
    for tool, off in (("C1", "0.03 mm"), ("C2", "0.3 mm")):
        walk.say(described(tool, "caliper", accuracy=off, resolution="0 mm"))
    walk.read("32.00 mm").read("32.10 mm", tool="C2")
    assert _u(walk, "gap") == pytest.approx(0.3 / math.sqrt(3))
    assert walk.verdicts["gap"].assumed.startswith("two tools for one value")


def test_a_figure_that_cannot_be_read_counts_as_not_stated() -> None:
    walk = walk_on().say(described("C1", "caliper", accuracy="rather good", resolution="5 N·m")).read("32.0 mm")
    assert _u(walk, "gap") == 0
    assert {"accuracy", "resolution"} <= set(walk.verdicts["gap"].unknown)


# --- a machine's own side difference ---


def _with_offset(value: str, u: str, *, decision: str = "simple") -> Walk:
    walk = Walk(sheet_of(SMALL.replace('about = "', f'decision = "{decision}"\nabout = "')))
    opening = walk.records[0].event
    assert isinstance(opening, ev.JobOpened)
    offset = ev.SideOffset(value=value, u=u, how="laser, both wheels, by Robin in May")
    walk.records[0] = walk.records[0].model_copy(update={"event": opening.model_copy(update={"side_offset": offset})})
    walk.job = opened(walk.records[0], walk.sheet)
    return walk.confirm().read("32.00 mm")


def test_a_proven_side_difference_is_taken_off_before_the_sides_are_judged() -> None:
    walk = _with_offset("0.60 mm", "0.05 mm").read("36.70 mm", "36.00 mm")
    judged = walk.verdicts["ends.agreement"]
    assert (judged.verdict, judged.text, judged.margin) == ("inside", "0.10", Fraction("0.40"))
    assert judged.reason == "read 0.70 mm, of which 0.60 mm is the machine's own"
    assert _u(walk, "ends.agreement") == pytest.approx(0.05)
    assert _with_offset("0.60 mm", "0.05 mm").read("36.00 mm", "36.00 mm").verdict("ends.agreement") == "uneven"
    assert _with_offset("-0.02 in", "0 mm").read("35.50 mm", "36.00 mm").verdict("ends.agreement") == "inside"


def test_its_uncertainty_widens_the_guard_band() -> None:
    exact = described("C1", "caliper", accuracy="0 mm", resolution="0 mm")
    for u, verdict in (("0 mm", "inside"), ("0.1 mm", "unsure")):
        walk = _with_offset("0 mm", u, decision="guarded").say(exact).read("36.40 mm", "36.00 mm")
        assert walk.verdict("ends.agreement") == verdict


# --- a tool of which nothing is stated ---


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
    walk = _with_offset("0 mm", "0 mm", decision="guarded")
    bare = ev.ToolDescribed(tool="C1", tool_kind="caliper", resolution="0.01 mm", stated_by="toolbook")
    walk.say(bare).override("gap").read("36.00 mm", "36.00 mm")
    assert walk.verdict("ends.agreement") == "inside"


# --- a slip among sound repeats ---


def test_an_implausible_repeat_is_in_no_mean_and_is_taken_again() -> None:
    walk = _near().read("0.10 mm")
    judged = walk.verdicts["gap"]
    assert (judged.verdict, judged.text) == ("waiting", "39.50")
    assert judged.reason == "0.10 mm is not plausible here (5 mm to 90 mm): take it again"
    assert walk.key == "measure:gap"
    walk.read("39.40 mm")
    assert (walk.verdicts["gap"].text, walk.verdicts["gap"].attempts) == ("39.40", 2)


def test_two_slips_among_sound_repeats_do_not_bear_each_other_out() -> None:
    walk = _near().read("0.10 mm", "39.50 mm", "0.10 mm")
    assert walk.verdict("gap") == "waiting"


# --- the tightest place ---


def test_a_governing_place_that_reads_looser_than_another_is_warned_of_and_nothing_else_changes() -> None:
    """Method u = 0.8 mm once in the difference: U = 1.6 mm and what the tool adds."""
    for opposite, warned in (("26.6 mm", False), ("25.0 mm", True), ("33.0 mm", False)):
        walk = Walk(shipped())
        walk.say(described("C1", "caliper", accuracy="0.03 mm", resolution="0.01 mm"))
        while not walk.key.startswith("measure:slack"):
            if walk.prompt.kind == "zero":
                walk.read("0.00 mm")
            else:
                answer(walk)
        walk.read("100.0 mm", "128.0 mm", "100.0 mm", f"{100 + float(opposite.split()[0]):.1f} mm")
        warnings = " ".join(walk.verdicts["slack.tightest"].warnings)
        assert ("it reads looser than opposite" in warnings) == warned
        assert walk.verdicts["slack.opposite"].warnings == ()


# --- one further repeat ---


def _near(reading: str = "39.50 mm", **changes: str) -> Walk:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"', **changes)
    return walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0.01 mm")).read(reading)


def test_a_value_within_its_uncertainty_of_a_limit_is_asked_for_once_more_and_the_mean_counts() -> None:
    walk = _near()
    assert (walk.key, walk.prompt.more, walk.prompt.number, walk.prompt.of) == ("measure:gap again", True, 2, 2)
    assert words.headline(walk.job, walk.prompt) == "Belt sag: once more"
    assert "one further repeat" in words.detail(walk.job, walk.prompt)[-1]
    walk.read("39.10 mm")
    assert isinstance(walk.last, ev.ReadingTaken)
    assert walk.last.answers is not None
    assert walk.last.answers.more
    judged = walk.verdicts["gap"]
    assert (judged.value, judged.attempts, walk.key) == (Fraction("39.3"), 1, "measure:ends.left")


@pytest.mark.parametrize("reading", ["26.01 mm", "38.99 mm", "41.01 mm", "32.00 mm"])
def test_away_from_the_limits_nothing_further_is_asked(reading: str) -> None:
    assert not _near(reading).prompt.more


def test_without_uncertainty_nothing_further_is_asked_even_on_the_limit() -> None:
    walk = walk_on().say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    assert not walk.read("40.00 mm").prompt.more


def test_a_failing_value_too_is_read_once_more_before_anything_is_turned() -> None:
    walk = _near("40.50 mm")
    assert (walk.verdict("gap"), walk.key) == ("high", "measure:gap again")
    walk.read("39.40 mm")
    assert (walk.verdict("gap"), walk.key) == ("inside", "measure:ends.left")


def test_a_further_difference_has_two_halves_and_waits_for_the_second() -> None:
    walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.5 mm"').read("100.00 mm", "139.50 mm")
    assert (walk.key, walk.prompt.number, walk.prompt.of) == ("measure:gap/down again", 3, 4)
    assert words.headline(walk.job, walk.prompt) == "Belt sag: down, once more"
    walk.read("101.00 mm")
    assert (walk.key, walk.verdict("gap"), walk.prompt.number) == ("measure:gap/up again", "waiting", 4)
    assert walk.verdicts["gap"].reason == "up still to take"
    walk.read("140.10 mm")
    assert (walk.verdicts["gap"].value, walk.key) == (Fraction("39.3"), "measure:ends.left")


def test_a_further_repeat_that_was_begun_and_disturbed_is_given_up() -> None:
    walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.5 mm"').read("100.00 mm", "139.50 mm", "101.00 mm")
    walk.loosened("bolts")
    assert (walk.verdict("gap"), walk.key) == ("stale", "measure:gap/down")


def test_a_further_repeat_taken_back_is_asked_again_and_half_of_it_takes_the_other_along() -> None:
    walk = _near().read("39.10 mm").back()
    assert (walk.verdicts["gap"].value, walk.key) == (Fraction("39.5"), "measure:gap again")
    walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.5 mm"').read(
        "100.00 mm", "139.50 mm", "101.00 mm", "140.00 mm"
    )
    walk.back()
    assert (walk.verdicts["gap"].value, walk.key) == (Fraction("39.5"), "measure:gap/down again")


def test_an_override_ends_the_asking() -> None:
    assert _near("40.50 mm").override("gap").key == "measure:ends.left"


def test_a_further_repeat_far_off_is_unsteady_and_the_value_begun_anew() -> None:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"\nrepeats = 2\nspread_within = "0.3 mm"').read("39.50 mm", "39.60 mm")
    assert walk.prompt.more
    walk.read("38.00 mm")
    assert (walk.verdict("gap"), walk.key, walk.prompt.number) == ("unsteady", "measure:gap", 1)


def test_a_pair_near_its_limit_is_read_once_more_at_both_places() -> None:
    walk = walk_on(ends='agree_within = "0.5 mm"\nmethod_u = "0.1 mm"').read("32.00 mm", "36.45 mm", "36.00 mm")
    assert walk.key == "measure:ends.left again"
    assert walk.read("36.40 mm").key == "measure:ends.right again"
    walk.read("36.10 mm")
    assert walk.verdicts["ends.agreement"].value == Fraction("0.375")
    assert not walk.prompt.more


def test_a_place_that_is_left_for_later_rounds_is_not_read_once_more() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        _obey(walk)
    walk.read("100.0 mm", "132.0 mm", "100.0 mm", "139.0 mm")
    assert walk.key == "measure:slack.opposite/taut down again"


def _obey(walk: Walk) -> None:
    if walk.prompt.kind == "note":
        walk.note("12480")
    elif walk.prompt.kind == "measure":
        walk.read("101.8 mm")
    else:
        walk.confirm()


# --- a further repeat that contradicts the first ---


def test_a_further_repeat_that_contradicts_the_first_is_unsteady() -> None:
    """Two readings of u = 0.8 mm differ by no more than 2 √2 u = 2.26 mm in 95 of 100 cases (GUM 5.1.2)."""
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.8 mm"')
    low = "24.5 mm"
    assert walk.read(low).prompt.more
    assert walk.read("32.0 mm").verdict("gap") == "unsteady"
    assert "the repeat differs by 7.5 mm" in walk.verdicts["gap"].reason
    assert walk.prompt.kind == "measure"
    assert not walk.prompt.more
    again = walk_on(f'{WINDOW}\nmethod_u = "0.8 mm"').read(low, "26.0 mm")
    assert (again.verdict("gap"), again.verdicts["gap"].text) == ("inside", "25.25")


# --- the reasons, whole ---


def test_a_verdict_that_cannot_be_told_says_so_and_one_that_can_says_nothing() -> None:
    assert gap("25.50 mm").reason == "too near a limit to tell"
    assert gap("32.00 mm").reason == gap("45.00 mm").reason == ""


def test_a_further_repeat_that_contradicts_says_by_how_much() -> None:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.8 mm"').read("24.5 mm", "32.0 mm")
    said = "the repeat differs by 7.5 mm, more than what is known of tool and method allows"
    assert walk.verdicts["gap"].reason == said


def test_a_further_repeat_may_differ_by_just_what_is_known() -> None:
    """A method of u = 0.5 mm alone: two readings may differ by 2 √2 x 0.5 = 1.414 213 6 mm (GUM 5.1.2)."""
    for second, verdict in (("38.085786 mm", "inside"), ("38.085785 mm", "unsteady")):
        walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"')
        walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm")).read("39.500 mm")
        assert walk.read(second).verdict("gap") == verdict


def test_the_wrong_spot_is_told_with_both_places() -> None:
    walk = Walk(shipped())
    walk.say(described("C1", "caliper", accuracy="0.03 mm", resolution="0.01 mm"))
    while not walk.key.startswith("measure:slack"):
        if walk.prompt.kind == "zero":
            walk.read("0.00 mm")
        else:
            answer(walk)
    walk.read("100.0 mm", "128.0 mm", "100.0 mm", "125.0 mm")
    said = "it reads looser than opposite: the mark may stand at the wrong spot; look for the tightest place again"
    assert walk.verdicts["slack.tightest"].warnings[-1] == said


def test_a_pair_in_inches_is_held_against_its_limit_in_inches() -> None:
    """0.5 mm is 0.019685 in, by the inch of 25.4 mm exactly (NIST SP 811)."""
    for right, verdict in (("1.4196 in", "inside"), ("1.4197 in", "uneven")):
        walk = walk_on().read("32.0 mm").read("1.4000 in", right, tool="C2")
        judged = walk.verdicts["ends.agreement"]
        assert (judged.verdict, judged.unit) == (verdict, "in")


def test_a_pair_has_the_digits_of_its_finer_reading_and_the_attempts_of_its_later_side() -> None:
    walk = walk_on().read("32.0 mm").read("36.2 mm", "36.05 mm")
    judged = walk.verdicts["ends.agreement"]
    assert (judged.text, judged.attempts) == ("0.15", 1)
    walk = walk_on().read("32.0 mm").read("36.25 mm", "36.2 mm")
    assert walk.verdicts["ends.agreement"].text == "0.05"


def test_a_pair_is_guarded_on_both_sides_whichever_side_of_a_window_the_sheet_guards() -> None:
    ends = 'agree_within = "0.5 mm"\nguard = "0.1 mm"\nguarded = "high"'
    for right, verdict in (("36.45 mm", "unsure"), ("36.40 mm", "inside"), ("35.55 mm", "unsure")):
        walk = walk_on(ends=ends, decision="guarded").override("gap").read("36.00 mm", right)
        assert walk.verdict("ends.agreement") == verdict


def test_a_tool_too_coarse_for_the_window_is_warned_of_or_cannot_decide() -> None:
    """The window is 15 mm wide: a tenth is 1.5 mm, a quarter 3.75 mm."""
    for step, verdict, reason, warnings in (
        ("1.5 mm", "inside", "", ()),
        (
            "2 mm",
            "inside",
            "",
            ("it reads in steps of 2 mm, more than a tenth of the window: a finer tool would be better",),
        ),
        (
            "4 mm",
            "waiting",
            "it reads in steps of 4 mm, more than a quarter of the window: take it with a finer tool",
            (),
        ),
    ):
        walk = walk_on().say(described("C1", "caliper", accuracy="0 mm", resolution=step)).read("32.0 mm")
        judged = walk.verdicts["gap"]
        assert (judged.verdict, judged.reason, judged.warnings) == (verdict, reason, warnings)


def test_the_repeats_of_a_first_set_may_scatter_where_the_sheet_says_nothing_of_it() -> None:
    walk = walk_on(f'{WINDOW}\nrepeats = 2\nmethod_u = "0.5 mm"').read("31.0 mm", "34.0 mm")
    assert (walk.verdict("gap"), walk.verdicts["gap"].text) == ("inside", "32.5")


def test_a_value_is_never_rounded_over_a_limit_also_where_it_does_not_decide() -> None:
    unsteady = walk_on(f'{WINDOW}\nrepeats = 3\nspread_within = "0.05 mm"').read("40.0 mm", "40.0 mm", "40.1 mm")
    assert (unsteady.verdict("gap"), unsteady.verdicts["gap"].text) == ("unsteady", "≈ 40.03")
    nothing_left = walk_on(f'{WINDOW}\nrepeats = 3\nguard = "10 mm"', decision="guarded")
    nothing_left.read("40.0 mm", "40.0 mm", "40.1 mm")
    assert (nothing_left.verdict("gap"), nothing_left.verdicts["gap"].text) == ("unsure", "≈ 40.03")


def test_of_a_pair_read_with_two_tools_both_are_named_where_nothing_is_stated() -> None:
    walk = walk_on(decision="guarded").override("gap").read("36.00 mm").read("36.00 mm", tool="C2")
    judged = walk.verdicts["ends.agreement"]
    assert judged.verdict == "waiting"
    assert judged.reason.startswith("nothing states how far C1 and C2 may be off")


# --- the tightest place, by its figures ---


def _two_places(governing: str, other: str, *, accuracy: str = "0 mm", second: str = "C1") -> tuple[str, ...]:
    """The warnings of a governing place, each place read once by a method of u = 0.8 mm."""
    places = 'places = ["low_run", "top_run"]\ngoverns = "low_run"\nmethod_u = "0.8 mm"'
    walk = walk_on(f"{WINDOW}\n{places}")
    for tool in ("C1", "C2"):
        walk.say(described(tool, "caliper", accuracy=accuracy, resolution="0 mm"))
    walk.read(governing).read(other, tool=second)
    return walk.verdicts["gap.low_run"].warnings


def test_a_governing_place_may_read_looser_by_just_what_the_method_is_worth() -> None:
    said = "it reads looser than top run: the mark may stand at the wrong spot; look for the low run place again"
    assert _two_places("32.00 mm", "30.40 mm") == (), "U = 2 x 0.8 mm, once for both"
    assert _two_places("32.00 mm", "30.39 mm") == (said,)


def test_what_is_common_to_one_tool_does_not_hide_the_wrong_spot() -> None:
    assert _two_places("32.00 mm", "30.00 mm", accuracy="2 mm") != ()
    assert _two_places("32.00 mm", "30.00 mm", accuracy="2 mm", second="C2") == ()


def test_a_verdict_carries_what_its_value_is_worth() -> None:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.3 mm"').say(described("C1", "caliper", accuracy="0.03 mm"))
    judged = walk.read("32.0 mm").verdicts["gap"]
    assert judged.budget is not None
    assert {part.name for part in judged.budget.components} >= {"accuracy", "method"}
    assert judged.decision is not None
    assert judged.decision.u == judged.budget.u


def test_a_check_that_was_let_pass_asks_for_no_further_repeat() -> None:
    walk = _near("40.50 mm")
    assert walk.verdicts["gap"].more
    assert not walk.override("gap").verdicts["gap"].more
