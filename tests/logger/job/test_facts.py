"""What a job knows of itself, its readings, pulls, turns and overrides."""

from logger import events as ev
from logger.job.job import before_loosening
from tests.logger.job.torquing import torqued
from tests.logger.walk import SMALL, Walk, sheet_of, small


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
    event = torqued().last
    assert isinstance(event, ev.PullTaken)
    short = event.model_copy(update={"own_peak": None, "host_peak": "38.0", "under_read": "1.5"})
    pull = torqued().say(short).job.fastener(("bolts", "right")).pulls[-1]
    assert (str(pull.peak), str(pull.under_read)) == ("38.0", "1.5")
    owned = event.model_copy(update={"under_read": "1.5"})
    assert torqued().say(owned).job.fastener(("bolts", "right")).pulls[-1].under_read is None


def test_a_pull_that_was_set_aside_was_not_asked_for() -> None:
    event = torqued().last
    assert isinstance(event, ev.PullTaken)
    walk = torqued().say(event.model_copy(update={"set_aside": "duplicate"}))
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


def test_a_pull_that_told_no_torque_is_kept_and_judges_nothing() -> None:
    event = torqued().last
    assert isinstance(event, ev.PullTaken)
    walk = torqued().say(event.model_copy(update={"own_peak": None, "host_peak": None, "trace": ()}))
    pull = walk.job.fastener(("bolts", "right")).pulls[-1]
    assert (pull.peak, pull.most, pull.text) == (None, None, "")
    assert walk.verdict("bolts.right") == "inside", "the first pull stands"


def test_the_last_turning_is_known_and_there_is_none_before_it() -> None:
    walk = small(upto="close")
    assert walk.job.last_turned == 0
    assert walk.turned().job.last_turned == walk.seq
    assert walk.confirm().job.last_turned == walk.seq - 1
