"""Zero checks: the verdict, when one is wanted again, and what a failed one makes suspect."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger import events as ev
from logger.bench import intake
from logger.job import verdictwords, words
from logger.job.happened import happened
from logger.job.job import apply
from logger.job.zeroed import limits_of, suspected, to_check
from logger.sheets.sheet import ZeroStep
from logger.units import position
from tests.logger.walk import Walk, answer, sheet_of

from .zeroing import zeroed_sheet


def _at_zero(*, start: bool = True, end: bool = False, every: int = 0, reference: str = "0 mm") -> Walk:
    return Walk(sheet_of(zeroed_sheet(start=start, end=end, every=every, reference=reference))).confirm()


def _done(walk: Walk, upto: str, reading: str = "32.00 mm") -> Walk:
    """Go on without a fault as far as a prompt, zero checks reading 0.00 mm."""
    while not walk.key.startswith(upto):
        if walk.prompt.kind == "zero":
            step = walk.sheet.by_id[walk.prompt.step]
            assert isinstance(step, ZeroStep)
            walk.read("0.00 mm", tool=to_check(walk.job, step) or "C1")
        else:
            answer(walk, reading)
    return walk


# --- the verdict ---


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        ("0.00 mm", "inside"),
        ("-0.00 mm", "inside"),
        ("0.02 mm", "inside"),
        ("-0.02 mm", "inside"),
        ("0.021 mm", "high"),
        ("-0.03 mm", "low"),
        ("0.0007 in", "inside"),
        ("0.0008 in", "high"),
    ],
)
def test_limits_are_inclusive_exact_and_converted_once(reading: str, verdict: str) -> None:
    """0.02 mm is 0.000787... in, by the inch of 25.4 mm exactly (NIST SP 811)."""
    walk = _at_zero()
    assert (walk.key, walk.verdict("zero")) == ("zero:zero", "waiting")
    assert walk.read(reading).verdict("zero") == verdict


def test_a_gauge_block_is_a_reference_too() -> None:
    assert _at_zero(reference="25 mm").read("25.02 mm").verdict("zero") == "inside"
    assert _at_zero(reference="25 mm").read("0.00 mm").verdict("zero") == "low"


@given(st.integers(-60, 60))
def test_a_zero_check_passes_exactly_within(hundredths: int) -> None:
    value = Decimal(hundredths).scaleb(-3)
    walk = _at_zero().read(f"{value:f} mm")
    assert (walk.verdict("zero") == "inside") == (abs(value) <= Decimal("0.02"))
    assert (walk.verdict("zero") == "inside") == (position(value, limits_of(walk.sheet.zeros[0], "mm")) == "inside")


def test_a_failed_check_stays_until_a_good_one_and_says_what_to_do() -> None:
    walk = _at_zero().read("0.05 mm")
    assert (walk.key, walk.prompt.stays) == ("zero:zero", True)
    assert words.headline(walk.job, walk.prompt) == "Caliper at zero: zero C1, check again"
    assert "zero the tool" in walk.verdicts["zero"].reason
    assert walk.read("0.01 mm").key == "measure:gap"
    assert walk.verdicts["zero"].attempts == 2


def test_a_zero_check_taken_back_is_wanted_again() -> None:
    walk = _at_zero().read("0.00 mm").back()
    assert (walk.key, walk.verdict("zero")) == ("zero:zero", "waiting")


def test_an_override_lets_a_failed_check_pass_until_the_next_one() -> None:
    walk = _at_zero().read("0.05 mm").override("zero")
    assert walk.key == "measure:gap"
    assert suspected(walk.read("32.0 mm").job) is None


def test_a_tool_of_another_kind_does_not_answer_it() -> None:
    walk = _at_zero().read("0.00 mm", kind="tape")
    assert isinstance(walk.last, ev.ReadingTaken)
    assert (walk.last.set_aside, walk.key) == ("wrong tool", "zero:zero")


# --- again ---


def test_after_so_many_readings_of_the_tool_it_is_wanted_again() -> None:
    walk = _at_zero(every=2).read("0.00 mm", "32.00 mm")
    assert walk.verdict("zero") == "inside"
    walk.read("36.00 mm")
    assert (walk.verdict("zero"), walk.key) == ("stale", "zero:zero")
    assert walk.verdicts["zero"].reason == "2 readings of C1 since: due after 2"
    assert walk.read("0.00 mm").key == "measure:ends.right"


def test_another_tool_that_is_used_is_due_by_itself() -> None:
    walk = _at_zero().read("0.00 mm").read("32.00 mm", tool="C2")
    assert (walk.verdict("zero"), walk.key) == ("waiting", "zero:zero")
    assert walk.verdicts["zero"].reason == "C2 was used without a zero check: check it"
    assert walk.verdicts["gap"].warnings == ("no zero check of C2 yet",)
    assert words.headline(walk.job, walk.prompt) == "Caliper at zero: zero check of C2"
    assert walk.read("0.00 mm").verdict("zero") == "waiting", "it was C1 once more"
    assert walk.read("0.00 mm", tool="C2").verdict("zero") == "inside"


def test_a_tool_that_nobody_named_does_not_answer_for_one_that_has_a_name() -> None:
    walk = _at_zero().read("0.00 mm", tool="typed", kind="").read("32.00 mm")
    assert walk.verdicts["zero"].reason == "C1 was used without a zero check: check it"
    assert walk.read("0.00 mm").verdict("zero") == "inside"


def test_what_is_due_after_so_many_readings_is_due_for_each_tool() -> None:
    walk = _at_zero(every=2).read("0.00 mm", "32.00 mm").read("36.00 mm", tool="C2")
    assert walk.read("0.00 mm", tool="C2").key == "measure:ends.right"
    assert walk.read("36.00 mm").verdicts["zero"].reason == "2 readings of C1 since: due after 2"
    assert walk.read("0.00 mm", tool="C2").verdict("zero") == "stale"
    assert walk.read("0.00 mm").verdict("zero") == "inside"


def test_a_check_that_became_due_is_left_until_a_value_begun_is_whole() -> None:
    difference = 'takes = "difference"\nparts = ["down", "up"]\nlarger = "up"\nplausible = ["5 mm", "90 mm"]'
    text = zeroed_sheet(every=1).replace('plausible = ["5 mm", "90 mm"]', difference)
    walk = Walk(sheet_of(text)).confirm().read("0.00 mm", "100.00 mm")
    assert (walk.verdict("zero"), walk.key) == ("stale", "measure:gap/up")
    assert walk.read("132.00 mm").key == "zero:zero"


def test_a_check_at_the_end_is_wanted_again_when_its_tool_was_used_since() -> None:
    walk = _done(_at_zero(start=False, end=True), "zero:last_zero").read("0.00 mm")
    assert walk.key == "close"
    walk.loosened("bolts")
    assert walk.verdict("last_zero") == "inside"
    _done(walk, "zero:last_zero")
    assert walk.verdicts["last_zero"].reason == "C1 was used since"
    assert _done(walk, "close").close().job.closed


def test_every_tool_that_a_check_at_the_end_is_for_is_checked() -> None:
    walk = _at_zero(start=False, end=True).read("32.00 mm").read("36.00 mm", tool="C2").read("36.00 mm")
    _done(walk, "zero:last_zero").read("0.00 mm")
    assert walk.verdict("last_zero") == "waiting"
    assert walk.verdicts["last_zero"].reason == "C2 was used too: check it as well"
    assert walk.read("0.01 mm", tool="C2").verdict("last_zero") == "inside"


# --- a failed one ---


def _failed_at_the_end() -> Walk:
    walk = _done(_at_zero(end=True), "zero:last_zero")
    return walk.read("0.05 mm")


def test_a_failed_check_names_the_readings_of_that_tool_since_its_last_good_one() -> None:
    walk = _failed_at_the_end()
    found = [r.seq for r in walk.records if isinstance(r.event, ev.ReadingTaken) and r.event.answers is not None]
    event = walk.records[-1].event
    assert isinstance(event, ev.Suspected)
    assert (event.tool, event.zero) == ("C1", found[-1])
    assert list(event.readings) == found[1:-1]
    assert event.why == "Caliper at zero, at the end: read 0.05 mm, allowed 0 mm ± 0.02 mm"
    assert suspected(walk.job) is None, "told once"


def test_what_is_suspect_is_asked_again_once_the_tool_is_zeroed_and_nothing_is_edited() -> None:
    walk = _failed_at_the_end()
    assert walk.key == "zero:last_zero"
    assert (walk.verdict("gap"), walk.verdicts["gap"].reason) == (
        "waiting",
        "a later zero check of C1 failed: take it again",
    )
    assert walk.read("0.00 mm").key == "measure:gap"
    assert walk.read("33.00 mm").verdict("gap") == "inside"
    assert [len(each.taken) for each in walk.job.attempts["gap", ""]] == [1, 1]
    assert _done(walk, "close").close().job.closed
    kinds = [record.event.kind for record in walk.records]
    assert kinds.count("suspected") == 1


def test_readings_of_another_tool_are_not_suspect() -> None:
    walk = _at_zero(end=True).read("0.00 mm").read("32.00 mm", tool="C2").read("0.00 mm", tool="C2")
    walk.read("36.00 mm", "36.00 mm")
    _done(walk, "zero:last_zero").read("-0.05 mm")
    event = walk.records[-1].event
    assert isinstance(event, ev.Suspected)
    assert event.readings == (6, 7)
    assert walk.verdict("gap") == "inside"
    assert walk.verdict("ends.agreement") == "waiting"


def test_no_other_tool_clears_one_that_failed_and_it_is_named_until_it_passes() -> None:
    walk = _failed_at_the_end()
    for tool, kind in (("typed", ""), ("typed", "")):
        walk.read("0.00 mm", tool=tool, kind=kind)
        assert (walk.key, walk.prompt.stays, walk.verdict("last_zero")) == ("zero:last_zero", True, "high")
        assert words.headline(walk.job, walk.prompt) == "Caliper at zero, at the end: zero C1, check again"
        assert "With: C1, no other tool answers for it" in words.detail(walk.job, walk.prompt)
    assert walk.read("0.00 mm").key == "measure:gap"
    assert _done(walk, "close").close().job.closed


def test_a_tool_that_failed_is_set_aside_for_another_and_asked_for_at_its_next_reading() -> None:
    walk = _failed_at_the_end().read("0.01 mm", tool="C2")
    assert (walk.verdict("last_zero"), walk.verdict("gap"), walk.key) == ("inside", "waiting", "measure:gap")
    walk.read("32.00 mm")
    assert (walk.key, walk.verdict("last_zero"), walk.verdict("gap")) == ("zero:last_zero", "high", "waiting")
    assert walk.read("0.00 mm").key == "measure:gap"
    assert walk.read("32.00 mm").verdict("gap") == "inside", "and it does not go round for ever"
    assert _done(walk, "close").close().job.closed


def test_a_job_ends_without_the_tool_that_failed() -> None:
    walk = _failed_at_the_end().read("0.01 mm", tool="C2").read("32.00 mm", tool="C2")
    while walk.key != "close":
        if walk.prompt.kind in ("measure", "zero"):
            walk.read("36.00 mm" if walk.prompt.kind == "measure" else "0.00 mm", tool="C2")
        else:
            answer(walk)
        assert len(walk.records) < 60
    assert walk.close().job.closed


def test_a_value_begun_with_a_suspect_half_is_begun_anew() -> None:
    difference = 'takes = "difference"\nparts = ["down", "up"]\nlarger = "up"\nplausible = ["5 mm", "90 mm"]'
    text = zeroed_sheet().replace('plausible = ["5 mm", "90 mm"]', difference)
    walk = Walk(sheet_of(text)).confirm().read("0.00 mm", "100.00 mm")
    walk.say(ev.Suspected(tool="C1", zero=3, readings=(4,), why="dropped"))
    assert (walk.key, walk.prompt.number) == ("measure:gap/down", 1)
    walk.read("100.00 mm", "132.00 mm")
    assert (walk.verdict("gap"), len(walk.job.attempts["gap", ""])) == ("inside", 2)


def test_what_settles_a_zero_check_is_said() -> None:
    walk = _at_zero()
    assert verdictwords.settle(walk.job, walk.verdicts["zero"]) == "Take Caliper at zero: not taken yet."
    assert "It must read 0 mm, within 0.02 mm" in words.detail(walk.job, walk.prompt)
    walk.read("0.05 mm")
    said = verdictwords.settle(walk.job, walk.verdicts["zero"])
    assert said == "Zero the tool and take Caliper at zero again, or override with a note."
    assert "suspect" in words.detail(walk.job, walk.prompt)[-1]
    event = ev.Suspected(tool="C1", zero=3, readings=(4, 5), why="off")
    assert happened(walk.job, event) == "C1 failed its zero check: 2 readings are suspect and will be asked for again"


def test_nothing_is_suspect_any_more_once_a_job_is_closed() -> None:
    walk = _done(_at_zero(end=True), "zero:last_zero")
    event = intake.reading_event(walk.job, walk.prompt, walk.reading("0.05 mm"))
    failed = apply(walk.job, walk.records[-1].model_copy(update={"seq": walk.seq + 1, "event": event}))
    assert suspected(failed) is not None
    assert suspected(replace(failed, closed=True)) is None


# --- a failed check that does not stand ---


@pytest.mark.parametrize("how", ["taken back", "let pass"])
def test_a_failed_check_that_does_not_stand_makes_nothing_suspect(how: str) -> None:
    walk = _failed_at_the_end()
    assert walk.verdict("gap") == "waiting"
    if how == "taken back":
        walk.back("typed wrong")
    else:
        walk.override("last_zero")
    assert str(walk.verdict("gap")) == "inside"


# --- what a check shows, and which tool comes first ---


def test_a_check_shows_what_was_read_and_how_far_it_is_from_what_is_allowed() -> None:
    judged = _at_zero().read("0.010 mm").verdicts["zero"]
    assert (judged.verdict, judged.reason, judged.text, judged.unit) == ("inside", "", "0.01", "mm")
    assert (judged.value, judged.margin, judged.attempts) == (Fraction(1, 100), Fraction(1, 100), 1)
    off = _at_zero().read("0.05 mm").verdicts["zero"]
    remedy = "zero the tool, see that its faces are clean, and take it again"
    assert off.reason == f"C1 reads more than 0.02 mm off 0 mm: {remedy}"
    assert off.margin == Fraction(-3, 100)


def test_of_two_tools_that_failed_the_one_checked_last_is_seen_to_first() -> None:
    for first, second in (("C1", "C2"), ("C2", "C1")):
        walk = _at_zero().read("0.05 mm", tool=first).read("0.06 mm", tool=second)
        assert to_check(walk.job, walk.sheet.zeros[0]) == second
        assert walk.verdicts["zero"].text == "0.06"


def test_a_reading_that_no_named_tool_took_fails_for_no_tool_in_particular() -> None:
    walk = _at_zero().read("0.05 mm", tool="typed", kind="")
    assert (walk.key, walk.verdict("zero")) == ("zero:zero", "high")
    assert to_check(walk.job, walk.sheet.zeros[0]) == ""
    assert walk.read("0.00 mm").verdict("zero") == "inside", "one that is known by name answers for it"


def test_readings_taken_back_wear_a_zero_too_but_only_of_the_tool_in_hand() -> None:
    walk = _at_zero(every=2).read("0.00 mm", "32.00 mm").back().read("32.00 mm").back()
    assert (walk.verdict("zero"), walk.verdicts["zero"].reason) == ("stale", "2 readings of C1 since: due after 2")
    assert walk.read("0.00 mm", tool="C2").verdict("zero") == "inside", "C1 was laid aside, and nothing rests on it"


def test_a_check_that_was_taken_back_has_been_tried() -> None:
    judged = _at_zero().read("0.00 mm").back().verdicts["zero"]
    assert (judged.verdict, judged.reason, judged.attempts) == ("waiting", "not taken yet", 1)


def test_a_check_that_an_act_disturbs_is_wanted_again() -> None:
    walk = Walk(sheet_of(zeroed_sheet().replace('disturbs = ["gap", "ends", "bolts"', 'disturbs = ["zero", "bolts"')))
    walk.confirm().read("0.00 mm", "45.00 mm", "36.00 mm", "36.00 mm").turned()
    judged = walk.verdicts["zero"]
    assert (judged.verdict, judged.reason, judged.text) == ("stale", "disturbed since it was taken", "0.00")


def test_what_was_read_before_a_good_check_is_not_suspect() -> None:
    walk = _at_zero(end=True, every=2).read("0.00 mm", "32.00 mm", "36.00 mm").read("0.00 mm")
    good = walk.seq
    _done(walk, "zero:last_zero", reading="36.00 mm").read("0.05 mm")
    event = walk.records[-1].event
    assert isinstance(event, ev.Suspected)
    assert event.readings == (good + 1,)
