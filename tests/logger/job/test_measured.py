"""A measure step against its window: units, repeats, what is not plausible, differences."""

from fractions import Fraction

import pytest

from tests.logger.job.measuring import WINDOW, gap_read, near, walk_on
from tests.logger.job.torquing import why
from tests.logger.walk import Walk, answer, described, shipped, small

# --- against the window ---


@pytest.mark.parametrize(
    ("reading", "verdict", "margin"),
    [
        ("24.99 mm", "low", Fraction(-1, 100)),
        ("25 mm", "inside", 0),
        ("25.00 mm", "inside", 0),
        ("32.5 mm", "inside", Fraction(15, 2)),
        ("40 mm", "inside", 0),
        ("40.0001 mm", "high", Fraction(-1, 10000)),
    ],
)
def test_limits_are_inclusive_and_exact(reading: str, verdict: str, margin: Fraction) -> None:
    judged = gap_read(reading).verdicts["gap"]
    assert (judged.verdict, judged.margin, f"{judged.text} {judged.unit}") == (verdict, margin, reading)


@pytest.mark.parametrize(
    ("inches", "verdict"),
    [("0.984 in", "low"), ("0.985 in", "inside"), ("1.574 in", "inside"), ("1.575 in", "high")],
)
def test_the_window_is_converted_into_the_tools_unit_never_the_reading(inches: str, verdict: str) -> None:
    """25 mm = 0.98425... in and 40 mm = 1.57480... in, by the inch of 25.4 mm exactly (NIST SP 811)."""
    walk = gap_read(inches)
    assert walk.verdict("gap") == verdict
    assert walk.verdicts["gap"].text == inches.removesuffix(" in")


def test_a_negative_zero_is_shown_without_its_sign() -> None:
    assert gap_read("-0.00 mm", plausible="").verdicts["gap"].text == "0.00"


def test_a_step_without_a_window_passes_once_taken() -> None:
    judged = gap_read("-3 mm", window="", plausible="").verdicts["gap"]
    assert (judged.verdict, judged.margin) == ("inside", None)


# --- repeats ---


def test_repeats_wait_for_each_other_then_give_their_mean() -> None:
    walk = gap_read("32.0 mm", "32.1 mm", window='window = ["25 mm", "40 mm"]\nrepeats = 3\nspread_within = "0.2 mm"')
    assert (walk.verdict("gap"), walk.verdicts["gap"].reason) == ("waiting", "2 of 3 taken")
    walk.read("32.1 mm")
    assert walk.verdicts["gap"].value == Fraction("32.1") - Fraction(1, 30)
    assert walk.verdicts["gap"].text == "≈ 32.1"


def test_a_mean_is_never_rounded_over_a_limit() -> None:
    walk = gap_read("40.0 mm", "40.0 mm", "40.1 mm", window='window = ["25 mm", "40 mm"]\nrepeats = 3')
    judged = walk.verdicts["gap"]
    assert (judged.verdict, judged.text) == ("high", "≈ 40.03")


@pytest.mark.parametrize(("third", "verdict"), [("32.2 mm", "inside"), ("32.21 mm", "unsteady")])
def test_repeats_that_disagree_are_unsteady_before_anything_else(third: str, verdict: str) -> None:
    walk = gap_read(
        "32.0 mm", "32.1 mm", third, window='repeats = 3\nspread_within = "0.2 mm"\nwindow = ["1 mm", "40 mm"]'
    )
    assert walk.verdict("gap") == verdict


def test_readings_in_two_units_give_no_verdict_and_a_new_attempt_begins_at_once() -> None:
    walk = gap_read("32.0 mm", "1.26 in", window='window = ["25 mm", "40 mm"]\nrepeats = 3')
    assert walk.verdict("gap") == "waiting"
    assert "two units" in walk.verdicts["gap"].reason
    assert (walk.prompt.number, walk.prompt.of) == (1, 3)
    walk.read("32.0 mm", "32.0 mm", "32.0 mm")
    assert walk.verdict("gap") == "inside"


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


def test_a_value_that_was_taken_back_has_been_tried() -> None:
    judged = walk_on().read("32.0 mm").back().verdicts["gap"]
    assert (judged.verdict, judged.reason, judged.attempts) == ("waiting", "not taken yet", 1)


def test_a_value_is_never_rounded_over_a_limit_also_where_it_does_not_decide() -> None:
    unsteady = walk_on(f'{WINDOW}\nrepeats = 3\nspread_within = "0.05 mm"').read("40.0 mm", "40.0 mm", "40.1 mm")
    assert (unsteady.verdict("gap"), unsteady.verdicts["gap"].text) == ("unsteady", "≈ 40.03")
    nothing_left = walk_on(f'{WINDOW}\nrepeats = 3\nguard = "10 mm"', decision="guarded")
    nothing_left.read("40.0 mm", "40.0 mm", "40.1 mm")
    assert (nothing_left.verdict("gap"), nothing_left.verdicts["gap"].text) == ("unsure", "≈ 40.03")


# --- a slip among sound repeats ---


def test_an_implausible_repeat_is_in_no_mean_and_is_taken_again() -> None:
    walk = near().read("0.10 mm")
    judged = walk.verdicts["gap"]
    assert (judged.verdict, judged.text) == ("waiting", "39.50")
    assert judged.reason == "0.10 mm is not plausible here (5 mm to 90 mm): take it again"
    assert walk.key == "measure:gap"
    walk.read("39.40 mm")
    assert (walk.verdicts["gap"].text, walk.verdicts["gap"].attempts) == ("39.40", 2)


def test_two_slips_among_sound_repeats_do_not_bear_each_other_out() -> None:
    walk = near().read("0.10 mm", "39.50 mm", "0.10 mm")
    assert walk.verdict("gap") == "waiting"


# --- doubt ---


def test_an_implausible_value_is_held_until_it_is_taken_again() -> None:
    walk = gap_read("3.62 mm", plausible='plausible = ["10 mm", "90 mm"]')
    assert walk.verdict("gap") == "waiting"
    assert walk.key == "measure:gap"
    assert "3.62 mm is not plausible here (10 mm to 90 mm)" in walk.verdicts["gap"].reason
    assert walk.read("36.2 mm").verdict("gap") == "inside"


def test_a_second_attempt_on_the_same_side_bears_it_out_so_that_nobody_is_trapped() -> None:
    assert gap_read("95 mm").verdict("gap") == "waiting"
    assert gap_read("95 mm", "96 mm").verdict("gap") == "high"
    assert gap_read("95 mm", "0.05 mm").verdict("gap") == "waiting"


def test_a_withdrawn_or_disturbed_attempt_bears_nothing_out() -> None:
    assert gap_read("95 mm").back().read("95 mm").verdict("gap") == "waiting"
    assert gap_read("95 mm").loosened("bolts").read("95 mm").verdict("gap") == "waiting"


@pytest.mark.parametrize(("reading", "looks", "unit"), [("1.260 mm", "inches", "in"), ("32.0 in", "millimetres", "mm")])
def test_what_looks_like_another_unit_says_so_and_needs_a_person(reading: str, looks: str, unit: str) -> None:
    walk = gap_read(reading, reading)
    assert walk.verdict("gap") == "waiting"
    assert f"looks like {looks}" in walk.verdicts["gap"].reason
    fixed = "1.260 in" if unit == "in" else "32.0 mm"
    assert walk.read(fixed).verdict("gap") == "inside"


def test_a_person_who_types_it_with_its_unit_is_believed() -> None:
    walk = gap_read("3.0 mm", "3.0 mm")
    assert walk.verdict("gap") == "waiting"
    walk.read("3.1 mm", kind="", source="typed")
    assert walk.verdict("gap") == "low"


# --- differences ---


def _slack(*readings: str) -> Walk:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    return walk.read(*readings)


def test_a_difference_is_the_larger_part_minus_the_other() -> None:
    assert _slack("100.0 mm").verdicts["slack.tightest"].reason == "taut up still to take"
    judged = _slack("100.0 mm", "132.25 mm").verdicts["slack.tightest"]
    assert (judged.verdict, judged.text, judged.value) == ("inside", "32.25", Fraction("32.25"))


def test_a_difference_in_two_units_gives_no_verdict() -> None:
    walk = _slack("100.0 mm", "5.2 in")
    assert (walk.verdict("slack.tightest"), walk.key) == ("waiting", "measure:slack.tightest/taut down")


def test_a_measurement_says_why_it_has_no_value() -> None:
    assert why(gap_read(), "gap") == ("waiting", "not taken yet")
    assert why(gap_read("32 mm").loosened("bolts"), "gap") == ("stale", "disturbed since it was taken")
    two = gap_read("32.0 mm", "1.26 in", window="repeats = 3")
    assert why(two, "gap") == ("waiting", "readings in two units: take it again with one tool")
    apart = gap_read("32.0 mm", "32.3 mm", window='repeats = 2\nspread_within = "0.2 mm"')
    assert why(apart, "gap") == ("unsteady", "repeats differ by 0.3 mm, more than 0.2 mm")
    sides = small(upto="measure:ends.left").read("1.425 in", tool="C2").read("36.2 mm")
    said = "the two sides were read in two units: take both with one tool"
    assert why(sides, "ends.agreement") == ("waiting", said)
