"""Fasteners: passes in turn, adapters, guarded decisions, and wrenches that may not decide."""

from decimal import Decimal
from fractions import Fraction

import pytest

from logger import events as ev
from logger.bench import intake
from logger.job import verdictwords, words
from logger.job.happened import happened
from logger.job.facts import Pull
from logger.job.prompt import Prompt
from logger.job.torquefit import budget
from logger.job.torquepass import adapter_of, aim_on_wrench, geometry, on_wrench
from logger.metrology.uncertainty import true_torque_interval
from tests.logger.walk import Walk, answer, bolted, described, sheet_of, shipped

AGAIN = "loosen it; Belt sag and Bearing position come first, then torque again"
"""What stands against a bolt of the small sheet that only loosening can help: its loosening disturbs both."""

SLOTS = ("left", "right", "upper", "lower")


def _loose(text: str, *stated: ev.ToolDescribed) -> Walk:
    """A job that goes as far as the first bolt to be torqued: too slack, adjusted, measured again."""
    walk = Walk(sheet_of(text))
    for each in (*stated, described("C1", "caliper", accuracy="0.02 mm", resolution="0.01 mm")):
        walk.say(each)
    walk.confirm().read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm")
    assert walk.prompt.kind == "torque"
    return walk


def _asked(walk: Walk) -> tuple[str, str, int]:
    return walk.prompt.kind, walk.prompt.place, walk.prompt.number


# --- passes ---------------------------------------------------------------------------------------------------------


def test_every_fastener_goes_through_a_pass_before_any_begins_the_next() -> None:
    walk, asked = _loose(bolted(fasteners=4, passes=2)), []
    while walk.prompt.kind == "torque":
        asked.append((walk.prompt.place, walk.prompt.number, walk.prompt.of))
        answer(walk)
    assert asked == [(slot, number, 3) for number in (1, 2, 3) for slot in SLOTS]
    assert [walk.verdict(f"bolts.{slot}") for slot in SLOTS] == ["inside"] * 4


def test_a_step_without_passes_is_one_pass_and_its_prompts_are_as_they_were() -> None:
    walk = _loose(bolted())
    assert (walk.prompt, walk.key) == (Prompt("torque", "bolts", "left"), "torque:bolts.left")


def test_the_verdict_rests_on_the_last_pass_and_says_how_far_a_fastener_is() -> None:
    walk = _loose(bolted(passes=1)).pull("14.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.reason, judged.value) == ("waiting", "through pass 1 of 2", None)
    walk.pull("14.0 N·m").pull("30.0 N·m")
    assert walk.verdicts["bolts.left"].reason == "through pass 1 of 2; so far 30.0 N·m, still below the window"
    assert _asked(walk) == ("torque", "left", 2)


@pytest.mark.parametrize("peak", ["16.1 N·m", "40.0 N·m"])
def test_above_the_window_of_its_pass_it_is_high_even_inside_the_last(peak: str) -> None:
    walk = _loose(bolted(passes=1)).pull(peak)
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == "high"
    assert judged.reason == f"above the window of pass 1: {AGAIN}"
    assert f"{judged.text} {judged.unit}" == peak
    assert walk.prompt.kind == "slacken"


def test_one_that_was_loosened_begins_at_the_first_pass_and_the_others_keep_theirs() -> None:
    walk = _loose(bolted(fasteners=3, passes=1))
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


def _unasked(walk: Walk, place: str, peak: str) -> ev.PullTaken:
    """A pull on a fastener that the prompt does not ask for."""
    event = intake.reading_event(walk.job, Prompt("slacken", "bolts", place), walk.reading(peak, tool="W1"))
    assert isinstance(event, ev.PullTaken)
    walk.say(event)
    return event


def test_a_pull_on_one_that_is_through_its_pass_is_a_re_hit_and_replaces_nothing() -> None:
    walk = _loose(bolted(passes=1)).pull("14.0 N·m")
    again = _unasked(walk, "left", "15.0 N·m")
    assert again.warnings == ("a re-hit: it was through pass 1 already, and the first pull stands",)
    assert walk.verdicts["bolts.left"].reason == "through pass 1 of 2"
    assert _asked(walk) == ("torque", "right", 1)


def test_one_may_not_go_to_the_next_pass_while_another_lags_behind() -> None:
    walk = _loose(bolted(passes=1)).pull("14.0 N·m")
    _unasked(walk, "left", "40.0 N·m")
    assert walk.verdict("bolts.left") == "high"
    assert _asked(walk)[:2] == ("slacken", "left")


def test_an_overridden_fastener_keeps_nobody_back() -> None:
    walk = _loose(bolted(passes=1)).override("bolts.left")
    assert _asked(walk) == ("torque", "right", 1)
    walk.pull("14.0 N·m")
    assert _asked(walk) == ("torque", "right", 2)


def test_a_pull_of_an_early_pass_that_is_taken_back_has_left_it_tight() -> None:
    walk = _loose(bolted(passes=1)).pull("14.0 N·m").back()
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("waiting", True)
    assert "taken back" in judged.reason


def test_the_words_tell_the_pass_with_its_own_window() -> None:
    walk = _loose(bolted(passes=1))
    assert words.headline(walk.job, walk.prompt) == "Bearing bolts, left: pull, pass 1 of 2"
    lines = words.detail(walk.job, walk.prompt)
    assert "Pass 1 of 2: from loose, each in turn, then the next pass." in lines
    assert "Window 12 N·m to 16 N·m, aim 14 N·m" in lines


def test_the_words_of_the_next_pass_undo_nothing_of_the_one_before() -> None:
    walk = _loose(bolted(passes=1)).pull("14.0 N·m").pull("14.0 N·m")
    assert words.headline(walk.job, walk.prompt) == "Bearing bolts, left: pull, pass 2 of 2"
    lines = words.detail(walk.job, walk.prompt)
    assert "Pass 2 of 2: on from pass 1, loosen nothing, each in turn." in lines
    (bolts,) = shipped("parcel-conveyor").torques
    assert "loose" not in bolts.ask, "what holds for the first pass alone is said of that pass alone"


# --- adapters -------------------------------------------------------------------------------------------------------

STRAIGHT = "400 mm, 40 mm, 0"


def test_window_and_aim_are_corrected_for_the_wrench_and_both_are_shown() -> None:
    walk = _loose(bolted(adapter=STRAIGHT))
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
    walk = _loose(bolted(adapter=STRAIGHT)).pull(shown)
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == verdict
    if verdict == "inside":
        assert judged.value == Fraction(Decimal(shown.split(maxsplit=1)[0])) * Fraction(11, 10)
        assert f"the wrench read {shown}, with the adapter" in judged.reason


def test_what_the_wrench_read_is_told_with_what_it_is_at_the_fastener() -> None:
    walk = _loose(bolted(adapter=STRAIGHT)).pull("36.4 N·m")
    said = happened(walk.job, walk.last)
    assert said == "Pull of 36.4 N·m on the wrench (40.04 N·m at the fastener) on Bearing bolts, left"


def test_a_pull_through_an_adapter_in_another_unit_is_told_in_that_of_the_window_too() -> None:
    walk = _loose(bolted(adapter=STRAIGHT)).pull("27 lbf·ft")
    said = happened(walk.job, walk.last)
    assert said.startswith("Pull of 27 lbf·ft on the wrench (29.7 lbf·ft, ≈ 40.3 N·m at the fastener)")


def test_a_pull_keeps_the_adapter_it_was_made_with_also_after_another_was_declared() -> None:
    walk = _loose(bolted(adapter=STRAIGHT)).pull("36.4 N·m")
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
    walk = _loose(bolted())
    walk.say(ev.AdapterDeclared(step="bolts", adapter=ev.Adapter(wrench="400 mm", extension="40 mm", angle=180)))
    walk.pull("44.4 N·m")
    assert walk.verdicts["bolts.left"].value == Fraction(444, 10) * Fraction(9, 10)
    assert walk.verdict("bolts.left") == "inside"


def test_the_words_of_a_job_with_an_adapter_square_to_the_wrench() -> None:
    walk = _loose(bolted(adapter="400 mm, 40 mm, 90")).pull("40.0 N·m")
    assert walk.verdicts["bolts.left"].text == "40.00"
    assert geometry(adapter_of(walk.job, walk.sheet.torques[0])) is not None


# --- guarded decisions ----------------------------------------------------------------------------------------------


def test_a_pull_inside_the_window_but_too_near_a_limit_is_unsure_and_to_be_loosened() -> None:
    """±4 % of the true torque: U = 2 x 37 x 0.04 / (1 - 0.04^2) / sqrt 3 = 1.7117 N·m, and 0.0577 of 0.1 N·m."""
    walk = _loose(bolted(decision="guarded"), described(accuracy="4 %")).pull("37.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("unsure", True)
    assert judged.decision is not None
    assert judged.decision.expanded == pytest.approx(1.7127, abs=1e-4)
    assert judged.decision.acceptance is not None
    assert float(judged.decision.acceptance.low or 0) == pytest.approx(37.7127, abs=1e-4)
    assert f"{AGAIN} into ≈ 37.8 N·m to ≈ 42.2 N·m" in judged.reason
    assert walk.prompt.kind == "slacken"
    assert verdictwords.settle(walk.job, judged).startswith("Bearing bolts, left: too near a limit to tell")
    walk.override("bolts.left")
    assert walk.verdict("bolts.left") == "overridden"


@pytest.mark.parametrize(
    ("more", "peak", "verdict"),
    [
        ('guard = "2 N·m"', "37.9 N·m", "unsure"),
        ('guard = "2 N·m"', "38.0 N·m", "inside"),
        ('guard = "2 N·m"\nguarded = "high"', "36.0 N·m", "inside"),
        ('guard = "2 N·m"\nguarded = "high"', "42.1 N·m", "unsure"),
        ('guard = "2 N·m"\nguarded = "low"', "42.1 N·m", "inside"),
        ('guard = "2 N·m"', "35.9 N·m", "waiting"),
        ('guard = "2 N·m"', "44.1 N·m", "high"),
    ],
)
def test_the_guard_band_of_the_sheet_at_the_limits_it_names(more: str, peak: str, verdict: str) -> None:
    walk = _loose(bolted(decision="guarded", more=more), described()).pull(peak)
    assert walk.verdict("bolts.left") == verdict


def test_a_simple_decision_tells_margin_and_chance_and_gives_the_verdict_of_the_limits() -> None:
    walk = _loose(bolted(), described(accuracy="4 %")).pull("36.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == "inside"
    assert judged.margin == 0
    assert judged.decision is not None
    assert judged.decision.chance == pytest.approx(0.5, abs=0.001)
    assert judged.unknown == ("calibration",)


def test_of_a_wrench_nothing_is_stated_of_there_is_no_chance_and_no_guarded_verdict() -> None:
    walk = _loose(bolted()).pull("40.0 N·m")
    assert (walk.verdict("bolts.left"), walk.verdicts["bolts.left"].decision) == ("inside", None)
    walk = _loose(bolted(decision="guarded")).pull("40.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("waiting", True)
    assert judged.reason.startswith("nothing states how far W1 may be off")


def _pull(peak: str, **more: object) -> Pull:
    fields: dict[str, object] = {"seq": 1, "peak": Decimal(peak), "most": Decimal(peak), "text": peak, "unit": "N·m"}
    made = {"tool": "W1", "asked": True} | fields | more
    return Pull(**made)  # type: ignore[arg-type]


def test_the_accuracy_of_a_wrench_is_of_the_true_torque() -> None:
    """ISO 6789: 100 indicated at ±4 % is 96.154 to 104.167 N·m true; u is that width / sqrt 12 (GUM 4.3.8)."""
    walk = Walk(sheet_of(bolted())).say(described(accuracy="4 %", resolution="0 N·m"))
    low, high = true_torque_interval(100, Fraction(4, 100))
    assert budget(walk.job, _pull("100")).u == pytest.approx(float(high - low) / 12**0.5)


def test_what_sampling_can_miss_counts_where_the_largest_sample_decides() -> None:
    walk = Walk(sheet_of(bolted())).say(described(accuracy="0 N·m", resolution="0 N·m"))
    assert budget(walk.job, _pull("40", under_read=Decimal("1.5"))).u == pytest.approx(1.5 / 3**0.5)
    assert budget(walk.job, _pull("40")).u == 0


def test_an_adapter_makes_the_uncertainty_larger_with_the_torque() -> None:
    walk = Walk(sheet_of(bolted())).say(described(accuracy="1 N·m", resolution="0 N·m"))
    plain, long = budget(walk.job, _pull("40")), budget(walk.job, _pull("40", adapter=_STRAIGHT))
    assert long.u == pytest.approx(plain.u * 1.1)
    assert long.assumed == "the lengths of the adapter taken as exact"


_STRAIGHT = ev.Adapter(wrench="400 mm", extension="40 mm")

# --- fitness --------------------------------------------------------------------------------------------------------


def _with_battery(percent: int) -> ev.ToolSeen:
    return ev.ToolSeen(tool="W1", tool_kind="torque wrench", link="ready", battery=percent)


@pytest.mark.parametrize(
    ("stated", "battery", "more", "reason"),
    [
        ({"due": "2026-01-04"}, 80, "", "the calibration of W1 was due on 2026-01-04"),
        ({}, 5, "", "the battery of W1 was at 5 %"),
        ({"resolution": "2.1 N·m"}, 80, "", "W1 reads in steps of 2.1 N·m, more than a quarter of the window"),
    ],
)
def test_a_wrench_that_is_not_fit_gives_no_verdict_and_says_why(
    stated: dict[str, str], battery: int, more: str, reason: str
) -> None:
    walk = _loose(bolted(more=more), described(**stated)).say(_with_battery(battery)).pull("40.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("waiting", True)
    assert judged.reason == f"{reason}: {AGAIN} with another tool, or override with a note"


@pytest.mark.parametrize(
    ("stated", "battery", "more", "warning"),
    [
        ({"due": "2026-01-05"}, 80, "", ()),
        ({"resolution": "0.8 N·m"}, 16, "", ()),
        ({}, 15, "", ("the battery of W1 was at 15 %: change it soon",)),
        ({"resolution": "0.81 N·m"}, 80, "", ("W1 reads in steps of 0.81 N·m, more than a tenth of the window",)),
        ({"resolution": "3 N·m"}, 80, "allow_coarse = true", ("W1 reads in steps of 3 N·m, more than a quarter",)),
    ],
)
def test_what_is_worth_a_warning_changes_no_verdict(
    stated: dict[str, str], battery: int, more: str, warning: tuple[str, ...]
) -> None:
    walk = _loose(bolted(more=more), described(**stated)).say(_with_battery(battery)).pull("40.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == "inside"
    assert len(judged.warnings) == len(warning)
    assert all(said.startswith(begun) for said, begun in zip(judged.warnings, warning, strict=True))


def test_another_wrench_settles_it_and_a_battery_that_falls_later_does_not_undo_a_pull() -> None:
    walk = _loose(bolted(), described()).say(_with_battery(60)).pull("40.0 N·m").say(_with_battery(4))
    assert walk.verdict("bolts.left") == "inside"
    walk.pull("40.0 N·m")
    assert walk.verdict("bolts.right") == "waiting"


def test_what_a_wrench_can_tell_is_said_with_the_prompt_before_the_pull() -> None:
    """At the aim, 40 N·m: U = 2 x 40 x 0.04 / 0.9984 / sqrt 3 = 1.8505, and 0.0577 of 0.1 N·m: 1.8514 N·m."""
    walk = _loose(bolted(decision="guarded"), described(accuracy="4 %"))
    lines = words.detail(walk.job, walk.prompt)
    assert "To be sure with W1: ≈ 37.9 N·m to ≈ 42.1 N·m at the fastener" in lines
    walk.say(_with_battery(4))
    assert "Not with W1: the battery of W1 was at 4 %." in words.detail(walk.job, walk.prompt)
    walk.say(_with_battery(9))
    assert "Mind: the battery of W1 was at 9 %: change it soon." in words.detail(walk.job, walk.prompt)
    walk.say(described(accuracy="12 %"))
    assert "Not with W1: it cannot tell any torque in this window." in words.detail(walk.job, walk.prompt)
    simple = _loose(bolted(), described(accuracy="4 %"))
    assert not any("W1" in line for line in words.detail(simple.job, simple.prompt))


# --- set and clicked ------------------------------------------------------------------------------------------------


def _typed(walk: Walk, text: str) -> ev.PullTaken:
    walk.read(text, tool="typed", kind="", source="typed")
    assert isinstance(walk.last, ev.PullTaken)
    return walk.last


def test_a_typed_torque_was_set_and_clicked_and_is_told_so() -> None:
    walk = _loose(bolted())
    assert _typed(walk, "40 N·m").how == "set and clicked"
    assert happened(walk.job, walk.last) == "Bearing bolts, left: set and clicked at 40 N·m"
    assert walk.job.fastener(("bolts", "left")).pulls[0].how == "set and clicked"
    assert walk.verdict("bolts.left") == "inside"


@pytest.mark.parametrize(
    ("declared", "tool", "how"),
    [
        (("torque wrench", "torque wrench"), "torque wrench", "measured"),
        (("setting wrench", "setting wrench"), "setting wrench", "set and clicked"),
        (("TW-2", "torque wrench"), "TW-2", "measured"),
        (("tape", "tape"), "typed", "set and clicked"),
        (("typed", ""), "typed", "set and clicked"),
    ],
)
def test_a_typed_torque_is_of_the_wrench_that_was_declared(declared: tuple[str, str], tool: str, how: str) -> None:
    walk = _loose(bolted()).say(ev.ToolDeclared(tool=declared[0], tool_kind=declared[1]))
    event = _typed(walk, "40 N·m")
    assert (event.tool, event.how) == (tool, how)


def test_a_setting_wrench_on_the_radio_measures_nothing_either() -> None:
    walk = _loose(bolted(), described(kind="setting wrench")).pull("40 N·m", alone=False)
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    assert event.how == "set and clicked"
    walk = _loose(bolted(), described()).pull("40 N·m")
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    assert event.how == "measured"


def test_what_is_said_of_a_pull_too_high_names_no_value_twice_and_nests_no_brackets() -> None:
    walk = _loose(bolted(adapter="400 mm, 40 mm, 0")).pull("44.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert judged.reason == f"the wrench read 44.0 N·m, with the adapter, above the window: {AGAIN}"
    line = verdictwords.verdict_line(walk.job, judged)
    assert line.count("(") == 1
    assert line.count(judged.text) == 1


# --- the reasons, whole ---------------------------------------------------------------------------------------------


def _why(walk: Walk) -> str:
    return walk.verdicts["bolts.left"].reason


def test_what_would_be_near_enough_is_named_and_a_tool_that_can_tell_nothing_too() -> None:
    """Acceptance limits of the pull itself: 36 + 1.7127 and 44 - 1.7127 N·m, rounded inwards to its tenths."""
    near = _loose(bolted(decision="guarded"), described(accuracy="4 %")).pull("37.0 N·m")
    into = f"too near a limit to tell: {AGAIN} into ≈ 37.8 N·m to ≈ 42.2 N·m"
    assert _why(near) == f"{into}, or override with a note"
    blunt = _loose(bolted(decision="guarded"), described(accuracy="12 %")).pull("40.0 N·m")
    nothing = "W1 cannot tell any torque in this window: torque with a better tool, or override with a note"
    assert (blunt.verdict("bolts.left"), _why(blunt)) == ("unsure", nothing)


def test_with_an_adapter_the_reason_says_what_the_wrench_read_and_what_came_after() -> None:
    walk = _loose(bolted(adapter=STRAIGHT)).pull("36.4 N·m")
    assert _why(walk) == "the wrench read 36.4 N·m, with the adapter"
    _unasked(walk, "left", "36.0 N·m")
    again = "pulled again since, to 36.0 N·m: the first pull stands"
    assert _why(walk) == f"the wrench read 36.4 N·m, with the adapter; {again}"


def test_the_torque_at_the_fastener_has_a_digit_more_than_the_wrench_shows() -> None:
    judged = _loose(bolted(adapter=STRAIGHT)).pull("36.37 N·m").verdicts["bolts.left"]
    assert (judged.text, judged.unit, judged.margin) == ("40.007", "N·m", Fraction("3.993"))
    high = _loose(bolted(adapter=STRAIGHT)).pull("44.0 N·m").verdicts["bolts.left"]
    assert (high.text, high.unit, high.margin) == ("48.40", "N·m", Fraction("-4.4"))


def test_pulls_that_took_hold_or_went_over_are_the_attempts() -> None:
    walk = _loose(bolted()).pull("20 N·m")
    assert walk.verdicts["bolts.left"].attempts == 0
    assert walk.pull("45 N·m").verdicts["bolts.left"].attempts == 1
    assert _loose(bolted()).pull("40 N·m").verdicts["bolts.left"].attempts == 1


def test_a_pull_of_the_next_pass_is_one_where_the_only_other_was_let_pass() -> None:
    walk = _loose(bolted(passes=1)).override("bolts.left").pull("14.0 N·m").pull("40.0 N·m")
    assert [pull.number for pull in walk.job.fastener(("bolts", "right")).pulls] == [1, 2]
    assert walk.verdict("bolts.right") == "inside"
