from fractions import Fraction

import pytest

from logger import events as ev
from logger.job.rules import FAILS, PASSES, WANTS, standing
from logger.units import unit_names
from tests.logger.walk import SMALL, Walk, answer, sheet_of, shipped, small

AGAIN = "loosen it; Belt sag and Bearing position come first, then torque again"
"""What stands against a bolt of the small sheet that only loosening can help: its loosening disturbs both."""


def _gap(*readings: str, **changes: str) -> Walk:
    """The small sheet with changed lines, and readings at its first measure step."""
    text = SMALL
    for old, new in {"window": 'window = ["25 mm", "40 mm"]', "plausible": 'plausible = ["5 mm", "90 mm"]'}.items():
        if old in changes:
            text = text.replace(new, changes[old])
    return Walk(sheet_of(text)).confirm().read(*readings)


def test_each_of_the_ten_verdicts_is_in_one_of_three_sets() -> None:
    assert len(PASSES) + len(FAILS) + len(WANTS) == 10
    assert len(PASSES | FAILS | WANTS) == 10


@pytest.mark.parametrize(
    ("verdicts", "said"),
    [
        (("inside", "done", "waiting"), "2 of 3 pass"),
        (("inside", "done", "overridden"), "2 of 3 pass, 1 overridden"),
        ((), "0 of 0 pass"),
    ],
)
def test_what_was_let_pass_is_not_counted_as_passing(verdicts: tuple[ev.Verdict, ...], said: str) -> None:
    assert standing(verdicts) == said


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
    judged = _gap(reading).verdicts["gap"]
    assert (judged.verdict, judged.margin, f"{judged.text} {judged.unit}") == (verdict, margin, reading)


@pytest.mark.parametrize(
    ("inches", "verdict"),
    [("0.984 in", "low"), ("0.985 in", "inside"), ("1.574 in", "inside"), ("1.575 in", "high")],
)
def test_the_window_is_converted_into_the_tools_unit_never_the_reading(inches: str, verdict: str) -> None:
    """25 mm = 0.98425... in and 40 mm = 1.57480... in, by the inch of 25.4 mm exactly (NIST SP 811)."""
    walk = _gap(inches)
    assert walk.verdict("gap") == verdict
    assert walk.verdicts["gap"].text == inches.removesuffix(" in")


@pytest.mark.parametrize(("pull", "verdict"), [("81.34", "waiting"), ("81.35", "inside"), ("97.62", "high")])
def test_a_torque_window_in_pounds_against_a_wrench_in_newton_metres(pull: str, verdict: str) -> None:
    """60 and 72 lbf·ft are 81.3491 and 97.6189 N·m (NIST SP 811: 1 lbf·ft = 1.355 817 948 331 400 4 N·m)."""
    walk = Walk(sheet_of(SMALL.replace('["36 N·m", "44 N·m"]', '["60 lbf·ft", "72 lbf·ft"]')))
    while walk.key != "untouched:bolts.left":
        answer(walk)
    walk.loosened("bolts.left")
    while walk.key != "torque:bolts.left":
        answer(walk)
    assert walk.pull(f"{pull} N·m").verdict("bolts.left") == verdict


def test_a_negative_zero_is_shown_without_its_sign() -> None:
    assert _gap("-0.00 mm", plausible="").verdicts["gap"].text == "0.00"


def test_a_step_without_a_window_passes_once_taken() -> None:
    judged = _gap("-3 mm", window="", plausible="").verdicts["gap"]
    assert (judged.verdict, judged.margin) == ("inside", None)


# --- repeats ---


def test_repeats_wait_for_each_other_then_give_their_mean() -> None:
    walk = _gap("32.0 mm", "32.1 mm", window='window = ["25 mm", "40 mm"]\nrepeats = 3\nspread_within = "0.2 mm"')
    assert (walk.verdict("gap"), walk.verdicts["gap"].reason) == ("waiting", "2 of 3 taken")
    walk.read("32.1 mm")
    assert walk.verdicts["gap"].value == Fraction("32.1") - Fraction(1, 30)
    assert walk.verdicts["gap"].text == "≈ 32.1"


def test_a_mean_is_never_rounded_over_a_limit() -> None:
    walk = _gap("40.0 mm", "40.0 mm", "40.1 mm", window='window = ["25 mm", "40 mm"]\nrepeats = 3')
    judged = walk.verdicts["gap"]
    assert (judged.verdict, judged.text) == ("high", "≈ 40.03")


@pytest.mark.parametrize(("third", "verdict"), [("32.2 mm", "inside"), ("32.21 mm", "unsteady")])
def test_repeats_that_disagree_are_unsteady_before_anything_else(third: str, verdict: str) -> None:
    walk = _gap("32.0 mm", "32.1 mm", third, window='repeats = 3\nspread_within = "0.2 mm"\nwindow = ["1 mm", "40 mm"]')
    assert walk.verdict("gap") == verdict


def test_readings_in_two_units_give_no_verdict_and_a_new_attempt_begins_at_once() -> None:
    walk = _gap("32.0 mm", "1.26 in", window='window = ["25 mm", "40 mm"]\nrepeats = 3')
    assert walk.verdict("gap") == "waiting"
    assert "two units" in walk.verdicts["gap"].reason
    assert (walk.prompt.number, walk.prompt.of) == (1, 3)
    walk.read("32.0 mm", "32.0 mm", "32.0 mm")
    assert walk.verdict("gap") == "inside"


# --- doubt ---


def test_an_implausible_value_is_held_until_it_is_taken_again() -> None:
    walk = _gap("3.62 mm", plausible='plausible = ["10 mm", "90 mm"]')
    assert walk.verdict("gap") == "waiting"
    assert walk.key == "measure:gap"
    assert "3.62 mm is not plausible here (10 mm to 90 mm)" in walk.verdicts["gap"].reason
    assert walk.read("36.2 mm").verdict("gap") == "inside"


def test_a_second_attempt_on_the_same_side_bears_it_out_so_that_nobody_is_trapped() -> None:
    assert _gap("95 mm").verdict("gap") == "waiting"
    assert _gap("95 mm", "96 mm").verdict("gap") == "high"
    assert _gap("95 mm", "0.05 mm").verdict("gap") == "waiting"


def test_a_withdrawn_or_disturbed_attempt_bears_nothing_out() -> None:
    assert _gap("95 mm").back().read("95 mm").verdict("gap") == "waiting"
    assert _gap("95 mm").loosened("bolts").read("95 mm").verdict("gap") == "waiting"


@pytest.mark.parametrize(("reading", "looks", "unit"), [("1.260 mm", "inches", "in"), ("32.0 in", "millimetres", "mm")])
def test_what_looks_like_another_unit_says_so_and_needs_a_person(reading: str, looks: str, unit: str) -> None:
    walk = _gap(reading, reading)
    assert walk.verdict("gap") == "waiting"
    assert f"looks like {looks}" in walk.verdicts["gap"].reason
    fixed = "1.260 in" if unit == "in" else "32.0 mm"
    assert walk.read(fixed).verdict("gap") == "inside"


def test_a_person_who_types_it_with_its_unit_is_believed() -> None:
    walk = _gap("3.0 mm", "3.0 mm")
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


# --- pairs ---


@pytest.mark.parametrize(
    ("left", "right", "verdict", "text"),
    [
        ("36.2 mm", "36.7 mm", "inside", "-0.5"),
        ("36.70 mm", "36.2 mm", "inside", "0.50"),
        ("36.2 mm", "36.71 mm", "uneven", "-0.51"),
        ("36.71 mm", "36.2 mm", "uneven", "0.51"),
        ("36.2 mm", "36.2 mm", "inside", "0.0"),
    ],
)
def test_the_sides_agree_within_the_limit_included(left: str, right: str, verdict: str, text: str) -> None:
    walk = small(upto="measure:ends.left").read(left, right)
    judged = walk.verdicts["ends.agreement"]
    assert (judged.verdict, judged.text, judged.unit) == (verdict, text, "mm")
    assert judged.margin == Fraction(1, 2) - abs(Fraction(text))


def test_a_pair_without_a_window_has_no_check_per_place_and_asks_each_in_turn() -> None:
    walk = small(upto="measure:ends.left")
    assert "ends.left" not in walk.verdicts
    assert walk.read("36.2 mm").key == "measure:ends.right"
    assert walk.verdicts["ends.agreement"].reason == "right: not taken yet"


def test_a_pair_read_in_two_units_is_settled_whichever_tool_is_taken_again() -> None:
    for again in ("36.2 mm", "1.425 in"):
        walk = small(upto="measure:ends.left").read("1.425 in", tool="C2").read("36.2 mm")
        assert walk.verdict("ends.agreement") == "waiting"
        assert walk.key == "measure:ends.left"
        tool = "C2" if again.endswith("in") else "C1"
        walk.read(again, tool=tool)
        if again.endswith("in"):
            assert walk.key == "measure:ends.right"
            walk.read(again, tool=tool)
        assert walk.verdict("ends.agreement") == "inside"


def test_a_pair_with_a_window_judges_both() -> None:
    walk = Walk(
        sheet_of(SMALL.replace('agree_within = "0.5 mm"', 'window = ["30 mm", "40 mm"]\nagree_within = "0.5 mm"'))
    )
    while not walk.key.startswith("measure:ends"):
        answer(walk)
    walk.read("29.9 mm", "30.2 mm")
    assert [walk.verdict(f"ends.{each}") for each in ("left", "right", "agreement")] == ["low", "inside", "inside"]


# --- torque ---


def _loose() -> Walk:
    """Both bolts loose, everything before them inside."""
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    return walk.read("32.0 mm", "32.0 mm", "32.0 mm")


@pytest.mark.parametrize(
    ("peak", "verdict"),
    [("35.99", "waiting"), ("36", "inside"), ("40.0", "inside"), ("44.00", "inside"), ("44.01", "high")],
)
def test_a_pull_from_loose_against_the_window(peak: str, verdict: str) -> None:
    judged = _loose().pull(f"{peak} N·m").verdicts["bolts.left"]
    assert judged.verdict == verdict
    assert judged.to_loosen == (verdict == "high")


def test_pulls_below_the_window_are_the_run_up() -> None:
    walk = _loose().pull("20 N·m").pull("35.5 N·m")
    assert walk.verdicts["bolts.left"].reason == "so far 35.5 N·m, still below the window"
    assert walk.key == "torque:bolts.left"
    assert walk.pull("39 N·m").verdict("bolts.left") == "inside"


def test_any_instant_above_latches_until_loosened() -> None:
    walk = _loose().pull("43 N·m", host="44.2")
    assert walk.verdict("bolts.left") == "high"
    assert walk.verdicts["bolts.left"].margin == Fraction(-1, 5)
    walk.pull("40 N·m")
    walk.back().back()
    assert walk.verdict("bolts.left") == "high"
    walk.loosened("bolts.left")
    assert walk.verdict("bolts.left") == "waiting"


def test_a_re_hit_is_told_and_replaces_nothing() -> None:
    walk = _loose().pull("40.5 N·m").pull("40.1 N·m")
    while walk.key != "close":
        answer(walk)
    walk.pull("43.9 N·m")
    judged = walk.verdicts["bolts.right"]
    assert (judged.verdict, judged.text) == ("inside", "40.1")
    assert "43.9 N·m" in judged.reason
    walk.pull("44.1 N·m")
    assert walk.verdict("bolts.right") == "high"


def test_an_unasked_pull_that_took_hold_needs_loosening_one_below_does_not() -> None:
    walk = _loose().back()
    assert walk.key == "measure:ends.right"
    below = walk.pull("20 N·m").verdicts["bolts.left"]
    assert (below.verdict, below.to_loosen) == ("waiting", False)
    held = walk.pull("40 N·m").verdicts["bolts.left"]
    assert (held.verdict, held.to_loosen) == ("waiting", True)


def test_the_first_pull_that_takes_hold_decides() -> None:
    walk = _loose()
    walk.pull("40 N·m", invalid="a gap of 400 ms in the stream")
    assert walk.key == "slacken:bolts.left"
    walk.pull("40 N·m")
    assert walk.verdict("bolts.left") == "waiting"
    walk.confirm()
    while not walk.key.startswith("torque"):
        answer(walk)
    assert walk.pull("40 N·m").verdict("bolts.left") == "inside"


def test_an_invalid_pull_that_stayed_below_is_pulled_again() -> None:
    walk = _loose().pull("20 N·m", invalid="a gap of 400 ms in the stream")
    assert walk.key == "torque:bolts.left"
    assert "cannot be used" in walk.verdicts["bolts.left"].reason


def test_a_fastener_nobody_loosened() -> None:
    walk = small(upto="untouched:bolts.left")
    assert walk.verdict("bolts.left") == "waiting"
    assert walk.confirm().verdict("bolts.left") == "done"


@pytest.mark.parametrize(
    ("pull", "verdict", "prompt"),
    [("20 N·m", "stale", "untouched:bolts.left"), ("40 N·m", "waiting", "slacken:bolts.left")],
)
def test_a_pull_on_a_fastener_that_was_confirmed_untouched(pull: str, verdict: str, prompt: str) -> None:
    """Below the window it stays where it was, to be looked at again; at the window it was torqued, not from loose."""
    event = small(upto="untouched:bolts.left").pull(pull).last
    walk = small(upto="untouched:bolts.right").say(event)
    assert walk.verdict("bolts.left") == verdict
    while walk.key.startswith("measure"):
        answer(walk)
    assert walk.key == prompt


def test_a_pull_over_the_window_on_an_untouched_fastener_latches() -> None:
    assert small(upto="untouched:bolts.left").pull("50 N·m").verdict("bolts.left") == "high"


def test_a_fastener_that_should_have_been_loosened_for_a_turning_is_loosened_and_torqued() -> None:
    judged = small(upto="close").turned().verdicts["bolts.left"]
    assert judged.verdict in WANTS
    assert judged.to_loosen


def test_a_torqued_fastener_that_was_disturbed_is_loosened_and_torqued_again() -> None:
    walk = _loose().pull("40 N·m").pull("40 N·m").turned().confirm()
    assert walk.verdict("bolts.left") == "stale"
    assert walk.verdicts["bolts.left"].to_loosen


def test_a_pull_in_a_unit_that_is_no_torque_judges_nothing() -> None:
    walk = _loose().pull("400 mm")
    assert walk.verdict("bolts.left") == "waiting"
    assert not walk.verdicts["bolts.left"].to_loosen


@pytest.mark.parametrize("unit", unit_names(["torque"]))
def test_every_torque_unit_is_judged(unit: str) -> None:
    assert _loose().pull(f"1000000 {unit}").verdict("bolts.left") == "high"


# --- confirmations, notes, overrides ---


def test_a_note_and_a_confirmation_are_done_until_disturbed() -> None:
    walk = Walk(shipped())
    assert (walk.verdict("mileage"), walk.verdict("ready")) == ("waiting", "waiting")
    walk.note("12480")
    assert (walk.verdict("mileage"), walk.verdicts["mileage"].text) == ("done", "12480")
    while walk.key != "close":
        answer(walk)
    assert walk.loosened("axle_nut").verdict("pin") == "stale"


def test_an_override_stands_in_front_of_every_verdict_and_says_what_it_was() -> None:
    walk = _gap("45.0 mm").override("gap", note="new chain ordered")
    judged = walk.verdicts["gap"]
    assert (judged.verdict, judged.text) == ("overridden", "45.0")
    assert judged.reason == "Robin: new chain ordered (was high)"


# --- the reasons, whole ---


def _why(walk: Walk, check: str = "bolts.left") -> tuple[str, str]:
    judged = walk.verdicts[check]
    return judged.verdict, judged.reason


def test_a_confirmation_and_a_note_say_what_they_wait_for() -> None:
    walk = Walk(shipped())
    assert _why(walk, "ready") == ("waiting", "not confirmed yet")
    assert _why(walk, "mileage") == ("waiting", "not written down yet")
    while walk.key != "close":
        answer(walk)
    assert _why(walk, "pin") == ("done", "")
    assert _why(walk.loosened("axle_nut"), "pin") == ("stale", "disturbed since it was confirmed")


def test_a_note_that_was_disturbed_is_asked_again_and_keeps_what_it_said() -> None:
    note = '[[step]]\nid = "felt"\nkind = "note"\ntitle = "How it runs"\nask = "Write down how it runs."\n'
    text = SMALL.replace('"cap", "runs"]', '"cap", "runs", "felt"]') + note
    walk = Walk(sheet_of(text))
    while walk.key != "note:felt":
        answer(walk)
    assert _why(walk.note("smooth"), "felt") == ("done", "")
    walk.turned()
    judged = walk.verdicts["felt"]
    assert (judged.verdict, judged.reason, judged.text) == ("stale", "disturbed since it was written down", "smooth")


def test_a_measurement_says_why_it_has_no_value() -> None:
    assert _why(_gap(), "gap") == ("waiting", "not taken yet")
    assert _why(_gap("32 mm").loosened("bolts"), "gap") == ("stale", "disturbed since it was taken")
    two = _gap("32.0 mm", "1.26 in", window="repeats = 3")
    assert _why(two, "gap") == ("waiting", "readings in two units: take it again with one tool")
    apart = _gap("32.0 mm", "32.3 mm", window='repeats = 2\nspread_within = "0.2 mm"')
    assert _why(apart, "gap") == ("unsteady", "repeats differ by 0.3 mm, more than 0.2 mm")
    sides = small(upto="measure:ends.left").read("1.425 in", tool="C2").read("36.2 mm")
    said = "the two sides were read in two units: take both with one tool"
    assert _why(sides, "ends.agreement") == ("waiting", said)


def test_a_fastener_that_nobody_loosened_says_what_it_wants() -> None:
    walk = small(upto="untouched:bolts.left")
    assert _why(walk) == ("waiting", "confirm that it is untouched, or loosen it")
    assert _why(walk.confirm()) == ("done", "not loosened, witness mark in line")
    tight = small(upto="untouched:bolts.left").pull("40.0 N·m")
    assert _why(tight) == ("waiting", f"pulled to 40.0 N·m without being loosened: {AGAIN}")
    turned = "the adjusters were turned: loosen it, then torque it"
    assert _why(small(upto="untouched:bolts.left").turned()) == ("waiting", turned)
    assert _why(small(upto="close").turned()) == ("stale", turned)


def test_a_loose_fastener_says_how_far_it_is() -> None:
    gap_in = "a gap of 400 ms in the stream"
    again = AGAIN
    assert _why(_loose()) == ("waiting", "loose, not torqued yet")
    assert _why(_loose().pull("20 N·m", invalid=gap_in)) == (
        "waiting",
        f"the last pull cannot be used ({gap_in}): pull again",
    )
    tight = "tight by a pull that does not count"
    assert _why(_loose().pull("40 N·m", invalid=gap_in)) == ("waiting", f"{tight} ({gap_in}): {again}")
    assert _why(_loose().back().pull("40 N·m")) == ("waiting", f"{tight} (nothing asked for it): {again}")
    assert _why(_loose().pull("40 N·m").back()) == ("waiting", f"{tight} (taken back): {again}")
    assert _why(_loose().pull("45 N·m")) == ("high", f"above the window: {again}")
    torqued = _loose().pull("40 N·m")
    assert _why(torqued) == ("inside", "")
    assert _why(torqued.loosened("bolts.left")) == ("stale", "loosened since it was torqued")
    assert _why(torqued.pull("20 N·m")) == ("waiting", "so far 20 N·m, still below the window")
    disturbed = _loose().pull("40 N·m").pull("40 N·m").turned().confirm()
    assert _why(disturbed) == ("stale", f"disturbed since it was torqued: {again}")


def test_every_re_hit_is_told_with_what_it_reached() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    while walk.key != "close":
        answer(walk)
    walk.pull("43.9 N·m").pull("30 N·m")
    said = "pulled again since, to 43.9 N·m, 30 N·m: the first pull stands"
    assert _why(walk, "bolts.right") == ("inside", said)


def test_what_was_let_pass_asks_for_nothing_more() -> None:
    judged = _loose().pull("45 N·m").override("bolts.left", note="seen by the foreman").verdicts["bolts.left"]
    assert (judged.verdict, judged.reason) == ("overridden", "Robin: seen by the foreman (was high)")
    assert not judged.to_loosen


def test_a_pair_is_as_stale_as_its_sides() -> None:
    walk = small(upto="measure:ends.left").read("36.2 mm", "36.3 mm").loosened("bolts")
    assert _why(walk, "ends.agreement") == ("stale", "left: disturbed since it was taken")


def test_a_fastener_confirmed_untouched_is_looked_at_again_after_whatever_may_have_moved_it() -> None:
    again = ("stale", "confirm that it is untouched, or loosen it")
    unplaced = small(upto="close").pull("30 N·m")
    assert (_why(unplaced), unplaced.verdicts["bolts.left"].to_loosen) == (again, False)
    undone = small(upto="untouched:bolts.left").pull("-12 N·m", anticlockwise=True).last
    walk = small(upto="untouched:bolts.right").say(undone)
    assert (_why(walk), walk.verdicts["bolts.left"].to_loosen) == (again, False)
