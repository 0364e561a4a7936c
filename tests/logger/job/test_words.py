from decimal import Decimal
from fractions import Fraction
from typing import get_args

import pytest

from logger import events as ev
from logger.bench.decide import closing
from logger.job import words
from logger.job.prompt import Prompt
from logger.job.rules import Judged
from logger.sheets.store import open_sheet
from tests.logger.walk import SMALL, Walk, answer, described, sheet_of, shipped, small


def test_each_verdict_has_a_shape_of_its_own() -> None:
    assert set(words.SHAPES) == set(get_args(ev.Verdict))
    assert len(set(words.SHAPES.values())) == 10


def test_each_reason_for_not_counting_has_words() -> None:
    assert set(words.ASIDE) == set(get_args(ev.SetAside)) - {""}


@pytest.mark.parametrize(
    ("count", "said"),
    [
        ("0", "leave it"),
        ("0.5", "half a flat tighter"),
        ("-0.5", "half a flat looser"),
        ("1", "1 flat tighter"),
        ("-2", "2 flats looser"),
        ("2.5", "2 and a half flats tighter"),
        ("1.5", "1 and a half flats tighter"),
        ("-10", "10 flats looser"),
        ("1.25", "1.25 flats tighter"),
        ("0.25", "0.25 flats tighter"),
    ],
)
def test_flats_as_a_person_says_them(count: str, said: str) -> None:
    assert words.flats(Decimal(count)) == said
    assert words.flats(Fraction(-2)) == "2 flats looser"


def test_every_prompt_of_a_whole_job_has_a_headline_that_can_be_read_and_how_to_do_it() -> None:
    walk, seen = Walk(shipped()), set[str]()
    while not walk.key.startswith("measure:slack"):
        seen |= _said(walk)
        answer(walk)
    walk.read("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm")
    while not walk.job.closed:
        seen |= _said(walk)
        answer(walk)
    seen |= _said(walk)
    assert seen >= {"measure", "confirm", "note", "loosen", "turn", "seat", "torque", "close", "closed"}


def _said(walk: Walk) -> set[str]:
    headline, detail = words.headline(walk.job, walk.prompt), words.detail(walk.job, walk.prompt)
    assert headline
    assert len(headline) <= 78
    assert detail
    assert all(line.strip() for line in detail)
    return {walk.prompt.kind}


def test_a_measure_says_all_it_needs() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    assert words.headline(walk.job, walk.prompt) == "Chain slack, middle of lower run, tightest: taut down"
    detail = words.detail(walk.job, walk.prompt)
    assert detail[0] == "Caution: Fingers clear of the sprocket."
    assert "Window 25 mm to 40 mm, aim 32 mm" in detail
    assert any(line.startswith("Holds for: on the rear stand") for line in detail)
    assert detail[-1] == "With: caliper or depth gauge or rule or tape, or typed with its unit"


def test_a_measure_that_stays_says_that_nothing_corrects_it() -> None:
    walk = Walk(shipped())
    while walk.key != "measure:wear":
        answer(walk)
    walk.read("103.0 mm")
    assert "No adjustment corrects this" in words.detail(walk.job, walk.prompt)[-1]


def test_a_verdict_as_a_line() -> None:
    walk = (
        small(upto="measure:gap").say(described("C1", "caliper", accuracy="0 mm", resolution="0.1 mm")).read("45.0 mm")
    )
    assert words.verdict_line(walk.job, walk.verdicts["gap"]) == (
        "▲ high       Belt sag 45.0 mm · margin -5.0 mm, U 0.058 mm, under 0.1 % inside"
    )
    assert words.verdict_line(walk.job, walk.verdicts["safe"]) == "✓ done       Belt locked out"
    line = words.verdict_line(walk.job, walk.verdicts["ends.agreement"])
    assert line == "○ waiting    Bearing position, agreement (left: not taken yet)"


def _settle(walk: Walk, check: str) -> str:
    event = closing(walk.job, walk.verdicts)
    assert isinstance(event, ev.CloseRefused)
    return next(each.settle for each in event.open if each.check == check)


def test_what_would_settle_each_kind_of_check() -> None:
    walk = small(upto="measure:gap")
    assert _settle(walk, "cap") == "Confirm Cap and paint line."
    assert _settle(walk, "gap") == "Measure Belt sag: not taken yet."
    assert _settle(walk, "bolts.left").startswith("Confirm untouched: Bearing bolts, left; or loosen")
    walk.read("45.0 mm", "32.0 mm", "33.0 mm")
    assert _settle(walk, "gap") == "Adjust, then measure Belt sag again, or override with a note."
    assert _settle(walk, "ends.agreement").startswith("Adjust, then measure Bearing position, agreement again")
    walk.confirm().turned().confirm().read("32.0 mm", "32.0 mm", "32.0 mm")
    assert _settle(walk, "bolts.left") == "Torque Bearing bolts, left into 36 N·m to 44 N·m."
    walk.pull("50 N·m")
    assert _settle(walk, "bolts.left") == (
        "Loosen Bearing bolts, left; Belt sag and Bearing position come first, then torque it into 36 N·m to 44 N·m."
    )


def test_what_settles_a_note_a_worn_part_and_a_disturbed_confirmation() -> None:
    walk = Walk(shipped())
    assert _settle(walk, "mileage") == "Write down Mileage."
    while walk.key != "measure:wear":
        answer(walk)
    walk.read("103.0 mm")
    assert _settle(walk, "wear").startswith("Take Chain wear over 8 pitches again, replace the part")
    walk.read("102.0 mm")
    while walk.key != "close":
        answer(walk)
    assert _settle(walk.loosened("axle_nut"), "pin") == "Confirm Split pin, witness marks again."


def test_lines_for_acts_and_answers() -> None:
    walk = small(upto="measure:gap")
    lines: list[str] = []

    def note(done: Walk) -> None:
        lines.append(words.happened(done.job, done.last))

    note(walk.read("45.0 mm"))
    note(walk.duplicate("45.0 mm"))
    walk.read("32.0 mm", "32.0 mm")
    note(walk.confirm())
    note(walk.turned("2", "-1"))
    note(walk.confirm())
    note(walk.back("wrong edge"))
    note(walk.override("gap"))
    note(walk.close())
    assert lines == [
        "Taken: 45.0 mm for Belt sag",
        "45.0 mm from C1: the same frame again: kept, does not count",
        "Loosened: Bearing bolts, left, Bearing bolts, right",
        "Turned: left 2 flats tighter, right 1 flat looser",
        "Confirmed: Turn the screws",
        f"Taken back: number {walk.seq - 6} (wrong edge); it stays on the trail",
        "Overridden by Robin: Belt sag",
        "Closing refused: 5 open",
    ]


def test_lines_for_pulls() -> None:
    walk = small(upto="measure:gap").pull("8 N·m")
    assert "no fastener asked for" in words.happened(walk.job, walk.last)
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("40 N·m")
    assert words.happened(walk.job, walk.last) == "Pull of 40 N·m on Bearing bolts, left"
    walk.pull("20 N·m", invalid="a gap of 400 ms in the stream")
    assert words.happened(walk.job, walk.last) == (
        "Pull on Bearing bolts, right cannot be used: a gap of 400 ms in the stream"
    )
    walk.pull("-20 N·m", anticlockwise=True)
    assert words.happened(walk.job, walk.last).startswith("Pulled anticlockwise (Bearing bolts, right): it disturbs")


def test_a_share_is_told_with_the_length_it_makes_and_sides_with_where_they_are_seen_from() -> None:
    job = Walk(open_sheet("parcel-conveyor").sheet).job
    assert "Window 1.5% of 1200 mm = 18 mm to 3% of 1200 mm = 36 mm, aim 2% of 1200 mm = 24 mm" in words.detail(
        job, Prompt("measure", "sag", "tightest")
    )
    assert words.detail(job, Prompt("turn", "adjust"))[-2:] == (
        "Tighter is clockwise, seen from the screw's head; the chain is on the left.",
        "Sides as seen from the tail end, along the way the parcels run.",
    )


# --- what a value is worth ---


def _guarded(reading: str) -> Walk:
    text = SMALL.replace('about = "', 'decision = "guarded"\nabout = "')
    walk = Walk(sheet_of(text.replace('aim = "32 mm"', 'aim = "32 mm"\nmethod_u = "0.45 mm"'))).confirm()
    return walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm")).read(reading)


@pytest.mark.parametrize(
    ("reading", "line"),
    [
        ("26.20 mm", "margin 1.20 mm, U 0.90 mm, 99.6 % inside, passes from 25.90 mm to 39.10 mm"),
        ("25.00 mm", "margin 0.00 mm, U 0.90 mm, 50.0 % inside, passes from 25.90 mm to 39.10 mm"),
        ("24.10 mm", "margin -0.90 mm, U 0.90 mm, 2.3 % inside, passes from 25.90 mm to 39.10 mm"),
    ],
)
def test_margin_uncertainty_and_chance_in_one_line(reading: str, line: str) -> None:
    walk = _guarded(reading)
    judged = walk.verdicts["gap"]
    assert words.worth_line(judged) == line
    assert words.verdict_line(walk.job, judged).endswith(f" · {line}")


def test_without_uncertainty_the_line_is_as_short_as_ever() -> None:
    walk = small(upto="measure:gap").say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    judged = walk.read("32.0 mm").verdicts["gap"]
    assert words.worth_line(judged) == "margin 7.0 mm"
    assert words.verdict_line(walk.job, judged) == "■ inside     Belt sag 32.0 mm"
    assert words.worth_line(walk.verdicts["safe"]) == ""


@pytest.mark.parametrize(("figure", "text"), [(1.6006, "1.6"), (0.05774, "0.058"), (12.3, "12"), (0.000123, "0.00012")])
def test_an_uncertainty_has_two_digits(figure: float, text: str) -> None:
    assert words.short(figure) == text


def test_what_settles_a_pair_names_the_side_and_its_reason_once() -> None:
    walk = small(upto="close")
    walk.loosened("bolts")
    judged = walk.verdicts["ends.agreement"]
    assert judged.verdict == "stale"
    said = "Measure Bearing position, left: disturbed since it was taken."
    assert words.settle(walk.job, judged) == said


def test_turning_too_early_says_what_should_have_come_first() -> None:
    walk = small()
    walk.turned()
    said = words.happened(walk.job, walk.last)
    assert said == (
        "Turned: left 1 flat tighter, right 1 flat tighter. That should have come first: "
        "confirm Belt locked out; loosen Bearing bolts, left, Bearing bolts, right"
    )
    walk = small().confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened().turned()
    assert words.happened(walk.job, walk.last) == "Turned: left 1 flat tighter, right 1 flat tighter"


def _weighed(**stated: str) -> Judged:
    walk = Walk(sheet_of(SMALL.replace('aim = "32 mm"', 'aim = "32 mm"\nmethod_u = "0.8 mm"'))).confirm()
    told = {"tool": "C1", "tool_kind": "caliper", "stated_by": "toolbook"} | stated
    return walk.say(ev.ToolDescribed.model_validate(told)).read("38.5 mm").verdicts["gap"]


def test_without_a_stated_accuracy_u_is_at_least_that_and_the_chance_rests_on_it() -> None:
    assert words.worth_line(_weighed()) == "margin 1.5 mm, U at least 1.6 mm, 97.0 % inside if U is no more"
    assert words.worth_line(_weighed(accuracy="0.03 mm")) == "margin 1.5 mm, U 1.6 mm, 97.0 % inside"


def test_where_nothing_is_stated_there_is_neither_u_nor_chance() -> None:
    walk = small().confirm().read("38.5 mm")
    assert words.worth_line(walk.verdicts["gap"]) == "margin 1.5 mm"
    assert "U " not in words.verdict_line(walk.job, walk.verdicts["gap"])


def test_what_a_difference_rests_on_is_said() -> None:
    walk = small().confirm().read("32.0 mm", "36.0 mm", "36.0 mm")
    lines = words.warning_lines(walk.job, walk.verdicts["ends.agreement"])
    assert "Rests on: one tool for both: its accuracy and calibration errors are common and cancel." in lines


def test_a_pull_that_nothing_asked_for_says_that_what_follows_is_not_as_found() -> None:
    walk = small(upto="measure:gap").pull("40.0 N·m")
    assert words.happened(walk.job, walk.last).endswith(words.NOT_AS_FOUND)
    walk = Walk(sheet_of(SMALL)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened()
    walk.pull("40.0 N·m")
    assert "as found" not in words.happened(walk.job, walk.last), "what was loosened ended that before"
    walk = Walk(sheet_of(SMALL)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("40.0 N·m")
    assert "as found" not in words.happened(walk.job, walk.last)
