"""The fold: replay at every prefix, what acts disturb, what an adjustment rests on, overrides."""

from dataclasses import replace

import pytest

from logger import events as ev
from logger.job.job import apply, before_loosening, fold, opened
from tests.logger.job.torquing import torqued
from tests.logger.walk import Walk, answer, shipped, small


def test_replay_gives_the_same_job_at_every_prefix() -> None:
    walk = torqued()
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


# --- acts disturb ---


def test_a_pull_disturbs_what_it_moves_and_taking_it_back_does_not_undo_that() -> None:
    walk = torqued()
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
    walk = torqued()
    while walk.key != "close":
        answer(walk)
    walk.pull("40 N·m")
    assert walk.verdict("cap") == walk.verdict("gap") == "stale"
    assert walk.verdict("bolts.right") == "inside"


def test_an_invalid_or_unjudgeable_pull_disturbs() -> None:
    for pull in ({"text": "30 N·m", "invalid": "a gap of 400 ms in the stream"}, {"text": "30 mm"}):
        walk = torqued()
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
    walk = torqued().pull("-12 N·m", anticlockwise=True)
    assert not walk.job.fastener(("bolts", "right")).is_loose
    assert walk.verdict("bolts.right") == "stale"
    assert walk.key == "slacken:bolts.right"
    assert walk.confirm().verdict("bolts.right") == "stale"
    assert walk.job.fastener(("bolts", "right")).is_loose


def test_an_adjustment_disturbs_all_its_sheet_names() -> None:
    walk = torqued()
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


@pytest.mark.parametrize(
    ("step", "place", "check", "after"),
    [("ends", "left", "ends.agreement", "waiting"), ("gap", "", "gap", "inside")],  # 32.0 mm of either
)
def test_an_override_ends_at_the_next_counted_reading_of_its_check(
    step: str, place: str, check: str, after: ev.Verdict
) -> None:
    walk = small(upto="measure:gap").override(check).override("bolts.left")
    assert walk.verdict(check) == "overridden"
    walk.say(
        ev.ReadingTaken(
            answers=ev.Slot(step=step, place=place),
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
    assert walk.verdict(check) == after
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
