import json
from pathlib import Path

import pytest

from logger.errors import BadInput
from logger.record.checked import CheckPart
from logger.record.form import RecordFile, record_schema
from logger.record.record import make_record
from logger.trail.anchor import Anchor
from logger.trail.anchorfile import from_record
from logger.trail.keys import bench_key, holds
from logger.trail.read import verify
from logger.trail.seal import message
from tests.played import AS_FOUND, LAST, SLACK_HIGH, TORQUED, WHOLE, play
from tui.asjson import as_json


def _check(made: RecordFile, check: str) -> CheckPart:
    return next(each for each in made.checks if each.check == check)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "trail.sqlite"


async def test_a_closed_job_is_told_whole(path: Path) -> None:
    await play(path, WHOLE)
    made = make_record(path, "j1")
    assert (made.job, made.state, made.machine, made.by, made.simulated) == ("j1", "closed", "Depot 7", "Robin", False)
    assert made.closed is not None
    assert made.opened < made.closed
    assert not made.not_to_be_ridden
    assert made.warnings == ()
    assert all(check.passes and check.settle == "" for check in made.checks)
    assert [(due.what, due.after) for due in made.due] == [("Check chain slack again", "300 km")]
    assert [note.text for note in made.notes] == ["12480", "fleet 7, rattles"]
    assert {act.what for act in made.acts} == {"confirmed", "loosened", "seated"}
    assert len(made.pulls) == 3
    assert [turn.advised_left for turn in made.turns] == [turn.left for turn in made.turns]
    assert made.turns[0].before is not None
    assert made.turns[0].before.slack["tightest"] == "45.000"


async def test_a_check_shows_window_value_and_how_it_was_found(path: Path) -> None:
    await play(path, WHOLE)
    slack = _check(make_record(path, "j1"), "slack.tightest")
    assert slack.window == ("25 mm", "40 mm")
    assert (slack.aim, slack.value, slack.unit, slack.verdict) == ("32 mm", "31.5", "mm", "inside")
    assert slack.margin == "+6.5 mm"
    assert slack.as_found is not None
    assert (slack.as_found.verdict, slack.as_found.value) == ("high", "45.0")
    assert slack.attempts == 3
    sides = _check(make_record(path, "j1"), "sides.agreement")
    assert (sides.agree_within, sides.window, sides.value) == ("0.5 mm", None, "0.1")
    nut = _check(make_record(path, "j1"), "axle_nut")
    assert (nut.window, nut.value, nut.unit, nut.as_found) == (("90 N·m", "106 N·m"), "98", "N·m", None)


async def test_readings_that_do_not_count_are_there_too(path: Path) -> None:
    await play(path, [*AS_FOUND[:4], "101.8 mm", "back read at the wrong pin", "101.9 mm", "55 mm", "quit"])
    readings = make_record(path, "j1").readings
    assert [reading.value for reading in readings] == ["101.8", "101.9", "55"]
    withdrawn, counted, aside = readings
    assert withdrawn.withdrawn is not None
    assert withdrawn.withdrawn.why == "read at the wrong pin"
    assert (counted.withdrawn, counted.set_aside, counted.step) == (None, "", "wear")
    assert (aside.set_aside, aside.step) == ("unprompted", "")


UNTORQUED = [*WHOLE[: -len(TORQUED) - len(LAST)], "override axle_nut wrench is away"]
UNLOCKED = [*WHOLE[: -len(LAST)], "override pin the new pin is at the depot", "done", "done", "close"]


UNBRAKED = [*WHOLE[: -len(LAST)], "done", "override brake the pads come tomorrow", "done", "close"]


@pytest.mark.parametrize(
    ("check", "script", "state"),
    [("axle_nut", UNTORQUED, "open"), ("pin", UNLOCKED, "closed"), ("brake", UNBRAKED, "closed")],
)
async def test_an_overridden_torque_or_lock_or_what_is_vital_forbids_riding(
    path: Path, check: str, script: list[str], state: str
) -> None:
    await play(path, script)
    made = make_record(path, "j1")
    assert (made.state, made.not_to_be_ridden) == (state, True)
    assert made.warnings[0].startswith(f"NOT TO BE RIDDEN OR RUN: {_check(made, check).title} was let pass by hand")
    override = _check(made, check).override
    assert override is not None
    assert (override.name, override.was) == ("Robin", "waiting")


@pytest.mark.parametrize("check", ["locked", "guards", "run"])
async def test_what_is_vital_on_the_conveyor_forbids_running_when_it_is_let_pass(path: Path, check: str) -> None:
    await play(path, [f"override {check} nobody here to do it"], sheet="parcel-conveyor")
    made = make_record(path, "j1")
    assert made.not_to_be_ridden
    let = f"NOT TO BE RIDDEN OR RUN: {_check(made, check).title} was let pass by hand; it does not pass."
    assert made.warnings[0] == let


async def test_several_checks_are_told_as_several(path: Path) -> None:
    await play(path, [*UNTORQUED, "override pin no pin here"])
    let, open_still, *_ = make_record(path, "j1").warnings
    assert let.endswith("RUN: Axle nut and Split pin, witness marks were let pass by hand; they do not pass.")
    assert open_still == (
        "NOT TO BE RIDDEN OR RUN: the job is not finished. Adjuster lock nuts, left; Adjuster lock nuts, right; "
        "Brake firm, wheel spins free and Lubricated, guard on, tools in do not pass."
    )
    await play(path, AS_FOUND)


async def test_another_override_stands_in_plain_sight_but_forbids_nothing(path: Path) -> None:
    script = list(WHOLE)
    script[4:5] = ["103.0 mm", "override wear chain is ordered"]
    await play(path, script)
    made = make_record(path, "j1")
    wear = _check(made, "wear")
    assert made.state == "closed"
    assert not made.not_to_be_ridden
    assert wear.verdict == "overridden"
    assert wear.override is not None
    assert (wear.override.note, wear.override.was) == ("chain is ordered", "high")
    assert wear.margin == "-0.4 mm"
    assert wear.as_found is not None
    assert (wear.as_found.verdict, wear.as_found.value) == ("high", "103.0")
    assert [(each.check, each.note, each.stands) for each in made.overrides] == [("wear", "chain is ordered", True)]


async def test_an_override_that_ended_is_still_told(path: Path) -> None:
    await play(path, [*AS_FOUND[:4], "103.0 mm", "override wear chain is ordered", *AS_FOUND[5:], "quit"])
    await play(path, ["back wrong pin", "quit"], resume="j1")
    made = make_record(path, "j1")
    (let,) = made.overrides
    assert (let.check, let.name, let.was) == ("wear", "Robin", "high")
    assert let.stands is (_check(made, "wear").override is not None)


async def test_the_rounds_of_adjustment_are_told_with_what_was_expected(path: Path) -> None:
    await play(path, WHOLE)
    made = make_record(path, "j1")
    assert made.drive is not None
    assert (made.drive.low_mm, made.drive.high_mm, made.drive.aim_mm, made.drive.agree_mm) == (
        "25.000", "40.000", "32.000", "0.500",
    )  # fmt: skip
    assert [(each.after, each.tight, each.slack, each.difference) for each in made.rounds] == [
        (0, False, "45.000", "-0.600"),
        (1, False, "32.000", "0.100"),
        (1, True, "31.500", "0.100"),
    ]
    assert made.turns[0].expected is not None
    assert made.mileage is not None
    assert (made.mileage.title, made.mileage.value, made.mileage.unit) == ("Mileage", "12480", "km")
    assert [(each.length_mm, each.elongation, each.limit) for each in made.wear] == [
        ("101.800", "0.001969", "0.009843")
    ]


async def test_the_head_is_signed_and_in_words(path: Path, tmp_path: Path) -> None:
    await play(path, AS_FOUND)
    key = bench_key(tmp_path / "bench.key")
    head = make_record(path, "j1", key).head
    anchor = Anchor(head.seq, bytes.fromhex(head.sha256), head.trail)
    assert head.words == anchor.words
    assert holds(key.public, message(head.trail, head.seq, anchor.hash), bytes.fromhex(head.signature))
    found = from_record(as_json(make_record(path, "j1", key).model_dump(mode="json")).encode(), "a record")
    assert (found.key, found.signature.hex()) == (key.public, head.signature)
    assert make_record(path, "j1").head.signature == ""


def test_the_schema_is_made_from_the_models_and_versioned() -> None:
    schema = record_schema()
    assert schema["$id"] == "urn:evenhand-record:4"
    properties = schema["properties"]
    assert isinstance(properties, dict)
    assert list(properties) == list(RecordFile.model_fields) == schema["required"]
    assert schema["additionalProperties"] is False


async def test_an_open_job_says_so_and_what_would_settle_it(path: Path) -> None:
    await play(path, [*AS_FOUND, *SLACK_HIGH, "close"])
    made = make_record(path, "j1")
    assert (made.state, made.closed, made.not_to_be_ridden) == ("open", None, True)
    assert any("open" in warning for warning in made.warnings)
    assert len(made.refusals) == 1
    assert "slack.tightest" in made.refusals[0].open
    assert _check(made, "slack.tightest").settle.startswith("Adjust")


async def test_the_head_is_the_whole_trails(path: Path) -> None:
    await play(path, AS_FOUND)
    await play(path, AS_FOUND[:2])
    checked = verify(path)
    head = make_record(path, "j1").head
    assert (head.trail, head.seq, head.sha256) == (checked.trail, checked.head_seq, checked.head_hash)


async def test_json_is_versioned_and_reads_back(path: Path) -> None:
    await play(path, WHOLE)
    made = make_record(path, "j1")
    text = as_json(made.model_dump(mode="json"))
    assert json.loads(text)["format"] == "evenhand-record"
    assert json.loads(text)["version"] == 4
    assert RecordFile.model_validate_json(text) == made


def test_json_holds_no_character_that_could_drive_a_terminal() -> None:
    hostile = {"note": "a\x1b[2J\x9b31m\u202eN·m\u2028\x7f"}
    text = as_json(hostile)
    assert "N·m" in text
    assert all(character == "\n" or character.isprintable() for character in text)
    assert json.loads(text) == hostile


async def test_an_unknown_job_is_refused(path: Path) -> None:
    await play(path, AS_FOUND)
    with pytest.raises(BadInput, match="no job j99"):
        make_record(path, "j99")
