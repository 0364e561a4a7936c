"""Fasteners in passes, in turn, and pulls through an adapter."""

from decimal import Decimal
from fractions import Fraction

import pytest

from logger import events as ev
from logger.job import verdictwords, words
from logger.job.happened import happened
from logger.job.prompt import Prompt
from logger.job.torquepass import adapter_of, aim_on_wrench, geometry, on_wrench
from tests.logger.job.torquing import AGAIN, STRAIGHT, asked, loose, reason, unasked
from tests.logger.walk import answer, bolted, shipped

SLOTS = ("left", "right", "upper", "lower")


# --- passes ---------------------------------------------------------------------------------------------------------


def test_every_fastener_goes_through_a_pass_before_any_begins_the_next() -> None:
    walk, asked = loose(bolted(fasteners=4, passes=2)), []
    while walk.prompt.kind == "torque":
        asked.append((walk.prompt.place, walk.prompt.number, walk.prompt.of))
        answer(walk)
    assert asked == [(slot, number, 3) for number in (1, 2, 3) for slot in SLOTS]
    assert [walk.verdict(f"bolts.{slot}") for slot in SLOTS] == ["inside"] * 4


def test_a_step_without_passes_is_one_pass_and_its_prompts_are_as_they_were() -> None:
    walk = loose(bolted())
    assert (walk.prompt, walk.key) == (Prompt("torque", "bolts", "left"), "torque:bolts.left")


def test_the_verdict_rests_on_the_last_pass_and_says_how_far_a_fastener_is() -> None:
    walk = loose(bolted(passes=1)).pull("14.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.reason, judged.value) == ("waiting", "through pass 1 of 2", None)
    walk.pull("14.0 N·m").pull("30.0 N·m")
    assert walk.verdicts["bolts.left"].reason == "through pass 1 of 2; so far 30.0 N·m, still below the window"
    assert asked(walk) == ("torque", "left", 2)


@pytest.mark.parametrize("peak", ["16.1 N·m", "40.0 N·m"])
def test_above_the_window_of_its_pass_it_is_high_even_inside_the_last(peak: str) -> None:
    walk = loose(bolted(passes=1)).pull(peak)
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == "high"
    assert judged.reason == f"above the window of pass 1: {AGAIN}"
    assert f"{judged.text} {judged.unit}" == peak
    assert walk.prompt.kind == "slacken"


def test_one_that_was_loosened_begins_at_the_first_pass_and_the_others_keep_theirs() -> None:
    walk = loose(bolted(fasteners=3, passes=1))
    for _ in range(3):
        answer(walk)
    walk.pull("44.5 N·m")
    assert (walk.verdict("bolts.left"), walk.prompt.kind) == ("high", "slacken")
    walk.confirm()
    while walk.prompt.kind == "measure":
        answer(walk)
    asked = []
    while walk.prompt.kind == "torque":
        asked.append((walk.prompt.place, walk.prompt.number))
        answer(walk)
    assert asked == [("left", 1), ("left", 2), ("right", 2), ("upper", 2)]


def test_a_pull_on_one_that_is_through_its_pass_is_a_re_hit_and_replaces_nothing() -> None:
    walk = loose(bolted(passes=1)).pull("14.0 N·m")
    again = unasked(walk, "left", "15.0 N·m")
    assert again.warnings == ("a re-hit: it was through pass 1 already, and the first pull stands",)
    assert walk.verdicts["bolts.left"].reason == "through pass 1 of 2"
    assert asked(walk) == ("torque", "right", 1)


def test_a_pull_after_every_fastener_is_through_the_last_pass_is_a_re_hit_of_that_pass() -> None:
    walk = loose(bolted(passes=1)).pull("14.0 N·m").pull("14.0 N·m").pull("40.0 N·m").pull("40.0 N·m")
    again = unasked(walk, "left", "41.0 N·m")
    assert again.warnings == ("a re-hit: it was inside already, and the first pull stands",)
    assert [pull.number for pull in walk.job.fastener(("bolts", "left")).pulls] == [1, 2, 2]
    assert (walk.verdict("bolts.left"), walk.verdicts["bolts.left"].text) == ("inside", "40.0")


def test_one_may_not_go_to_the_next_pass_while_another_lags_behind() -> None:
    walk = loose(bolted(passes=1)).pull("14.0 N·m")
    unasked(walk, "left", "40.0 N·m")
    assert walk.verdict("bolts.left") == "high"
    assert asked(walk)[:2] == ("slacken", "left")


def test_an_overridden_fastener_keeps_nobody_back() -> None:
    walk = loose(bolted(passes=1)).override("bolts.left")
    assert asked(walk) == ("torque", "right", 1)
    walk.pull("14.0 N·m")
    assert asked(walk) == ("torque", "right", 2)


def test_a_pull_of_an_early_pass_that_is_taken_back_has_left_it_tight() -> None:
    walk = loose(bolted(passes=1)).pull("14.0 N·m").back()
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("waiting", True)
    assert "taken back" in judged.reason


def test_the_words_tell_the_pass_with_its_own_window() -> None:
    walk = loose(bolted(passes=1))
    assert words.headline(walk.job, walk.prompt) == "Bearing bolts, left: pull, pass 1 of 2"
    lines = words.detail(walk.job, walk.prompt)
    assert "Pass 1 of 2: from loose, each in turn, then the next pass." in lines
    assert "Window 12 N·m to 16 N·m, aim 14 N·m" in lines


def test_the_words_of_the_next_pass_undo_nothing_of_the_one_before() -> None:
    walk = loose(bolted(passes=1)).pull("14.0 N·m").pull("14.0 N·m")
    assert words.headline(walk.job, walk.prompt) == "Bearing bolts, left: pull, pass 2 of 2"
    lines = words.detail(walk.job, walk.prompt)
    assert "Pass 2 of 2: on from pass 1, loosen nothing, each in turn." in lines
    (bolts,) = shipped("parcel-conveyor").torques
    assert "loose" not in bolts.ask, "what holds for the first pass alone is said of that pass alone"


# --- adapters ---------------------------------------------------------------------------------------------------------


def test_window_and_aim_are_corrected_for_the_wrench_and_both_are_shown() -> None:
    walk = loose(bolted(adapter=STRAIGHT))
    step = walk.sheet.torques[0]
    adapter = adapter_of(walk.job, step)
    assert on_wrench(step.window, adapter, "N·m") == (Fraction(360, 11), Fraction(40))
    assert aim_on_wrench(step.aim, adapter, "N·m") == Fraction(400, 11)
    lines = words.detail(walk.job, walk.prompt)
    assert "At the fastener: window 36 N·m to 44 N·m, aim 40 N·m" in lines
    on_it = "On the wrench, with the adapter (40 mm on a wrench of 400 mm): ≈ 32.73 N·m to 40.00 N·m, aim ≈ 36.36 N·m"
    assert on_it in lines


@pytest.mark.parametrize(
    ("shown", "verdict"),
    [("32.72 N·m", "waiting"), ("32.73 N·m", "inside"), ("40.00 N·m", "inside"), ("40.01 N·m", "high")],
)
def test_a_pull_is_judged_at_the_fastener_limits_included(shown: str, verdict: str) -> None:
    walk = loose(bolted(adapter=STRAIGHT)).pull(shown)
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == verdict
    if verdict == "inside":
        assert judged.value == Fraction(Decimal(shown.split(maxsplit=1)[0])) * Fraction(11, 10)
        assert f"the wrench read {shown}, with the adapter" in judged.reason


def test_what_the_wrench_read_is_told_with_what_it_is_at_the_fastener() -> None:
    walk = loose(bolted(adapter=STRAIGHT)).pull("36.4 N·m")
    said = happened(walk.job, walk.last)
    assert said == "Pull of 36.4 N·m on the wrench (40.04 N·m at the fastener) on Bearing bolts, left"


def test_a_pull_through_an_adapter_in_another_unit_is_told_in_that_of_the_window_too() -> None:
    walk = loose(bolted(adapter=STRAIGHT)).pull("27 lbf·ft")
    said = happened(walk.job, walk.last)
    assert said.startswith("Pull of 27 lbf·ft on the wrench (29.7 lbf·ft, ≈ 40.3 N·m at the fastener)")


def test_a_pull_keeps_the_adapter_it_was_made_with_also_after_another_was_declared() -> None:
    walk = loose(bolted(adapter=STRAIGHT)).pull("36.4 N·m")
    before = walk.verdicts["bolts.left"]
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    assert event.adapter == ev.Adapter(wrench="400 mm", extension="40 mm")
    walk.say(ev.AdapterDeclared(step="bolts", adapter=None))
    assert walk.verdicts["bolts.left"] == before
    walk.pull("36.4 N·m")
    assert walk.job.fastener(("bolts", "right")).pulls[0].adapter is None
    assert walk.verdicts["bolts.right"].value == Fraction(364, 10)


def test_an_adapter_that_was_declared_counts_from_then_on() -> None:
    walk = loose(bolted())
    walk.say(ev.AdapterDeclared(step="bolts", adapter=ev.Adapter(wrench="400 mm", extension="40 mm", angle=180)))
    walk.pull("44.4 N·m")
    assert walk.verdicts["bolts.left"].value == Fraction(444, 10) * Fraction(9, 10)
    assert walk.verdict("bolts.left") == "inside"


def test_the_words_of_a_job_with_an_adapter_square_to_the_wrench() -> None:
    walk = loose(bolted(adapter="400 mm, 40 mm, 90")).pull("40.0 N·m")
    assert walk.verdicts["bolts.left"].text == "40.00"
    assert geometry(adapter_of(walk.job, walk.sheet.torques[0])) is not None


def test_what_is_said_of_a_pull_too_high_names_no_value_twice_and_nests_no_brackets() -> None:
    walk = loose(bolted(adapter="400 mm, 40 mm, 0")).pull("44.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert judged.reason == f"the wrench read 44.0 N·m, with the adapter, above the window: {AGAIN}"
    line = verdictwords.verdict_line(walk.job, judged)
    assert line.count("(") == 1
    assert line.count(judged.text) == 1


def test_with_an_adapter_the_reason_says_what_the_wrench_read_and_what_came_after() -> None:
    walk = loose(bolted(adapter=STRAIGHT)).pull("36.4 N·m")
    assert reason(walk) == "the wrench read 36.4 N·m, with the adapter"
    unasked(walk, "left", "36.0 N·m")
    again = "pulled again since, to 36.0 N·m: the first pull stands"
    assert reason(walk) == f"the wrench read 36.4 N·m, with the adapter; {again}"


def test_the_torque_at_the_fastener_has_a_digit_more_than_the_wrench_shows() -> None:
    judged = loose(bolted(adapter=STRAIGHT)).pull("36.37 N·m").verdicts["bolts.left"]
    assert (judged.text, judged.unit, judged.margin) == ("40.007", "N·m", Fraction("3.993"))
    high = loose(bolted(adapter=STRAIGHT)).pull("44.0 N·m").verdicts["bolts.left"]
    assert (high.text, high.unit, high.margin) == ("48.40", "N·m", Fraction("-4.4"))


def test_a_torque_just_above_the_window_is_not_written_as_its_limit() -> None:
    """38.71 N·m on a wrench of 300 mm with 41 mm: x 341 / 300 that is 44.00037 N·m, to a digit more 44.000."""
    high = loose(bolted(adapter="300 mm, 41 mm, 0")).pull("38.71 N·m").verdicts["bolts.left"]
    assert (high.verdict, high.text) == ("high", "≈ 44.0004")


def test_a_pull_of_the_next_pass_is_one_where_the_only_other_was_let_pass() -> None:
    walk = loose(bolted(passes=1)).override("bolts.left").pull("14.0 N·m").pull("40.0 N·m")
    assert [pull.number for pull in walk.job.fastener(("bolts", "right")).pulls] == [1, 2]
    assert walk.verdict("bolts.right") == "inside"
