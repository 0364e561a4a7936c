from dataclasses import replace
from decimal import Decimal

import pytest

from logger import events as ev
from logger.bench import decide
from logger.errors import BadInput
from tests.logger.walk import SMALL, Walk, answer, sheet_of, shipped, small


def _found_slack() -> Walk:
    return small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm")


# --- confirming ---


@pytest.mark.parametrize(
    ("upto", "kind"),
    [("confirm", ev.Confirmed), ("untouched", ev.Untouched)],
)
def test_confirming_means_what_the_prompt_asks(upto: str, kind: type) -> None:
    walk = small(upto=upto)
    assert isinstance(decide.confirmed(walk.job, walk.prompt), kind)


def test_confirming_keeps_the_items_that_were_read() -> None:
    walk = small()
    event = decide.confirmed(walk.job, walk.prompt)
    assert event == ev.Confirmed(step="safe", items=("Key in your pocket",))


def test_confirming_at_the_adjust_prompts() -> None:
    walk = _found_slack()
    assert decide.confirmed(walk.job, walk.prompt) == ev.Loosened(step="adjust", fasteners=("bolts",))
    walk.confirm()
    with pytest.raises(BadInput, match="Nothing to confirm now: the adjusters are to be turned"):
        decide.confirmed(walk.job, walk.prompt)
    walk.turned()
    assert decide.confirmed(walk.job, walk.prompt) == ev.Seated(step="adjust", items=("Bearing pushed home",))


@pytest.mark.parametrize("upto", ["measure:gap", "close"])
def test_a_reading_cannot_be_confirmed_away(upto: str) -> None:
    walk = small(upto=upto)
    with pytest.raises(BadInput, match="Nothing to confirm now"):
        decide.confirmed(walk.job, walk.prompt)


# --- notes ---


@pytest.mark.parametrize("text", ["12480", " 12480 ", "12480.5"])
def test_a_number_that_is_due(text: str) -> None:
    walk = Walk(shipped())
    assert decide.noted(walk.prompt, walk.job, text) == ev.Noted(step="mileage", text=text.strip())


@pytest.mark.parametrize("text", ["12,480", "1e5", "NaN", "twelve", "１２", "-3", "+3", "1" * 13])
def test_what_is_no_number_is_refused_with_an_example(text: str) -> None:
    walk = Walk(shipped())
    with pytest.raises(BadInput, match=r"is not a number.*Type digits only in km, such as 12480"):
        decide.noted(walk.prompt, walk.job, text)


def test_a_number_is_noted_by_its_step_before_its_prompt_and_at_it() -> None:
    walk = Walk(shipped())
    assert decide.noted(walk.prompt, walk.job, "mileage 13120") == ev.Noted(step="mileage", text="13120")
    at_measure = small(upto="measure:gap")
    later = replace(at_measure.job, sheet=walk.job.sheet)
    assert decide.noted(at_measure.prompt, later, "mileage 13120") == ev.Noted(step="mileage", text="13120")


def test_a_number_that_was_noted_is_corrected_by_its_step_and_another_number() -> None:
    walk = Walk(shipped())
    walk.say(decide.noted(walk.prompt, walk.job, "12000"))
    assert walk.prompt.step == "identity"
    walk.say(decide.noted(walk.prompt, walk.job, "fleet 7"))
    assert decide.noted(walk.prompt, walk.job, "mileage 13120") == ev.Noted(step="mileage", text="13120")
    for free in ("mileage looks odd", "identity 8", "mileage", "speed 12"):
        assert decide.noted(walk.prompt, walk.job, free) == ev.Noted(text=free)
    walk.say(decide.noted(walk.prompt, walk.job, "mileage 13120"))
    assert walk.job.notes["mileage"][1] == "13120"


def test_a_note_at_another_prompt_is_a_free_one() -> None:
    walk = small(upto="measure:gap")
    assert decide.noted(walk.prompt, walk.job, "belt frays at the lace") == ev.Noted(text="belt frays at the lace")
    assert walk.note("belt frays at the lace").job.free_notes == ((walk.seq, "belt frays at the lace"),)


@pytest.mark.parametrize("text", ["", "  ", "x" * 301])
def test_a_note_is_neither_blank_nor_endless(text: str) -> None:
    walk = small(upto="measure:gap")
    with pytest.raises(BadInput, match="1 to 300"):
        decide.noted(walk.prompt, walk.job, text)


# --- acts ---


@pytest.mark.parametrize(
    ("upto", "names", "step", "fasteners"),
    [
        ("untouched:bolts.left", (), "", ("bolts.left",)),
        ("measure:gap", (), "", ("bolts",)),
        ("measure:gap", ("bolts.right",), "", ("bolts.right",)),
        ("close", ("bolts",), "", ("bolts",)),
    ],
)
def test_what_was_loosened(upto: str, names: tuple[str, ...], step: str, fasteners: tuple[str, ...]) -> None:
    walk = small(upto=upto)
    assert decide.loosened(walk.job, walk.prompt, names) == ev.Loosened(step=step, fasteners=fasteners)


def test_a_loosening_that_was_asked_for_names_the_step_that_asked() -> None:
    walk = _found_slack()
    assert decide.loosened(walk.job, walk.prompt, ("bolts.left",)).step == "adjust"
    walk = walk.confirm().turned().confirm().read("32.0 mm", "32.0 mm", "32.0 mm").pull("45 N·m")
    assert decide.loosened(walk.job, walk.prompt, ()) == ev.Loosened(step="bolts", fasteners=("bolts.left",))


def test_an_unknown_fastener_is_named_with_those_there_are() -> None:
    walk = small(upto="measure:gap")
    with pytest.raises(BadInput, match=r"no fastener axle.*bolts, bolts.left, bolts.right"):
        decide.loosened(walk.job, walk.prompt, ("axle",))


def test_where_nothing_needs_loosening_nothing_is_recorded() -> None:
    walk = Walk(sheet_of(SMALL.replace('loosen = ["bolts"]\n', "")))
    with pytest.raises(BadInput, match="Nothing has to be loosened"):
        decide.loosened(walk.job, walk.prompt, ())


@pytest.mark.parametrize("flats", ["61", "-60.5", "NaN", "Infinity"])
def test_too_many_flats_are_a_slip(flats: str) -> None:
    walk = small(upto="measure:gap")
    with pytest.raises(BadInput, match="between -60 and 60"):
        decide.turned(walk.job, walk.prompt, Decimal(flats), Decimal(0))


def test_flats_go_on_the_trail_as_plain_digits() -> None:
    walk = small(upto="measure:gap")
    event = decide.turned(walk.job, walk.prompt, Decimal("1E+1"), Decimal("-0.5"))
    assert (event.step, event.left, event.right, event.expected) == ("adjust", "10", "-0.5", None)


def test_turning_where_the_sheet_adjusts_nothing_is_refused() -> None:
    text = SMALL[: SMALL.index('[[step]]\nid = "adjust"')]
    walk = Walk(sheet_of(text))
    with pytest.raises(BadInput, match="adjusts nothing"):
        decide.turned(walk.job, walk.prompt, Decimal(1), Decimal(1))


def test_a_turn_as_advised_keeps_what_was_advised_and_expected() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm").confirm()
    plan = walk.plan
    assert plan is not None
    assert plan.advice is not None
    event = decide.turned(walk.job, walk.prompt, Decimal(2), Decimal(2), plan)
    assert (event.advised_left, event.advised_right) == (str(plan.advice.left), str(plan.advice.right))
    assert event.before is not None
    assert event.before.slack == {"tightest": "45.000", "opposite": "47.000"}
    assert event.expected is not None
    assert Decimal(event.expected.slack["tightest"]) < 45


def test_turned_as_advised_before_anything_is_loose_says_what_comes_first() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm")
    assert walk.key == "loosen:adjust"
    with pytest.raises(
        BadInput, match="First report as loosened: Axle nut; Adjuster lock nuts, left; Adjuster lock nuts, right"
    ):
        decide.as_advised(walk.job, walk.prompt, walk.plan)
    walk.confirm()
    left, right = decide.as_advised(walk.job, walk.prompt, walk.plan)
    assert left == right
    assert left < 0 or left > 0
    with pytest.raises(BadInput, match="Nothing is advised now"):
        decide.as_advised(walk.job, walk.prompt, None)


def test_what_is_refused_is_told_without_the_words_of_one_way_to_work() -> None:
    walk = small(upto="measure:gap").read("45.0 mm")
    with pytest.raises(BadInput) as refused:
        decide.overridden(walk.verdicts, "gap", "Robin", " ")
    assert str(refused.value).endswith("Say with it why it may pass as it is.")
    assert not any("say " in words or "WHY" in words for words in decide.NEXT.values())


# --- taking back, overriding, closing ---


def test_taking_back_needs_a_reason_and_something_to_take_back() -> None:
    walk = small(upto="measure:gap")
    with pytest.raises(BadInput, match="no reading to take back"):
        decide.taken_back(walk.job, "slipped")
    walk.read("32.0 mm")
    with pytest.raises(BadInput, match="needs a reason"):
        decide.taken_back(walk.job, "  ")
    assert decide.taken_back(walk.job, " slipped ") == ev.TakenBack(of=walk.seq, why="slipped")
    assert len(decide.taken_back(walk.job, "x" * 400).why) == 300


@pytest.mark.parametrize(
    ("check", "name", "note", "why"),
    [
        ("gap", " ", "worn but safe", "a name and a note"),
        ("gap", "Robin", " \t", "a name and a note"),
        ("axle", "Robin", "worn but safe", r"no check \"axle\".*gap"),
        ("safe", "Robin", "worn but safe", "needs no override: it is done"),
    ],
)
def test_an_override_needs_a_name_a_note_and_an_open_check(check: str, name: str, note: str, why: str) -> None:
    walk = small(upto="measure:gap").read("45.0 mm")
    with pytest.raises(BadInput, match=why):
        decide.overridden(walk.verdicts, check, name, note)


def test_an_override_says_what_it_overrides() -> None:
    walk = small(upto="measure:gap").read("45.0 mm")
    event = decide.overridden(walk.verdicts, "gap", " Robin ", " new belt ordered ")
    assert event == ev.Overridden(check="gap", name="Robin", note="new belt ordered", was="high")


def test_closing_is_refused_with_every_open_check_and_what_would_settle_it() -> None:
    walk = small(upto="measure:gap").read("45.0 mm").close()
    event = walk.last
    assert isinstance(event, ev.CloseRefused)
    assert [(each.check, each.verdict) for each in event.open] == [
        ("gap", "high"),
        ("ends.agreement", "waiting"),
        ("bolts.left", "waiting"),
        ("bolts.right", "waiting"),
        ("cap", "waiting"),
        ("runs", "waiting"),
    ]
    assert all(each.settle.endswith(".") for each in event.open)
    assert walk.key == "measure:ends.left"
    assert not walk.job.closed


def test_closing_with_an_override_keeps_it_in_plain_sight() -> None:
    walk = small(upto="measure:gap").read("45.0 mm").override("gap")
    while walk.key != "close":
        answer(walk)
    event = walk.close().last
    assert isinstance(event, ev.JobClosed)
    assert (event.by, event.verdicts["gap"], event.verdicts["ends.agreement"]) == ("Robin", "overridden", "inside")


def test_after_closing_nothing_more_is_said() -> None:
    walk = small(upto="measure:gap").read("32.0 mm")
    while not walk.job.closed:
        answer(walk)
    job, prompt = walk.job, walk.prompt
    for decision in (
        lambda: decide.closing(job, walk.verdicts),
        lambda: decide.loosened(job, prompt, ("bolts",)),
        lambda: decide.turned(job, prompt, Decimal(1), Decimal(1)),
        lambda: decide.taken_back(job, "slipped"),
        lambda: decide.noted(prompt, job, "late thought"),
    ):
        with pytest.raises(BadInput, match="closed already"):
            decision()
