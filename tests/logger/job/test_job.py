from dataclasses import replace

import pytest

from logger import events as ev
from logger.job.job import apply, before_loosening, fold, opened
from tests.logger.walk import SMALL, Walk, answer, sheet_of, shipped, small

PAIRED = sheet_of(SMALL.replace('window = ["25 mm", "40 mm"]', 'window = ["25 mm", "40 mm"]\nrepeats = 3'))


def _torqued() -> Walk:
    """Found too slack, adjusted once, both bolts torqued."""
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    return walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("40 N·m").pull("40 N·m")


def test_replay_gives_the_same_job_at_every_prefix() -> None:
    walk = _torqued()
    while not walk.job.closed:
        answer(walk)
    job = opened(walk.records[0], walk.sheet)
    for count, record in enumerate(walk.records[1:], 2):
        job = apply(job, record)
        assert job == fold(opened(walk.records[0], walk.sheet), walk.records[1:count])
    assert job == walk.job


def test_a_reading_that_does_not_answer_changes_nothing_but_the_sequence() -> None:
    walk = small(upto="measure:gap")
    before = walk.job
    for aside in (walk.duplicate("32.0 mm"), walk.read("32.0 mm", kind="torque wrench"), walk.read("98 mm", kind="x")):
        assert replace(aside.job, seq=before.seq) == before


def test_an_answer_that_is_set_aside_all_the_same_does_not_count() -> None:
    walk = small(upto="measure:gap").read("32.0 mm")
    event = walk.last
    assert isinstance(event, ev.ReadingTaken)
    again = small(upto="measure:gap").say(event.model_copy(update={"set_aside": "duplicate"}))
    assert again.job.attempts == {}


@pytest.mark.parametrize("name", ["gap", "nowhere"])
def test_an_event_on_a_step_of_another_kind_or_none_folds(name: str) -> None:
    walk = small(upto="measure:gap")
    for event in (
        ev.PullTaken(
            answers=ev.Slot(step=name),
            touches=None,
            tool="W",
            unit="N·m",
            source="sig",
            own_peak="4",
            host_peak=None,
            received=ev.Received(utc="", mono_us=0),
        ),
        ev.Turned(step=name, left="1", right="1"),
        ev.Loosened(fasteners=(name,)),
        ev.TakenBack(of=999, why="x"),
    ):
        walk.say(event)
    assert walk.verdict("gap") == "waiting"


def test_a_closed_job_stays_as_it_was_closed() -> None:
    walk = small(upto="close").close()
    assert walk.job.closed
    verdicts = walk.verdicts
    walk.pull("60 N·m").say(ev.Loosened(fasteners=("bolts",))).say(ev.Turned(step="adjust", left="1", right="1"))
    assert walk.verdicts == verdicts
    assert walk.key == "closed"


# --- attempts and taking back ---


def test_repeats_fill_one_attempt_then_another_begins() -> None:
    walk = Walk(PAIRED).confirm().read("32.0 mm", "32.1 mm", "32.2 mm")
    assert [len(attempt.taken) for attempt in walk.job.attempts[("gap", "")]] == [3]
    assert walk.key == "measure:ends.left"


def test_a_reading_after_a_withdrawal_joins_the_attempt_the_prompt_counts_on() -> None:
    sheet = sheet_of(SMALL.replace('window = ["25 mm", "40 mm"]', 'repeats = 3\nspread_within = "0.5 mm"'))
    walk = Walk(sheet).confirm().read("32.0 mm", "32.1 mm", "39.0 mm")
    assert walk.verdict("gap") == "unsteady"
    walk.read("32.2 mm")  # a second attempt, begun by mistake
    walk.back().back()
    assert (walk.prompt.number, walk.prompt.of) == (3, 3)
    walk.read("32.2 mm")
    assert walk.verdict("gap") == "inside"
    assert walk.verdicts["gap"].text == "32.1"


def test_a_withdrawn_attempt_falls_back_to_the_one_before_it_and_stays() -> None:
    walk = small(upto="measure:gap").read("45.0 mm", "32.0 mm", "32.0 mm").back().back()
    assert walk.key == "measure:ends.left"
    assert walk.verdict("gap") == "high"
    walk.back()
    assert walk.verdict("gap") == "waiting"
    assert [each.withdrawn for each in walk.job.attempts[("gap", "")][0].taken] == [True]


def test_an_attempt_before_a_disturbance_never_passes_again() -> None:
    walk = _torqued()
    walk.read("32.0 mm").back()
    assert walk.verdict("gap") == "stale"


@pytest.mark.parametrize("halves", [1, 2])
def test_withdrawing_half_of_a_difference_withdraws_the_pair(halves: int) -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read(*["100.0 mm", "132.0 mm"][:halves])
    walk.back()
    assert all(each.withdrawn for each in walk.job.attempts[("slack", "tightest")][0].taken)
    assert walk.key == "measure:slack.tightest/taut down"


def test_withdrawing_the_first_half_by_number_withdraws_the_second_too() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    first = walk.read("100.0 mm").seq
    walk.read("132.0 mm").say(ev.TakenBack(of=first, why="wrong edge"))
    assert walk.job.attempts[("slack", "tightest")][0].live == ()
    assert walk.verdict("slack.tightest") == "waiting"


def test_a_half_that_was_disturbed_begins_anew() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm").loosened("axle_nut")
    assert walk.verdict("slack.tightest") == "stale"
    assert walk.key == "measure:slack.tightest/taut down"
    walk.read("101.0 mm", "133.0 mm")
    assert (walk.verdict("slack.tightest"), walk.verdicts["slack.tightest"].text) == ("inside", "32.0")


def test_back_goes_one_by_one_through_what_counts() -> None:
    walk = small(upto="measure:gap").read("32.0 mm", "30.0 mm")
    counted = walk.seq
    walk.duplicate("31.0 mm").note("a free note")
    assert walk.job.last_counted == counted
    walk.back()
    assert walk.job.last_counted == counted - 1
    walk.back()
    assert walk.job.last_counted == 0


# --- acts disturb ---


def test_a_pull_disturbs_what_it_moves_and_taking_it_back_does_not_undo_that() -> None:
    walk = _torqued()
    disturbed = walk.job.disturbed
    assert disturbed["gap"] == disturbed["ends"] == walk.seq
    walk.back("wrong nut")
    assert walk.job.disturbed == disturbed
    assert walk.verdict("bolts.right") == "waiting"
    assert walk.verdicts["bolts.right"].to_loosen


def test_loosening_disturbs_what_locks_the_fastener() -> None:
    walk = small(upto="close")
    assert walk.verdict("cap") == "done"
    walk.loosened("bolts.left")
    assert walk.verdict("cap") == walk.verdict("runs") == walk.verdict("gap") == "stale"
    assert walk.verdict("bolts.left") == "waiting"
    assert walk.verdict("bolts.right") == "done"


def test_a_repeated_pull_disturbs_the_lock_as_well() -> None:
    walk = _torqued()
    while walk.key != "close":
        answer(walk)
    walk.pull("40 N·m")
    assert walk.verdict("cap") == walk.verdict("gap") == "stale"
    assert walk.verdict("bolts.right") == "inside"


def test_an_invalid_or_unjudgeable_pull_disturbs() -> None:
    for pull in ({"text": "30 N·m", "invalid": "a gap of 400 ms in the stream"}, {"text": "30 mm"}):
        walk = _torqued()
        while walk.key != "close":
            answer(walk)
        event = walk.pull("30 N·m").last
        assert isinstance(event, ev.PullTaken)
        unit = pull["text"].split()[1]
        walk.say(event.model_copy(update={"unit": unit, "invalid": pull.get("invalid", "")}))
        assert walk.verdict("gap") == "stale"
        assert walk.verdict("bolts.right") == "inside"


def test_a_pull_that_nobody_can_place_disturbs_every_fastener() -> None:
    walk = small(upto="close")
    event = walk.pull("30 N·m").last
    assert isinstance(event, ev.PullTaken)
    assert event.touches is None
    assert {walk.verdict(each) for each in ("gap", "ends.agreement", "bolts.left", "bolts.right", "cap")} == {"stale"}


def test_an_anticlockwise_pull_disturbs_but_does_not_make_loose() -> None:
    walk = _torqued().pull("-12 N·m", anticlockwise=True)
    assert not walk.job.fastener(("bolts", "right")).is_loose
    assert walk.verdict("bolts.right") == "stale"
    assert walk.key == "slacken:bolts.right"
    assert walk.confirm().verdict("bolts.right") == "stale"
    assert walk.job.fastener(("bolts", "right")).is_loose


def test_an_adjustment_disturbs_all_its_sheet_names() -> None:
    walk = _torqued()
    while walk.key != "close":
        answer(walk)
    walk.turned()
    names = ("gap", "ends.agreement", "bolts.left", "bolts.right", "cap", "runs")
    assert {walk.verdict(name) for name in names} == {"stale"}
    assert walk.verdict("safe") == "done"


# --- what an adjustment rests on ---


def _found_slack() -> Walk:
    return small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm")


def test_loosening_keeps_what_the_adjustment_rests_on_until_the_turn() -> None:
    walk = _found_slack()
    assert before_loosening(walk.job) is None
    walk.loosened().loosened()
    before = before_loosening(walk.job)
    assert before is not None
    assert before.disturbed == {}
    assert before_loosening(walk.turned().job) is None


def test_a_pull_or_a_counted_reading_ends_it() -> None:
    for pulled in (True, False):
        walk = small(upto="measure").read("32.0 mm").loosened()
        assert walk.job.basis is not None
        walk = walk.pull("5 N·m") if pulled else walk.read("32.0 mm")
        assert walk.job.basis is None


# --- overrides ---


def test_an_override_ends_at_the_next_counted_reading_of_its_check() -> None:
    walk = small(upto="measure:ends.left").override("ends.agreement").override("bolts.left")
    assert walk.verdict("ends.agreement") == "overridden"
    walk.say(
        ev.ReadingTaken(
            answers=ev.Slot(step="ends", place="left"),
            tool="C1",
            tool_kind="caliper",
            quantity="length",
            value="32.0",
            unit="mm",
            source="sig",
            raw="",
            received=ev.Received(utc="", mono_us=0),
        )
    )
    assert walk.verdict("ends.agreement") == "waiting"
    assert walk.verdict("bolts.left") == "overridden"


@pytest.mark.parametrize("act", ["pull", "loosen", "turn", "untouched"])
def test_an_override_ends_at_the_next_act_on_its_check(act: str) -> None:
    walk = small(upto="untouched:bolts.left").override("bolts.left")
    assert walk.key == "untouched:bolts.right"
    event: ev.Event = ev.Untouched(step="bolts", place="left")
    if act == "pull":
        taken = walk.pull("5 N·m").last
        assert isinstance(taken, ev.PullTaken)
        event = taken.model_copy(update={"touches": ev.Slot(step="bolts", place="left")})
    elif act == "loosen":
        event = ev.Loosened(fasteners=("bolts.left",))
    elif act == "turn":
        event = ev.Turned(step="adjust", left="1", right="1")
    walk.say(event)
    assert "bolts.left" not in walk.job.overrides


def test_a_withdrawal_does_not_end_an_override() -> None:
    walk = small(upto="measure:gap").read("45.0 mm").override("gap").back()
    assert walk.verdict("gap") == "overridden"


def test_what_was_opened_as_due_is_known() -> None:
    walk = small(upto="close").say(ev.DueOpened(what="Look again", after="40 h"))
    assert walk.job.due == ("Look again",)


# --- what is known ---


def test_a_job_knows_how_it_was_opened() -> None:
    walk = Walk(sheet_of(SMALL))
    assert (walk.job.id, walk.job.machine, walk.job.by, walk.job.simulated) == ("j1", "Depot 7", "Robin", True)
    assert (walk.job.opened_utc, walk.job.seq) == (walk.records[0].utc, 1)


def test_a_reading_is_kept_with_its_tool_and_the_battery_it_had_then() -> None:
    walk = small(upto="measure:gap").say(ev.ToolSeen(tool="C1", tool_kind="caliper", link="ready", battery=41))
    walk.say(ev.ToolSeen(tool="C1", tool_kind="caliper", link="lost")).read("32.10 mm")
    walk.say(ev.ToolSeen(tool="C1", tool_kind="caliper", link="ready", battery=40))
    (attempt,) = walk.job.attempts["gap", ""]
    (taken,) = attempt.taken
    assert (taken.text, str(taken.value), taken.unit, taken.part) == ("32.10", "32.10", "mm", "")
    assert (taken.tool, taken.tool_kind, taken.source, taken.battery) == ("C1", "caliper", "sig", 41)
    assert (attempt.number, attempt.since, taken.mode) == (1, taken.seq, "")
    assert walk.job.batteries == {"C1": 40}


def test_a_pull_is_kept_as_it_was_shown_and_as_it_was_largest() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").say(
        ev.ToolSeen(tool="W1", tool_kind="torque wrench", link="ready", battery=77)
    )
    walk.pull("39.5000 N·m", host="40.25")
    (pull,) = walk.job.fastener(("bolts", "left")).pulls
    assert (str(pull.peak), str(pull.most), pull.text) == ("39.5000", "40.25", "39.50")
    assert (pull.unit, pull.tool, pull.asked, pull.invalid) == ("N·m", "W1", True, "")
    assert (pull.how, pull.number, pull.battery, pull.under_read) == ("measured", 1, 77, None)
    assert walk.job.last_pulled == ("bolts", "left")
    assert walk.job.last_counted == walk.seq


def test_the_largest_sample_decides_where_the_tool_kept_no_peak_and_may_be_short() -> None:
    event = _torqued().last
    assert isinstance(event, ev.PullTaken)
    short = event.model_copy(update={"own_peak": None, "host_peak": "38.0", "under_read": "1.5"})
    pull = _torqued().say(short).job.fastener(("bolts", "right")).pulls[-1]
    assert (str(pull.peak), str(pull.under_read)) == ("38.0", "1.5")
    owned = event.model_copy(update={"under_read": "1.5"})
    assert _torqued().say(owned).job.fastener(("bolts", "right")).pulls[-1].under_read is None


def test_a_pull_that_was_set_aside_was_not_asked_for() -> None:
    event = _torqued().last
    assert isinstance(event, ev.PullTaken)
    walk = _torqued().say(event.model_copy(update={"set_aside": "duplicate"}))
    assert not walk.job.fastener(("bolts", "right")).pulls[-1].asked
    assert walk.job.last_counted < walk.seq


def test_a_turning_is_kept_with_what_was_advised_and_expected() -> None:
    before, expected = ev.Figures(slack={"gap": "45.0"}), ev.Figures(slack={"gap": "32.0"}, difference="0.10")
    turned = ev.Turned(
        step="adjust",
        left="1.5",
        right="2",
        advised_left="1.5",
        advised_right="2",
        before=before,
        expected=expected,
    )
    walk = small(upto="close").say(turned)
    (turn,) = walk.job.turns
    assert (turn.seq, turn.step, str(turn.left), str(turn.right)) == (walk.seq, "adjust", "1.5", "2")
    assert (turn.as_advised, turn.before, turn.expected) == (True, before, expected)
    assert walk.job.turned("adjust") == walk.seq
    assert walk.job.turned("elsewhere") == 0
    assert (walk.job.turns_before(walk.seq), walk.job.turns_before(walk.seq + 1)) == (0, 1)
    other = walk.say(turned.model_copy(update={"advised_right": "1"}))
    assert not other.job.turns[-1].as_advised
    unasked = walk.say(ev.Turned(step="adjust", left="1", right="1"))
    assert not unasked.job.turns[-1].as_advised


def test_what_is_said_of_tools_and_of_the_job_is_known() -> None:
    picks = (ev.Pick(tool="C1", tool_kind="caliper", steps=("gap",)),)
    declared = ev.ToolDeclared(tool="C2", tool_kind="caliper")
    walk = small(upto="measure:gap").say(ev.ToolsPicked(by="Robin", picks=picks)).say(declared)
    walk.say(ev.AdapterDeclared(step="bolts", adapter=None)).note("first").note("second")
    assert (walk.job.picked, walk.job.typed_with, walk.job.adapters) == (picks, declared, {"bolts": None})
    assert [text for _, text in walk.job.free_notes] == ["first", "second"]
    assert walk.job.free_notes[-1][0] == walk.seq


def test_an_override_is_known_with_who_and_why_and_what_it_was() -> None:
    walk = small(upto="measure:gap").read("45.0 mm").override("gap", note="new belt ordered")
    found = walk.job.overrides["gap"]
    assert (found.seq, found.name, found.note, found.was) == (walk.seq, "Robin", "new belt ordered", "high")


def test_an_override_while_something_is_loose_for_an_adjustment_is_known_to_it_too() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "33.0 mm").loosened("bolts").override("ends.agreement")
    before = before_loosening(walk.job)
    assert before is not None
    assert list(before.overrides) == ["ends.agreement"]


def test_what_is_suspect_is_lifted_by_letting_its_check_pass_or_taking_it_back() -> None:
    walk = small(upto="measure:ends.left").say(ev.Suspected(tool="C1", zero=99, readings=(3, 4), why="off"))
    walk.say(ev.Suspected(tool="C2", zero=98, readings=(5,), why="off"))
    assert walk.job.suspect == {3: 99, 4: 99, 5: 98}
    assert walk.say(ev.TakenBack(of=99, why="typed wrong")).job.suspect == {5: 98}


def test_of_several_pulls_only_the_one_meant_is_taken_back() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("20 N·m").pull("40 N·m").back()
    assert [pull.withdrawn for pull in walk.job.fastener(("bolts", "left")).pulls] == [False, True]


def test_back_goes_one_by_one_through_pulls_too_and_leaves_out_what_nobody_asked_for() -> None:
    walk = _torqued()
    first, second = (walk.job.fastener(("bolts", side)).pulls[-1].seq for side in ("left", "right"))
    while walk.key != "close":
        answer(walk)
    walk.say(ev.TakenBack(of=walk.job.last_counted, why="slipped"))
    walk.pull("20 N·m")
    assert not walk.job.fastener(("bolts", "right")).pulls[-1].asked
    while walk.job.last_counted > second:
        walk.back()
    assert walk.job.last_counted == second
    assert walk.back().job.last_counted == first


def test_a_pull_that_told_no_torque_is_kept_and_judges_nothing() -> None:
    event = _torqued().last
    assert isinstance(event, ev.PullTaken)
    walk = _torqued().say(event.model_copy(update={"own_peak": None, "host_peak": None, "trace": ()}))
    pull = walk.job.fastener(("bolts", "right")).pulls[-1]
    assert (pull.peak, pull.most, pull.text) == (None, None, "")
    assert walk.verdict("bolts.right") == "inside", "the first pull stands"


def test_a_reading_joins_the_last_attempt_and_leaves_the_others_as_they_were() -> None:
    sheet = sheet_of(SMALL.replace('window = ["25 mm", "40 mm"]', 'repeats = 3\nspread_within = "0.5 mm"'))
    walk = Walk(sheet).confirm().read("32.0 mm", "32.1 mm", "39.0 mm", "32.2 mm", "32.3 mm")
    taken = [[each.text for each in attempt.taken] for attempt in walk.job.attempts["gap", ""]]
    assert taken == [["32.0", "32.1", "39.0"], ["32.2", "32.3"]]


def test_the_last_turning_is_known_and_there_is_none_before_it() -> None:
    walk = small(upto="close")
    assert walk.job.last_turned == 0
    assert walk.turned().job.last_turned == walk.seq
    assert walk.confirm().job.last_turned == walk.seq - 1


def test_what_was_let_pass_before_a_loosening_counts_for_the_adjustment_still() -> None:
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "33.0 mm").override("ends.agreement").loosened("bolts")
    assert walk.job.overrides == {}
    before = before_loosening(walk.job)
    assert before is not None
    assert list(before.overrides) == ["ends.agreement"]


def test_what_was_let_pass_counts_until_it_is_confirmed_or_written_down_after_all() -> None:
    walk = small(upto="confirm:safe").override("safe").say(ev.Confirmed(step="safe", items=("Key in your pocket",)))
    assert (walk.verdict("safe"), walk.job.overrides) == ("done", {})
    note = Walk(shipped()).override("mileage").override("ready").say(ev.Noted(step="mileage", text="12480"))
    assert (note.verdict("mileage"), list(note.job.overrides)) == ("done", ["ready"])
