"""Corners of a plain session that could let a job pass which should not, or take a word for what it is not."""

from pathlib import Path

import pytest

from logger import events as ev
from logger.shelf.shelf import load_job, records
from tests.played import AS_FOUND, LAST, SIDES_UNEVEN, SLACK_HIGH, TORQUED, WHOLE, play

INSIDE = ("100 mm", "132 mm", "100 mm", "134 mm", "36.2 mm", "36.2 mm")
AGAIN = ("100 mm", "132 mm", "36.2 mm", "36.2 mm")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "trail.sqlite"


async def test_nuts_are_torqued_after_a_turning_that_nobody_loosened_them_for(path: Path) -> None:
    said = await play(path, [*AS_FOUND, *INSIDE, "turned 1 1", "done", *AGAIN, "done", *LAST])
    job, _ = load_job(path, "j1")
    assert not job.closed
    assert any("axle_nut" in line and "the adjusters were turned: loosen it" in line for line in said) or any(
        line.startswith("Next: Axle nut: loosen it") for line in said
    )


async def test_such_a_job_closes_once_they_are_loosened_and_torqued(path: Path) -> None:
    nuts = ("loosened", "loosened axle_nut lock_nuts")
    rest = ("98 N·m", "21 N·m", "21 N·m", *INSIDE, *LAST)
    await play(path, [*AS_FOUND, *INSIDE, "turned 1 1", "done", *AGAIN, *nuts, *AGAIN, *rest])
    assert load_job(path, "j1")[0].closed


async def test_an_override_at_the_turn_prompt_ends_the_adjustment(path: Path) -> None:
    said = await play(
        path,
        [
            *AS_FOUND,
            "100 mm",
            "150 mm",
            "100 mm",
            "134 mm",
            "36.2 mm",
            "36.2 mm",
            "loosened",
            "override slack.tightest ok",
        ],
    )
    assert not [line for line in said[-6:] if line.startswith("Next: Turn the adjusters")]


async def test_two_slips_that_differ_do_not_bear_each_other_out(path: Path) -> None:
    said = await play(path, [*AS_FOUND, *SLACK_HIGH, "100 mm", "134 mm", "36.2 mm"])
    assert not [line for line in said if line.startswith("Turn left")]
    assert any("not plausible" in line for line in said)


async def test_two_strange_values_alike_are_judged_and_nothing_is_turned_by_them(path: Path) -> None:
    said = await play(path, [*AS_FOUND, *SLACK_HIGH, "100.0 mm", "101.0 mm", "36.2 mm"])
    assert any("uneven" in line for line in said)
    assert not [line for line in said if line.strip().startswith("Turn left")]
    assert any("sides.left is not plausible" in line for line in said)


async def test_a_slip_after_turning_is_measured_again_before_anything_is_turned(path: Path) -> None:
    adjusted = ("loosened", "turned", "done", "100.0 mm", "132.0 mm")
    said = await play(path, [*AS_FOUND, *SLACK_HIGH, *SIDES_UNEVEN, *adjusted, "78.0 mm", "36.8 mm"])
    last = said[max(place for place, line in enumerate(said) if line.startswith("Next: Turn")) :]
    assert any("not what the turns should give" in line for line in last)
    assert not [line for line in last if line.strip().startswith("Turn left")]


@pytest.mark.parametrize(
    "line",
    [
        "turned 0,5",
        "turned 1,1",
        "done except the key is still in",
        "close please",
        "override wear \u200b",
        "note \u2060",
    ],
)
async def test_what_is_not_quite_a_word_is_refused(path: Path, line: str) -> None:
    said = await play(path, [*AS_FOUND[:2], line])
    assert [each for each in said if each.startswith("Not taken")], said[-4:]


async def test_cautions_and_kit_can_be_asked_for(path: Path) -> None:
    said = await play(path, ["cautions"])
    assert said.count("Caution: Engine off and key out. Never run the engine to turn the wheel.") == 2


async def test_that_the_cautions_were_read_is_on_the_trail_and_answers_nothing(path: Path) -> None:
    said = await play(path, ["read"])
    assert said[said.index("All 6 cautions were read by Robin") + 1].startswith("Next: Mileage")
    assert list(records(path))[1].event == ev.CautionsRead(by="Robin", count=6)


async def test_the_close_prompt_names_what_was_let_pass(path: Path) -> None:
    before = [line for line in WHOLE if line != "close"]
    high = [line if line != "133.0 mm" else "144.0 mm" for line in TORQUED]
    script = [*before[: -len(TORQUED) - len(LAST) + 1], *high]
    said = await play(path, [*script, "override slack.opposite owner told", *LAST[:-1]])
    assert "Next: Nothing is open: close the job" in said
    assert any("Robin lets it: owner told" in line for line in said)


async def test_a_pull_below_the_window_after_an_earlier_torque_is_waited_for_not_stale(path: Path) -> None:
    said = await play(path, [*WHOLE[:-1], "loosened axle_nut", *INSIDE, "60 N·m"])
    assert any(line.startswith("○ waiting    Axle nut") and "so far 60 N·m" in line for line in said)
