import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from drivers.reading import Link, ToolReading, ToolState
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.errors import NotStored
from logger.job.verdictwords import SHAPES
from logger.sheets.store import open_sheet
from logger.shelf.shelf import load_job, records
from logger.trail.trail import Trail
from tests.played import AS_FOUND, BY, LAST, SIDES_UNEVEN, SLACK_HIGH, WHOLE, Ticking, lines_of, play
from tui.entry.typed_lines import MOST_BYTES
from tui.plain import HELP, Plain
from tui.services import Workplace


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "trail.sqlite"


def _after(said: list[str], start: str) -> list[str]:
    """What was said from the last line that begins so."""
    last = max(place for place, line in enumerate(said) if line.startswith(start))
    return said[last:]


async def test_the_whole_job_closes(path: Path) -> None:
    said = await play(path, WHOLE)
    assert load_job(path, "j1")[0].closed
    assert said[0] == "Job j1 opened by Robin: Chain and rear axle, Depot 7"
    cautions = said[1 : said.index("Next: Mileage")]
    assert "Caution: Engine off and key out. Never run the engine to turn the wheel." in cautions
    assert cautions[-1].startswith("Kit: caliper with depth rod")
    assert said[-2:] == ["Job closed", "The record can be made with: evenhand record j1 --format html --out j1.html"]
    assert not [line for line in said if line.startswith("Not taken")]


async def test_a_reading_outside_is_told_with_word_and_shape(path: Path) -> None:
    said = await play(path, [*AS_FOUND[:4], "103.0 mm"])
    taken = _after(said, "Taken: 103.0 mm")
    assert taken[1].split()[:2] == [SHAPES["high"], "high"]
    assert taken[2].startswith("The chain is worn by 1.38 %, limit 0.98 %: it is not to be adjusted but replaced")
    assert taken[3] == "Next: Chain wear over 8 pitches"


async def test_each_prompt_comes_whole_once_and_again_on_an_empty_line(path: Path) -> None:
    said = await play(path, [*AS_FOUND[:4], "103.0 mm", ""])
    window = "  Window 101.3 mm to 102.6 mm"
    first, again = [place for place, line in enumerate(said) if line == window]
    assert said.index("Taken: 103.0 mm for Chain wear over 8 pitches") in range(first, again)
    assert said[-1].startswith("The job stays open")


async def test_the_advice_is_in_words_for_each_side(path: Path) -> None:
    said = await play(path, [*AS_FOUND, *SLACK_HIGH, *SIDES_UNEVEN, "loosened"])
    asked = _after(said, "Next: Turn the adjusters: turn")
    text = "\n".join(asked)
    assert "Tighter is clockwise, seen from behind" in text
    assert "slack tightest 45.0 mm, slack opposite 47.0 mm" in text
    assert "left minus right -0.6 mm" in text
    assert any(line.startswith("  Turn left: ") and line.endswith("flats tighter.") for line in asked)
    assert any(line.startswith("  Turn right: ") for line in asked)
    assert any(line.startswith("  Expected after: slack tightest 3") for line in asked)


async def test_turned_otherwise_is_kept_as_it_was_said(path: Path) -> None:
    await play(path, [*AS_FOUND, *SLACK_HIGH, *SIDES_UNEVEN, "loosened", "turned 4 -0.5"])
    turned = [each.event for each in records(path, "j1") if isinstance(each.event, ev.Turned)]
    assert [(event.left, event.right) for event in turned] == [("4", "-0.5")]
    assert turned[0].advised_left not in (None, "4")


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("36.2", "The unit is missing."),
        ("12,5 mm", "A comma is not taken"),
        (".5 mm", "A digit is needed before the point"),
        ("1e3 mm", "exponent"),
        ("36.2 parsec", "The unit 'parsec' is not one that is known."),
        ("frobnicate", '"frobnicate" is not a word that is known here. Say help'),
        ("done", "Nothing to confirm now"),
        ("turned", "Nothing is advised now"),
        ("turned 1", '"1" is not two numbers of flats.'),
        ("turned a b", "is not two numbers of flats"),
        ("turned 1e5 0", "is not two numbers of flats"),
        ("turned 99 0", "Flats must lie between"),
        ("loosened wheel", "There is no fastener wheel."),
        ("back", "needs a reason"),
        ("note", "A note needs 1 to 300 characters."),
        ("note about twelve thousand", "is not a number"),
        ("override", 'There is no check ""'),
        ("override wear", "a note that is not blank"),
        ("override nothing it is fine", 'There is no check "nothing"'),
        ("[31m 3 mm", "is not a reading"),
        ("x" * 5000, "The line is too long."),
        ("9" * 5000, "The line is too long."),
    ],
)
async def test_what_cannot_be_taken_is_said_and_the_prompt_stands(path: Path, typed: str, why: str) -> None:
    said = await play(path, [typed])
    refusal = next(line for line in said if line.startswith("Not taken: "))
    assert why in refusal
    assert said[said.index(refusal) + 1] == "Next: Mileage"
    events = [each.event for each in records(path, "j1")]
    kept = [event for event in events if isinstance(event, ev.FrameUndecoded)]
    is_word = typed[0].isalpha() or len(typed) > MOST_BYTES
    assert [bytes.fromhex(event.raw).decode() for event in kept] == ([] if is_word else [typed])
    assert len(events) == 2 + len(kept)


async def test_closing_early_lists_what_is_open_and_the_session_goes_on(path: Path) -> None:
    said = await play(path, [*AS_FOUND[:4], "103.0 mm", "close", "note still here"])
    refused = _after(said, "Closing refused: 11 open")
    assert refused[1].startswith(f"{SHAPES['high']} high: Chain wear over 8 pitches [wear]. Take ")
    assert sum("[" in line for line in refused) == 11
    assert "Noted: still here" in refused
    assert not load_job(path, "j1")[0].closed


async def test_an_override_is_by_whoever_does_the_job(path: Path) -> None:
    said = await play(path, [*AS_FOUND[:4], "103.0 mm", "override wear chain is ordered"])
    overridden = _after(said, "Overridden by Robin: Chain wear over 8 pitches")
    assert overridden[1].startswith(f"{SHAPES['overridden']} overridden")
    job, _ = load_job(path, "j1")
    assert (job.overrides["wear"].name, job.overrides["wear"].note) == (BY, "chain is ordered")


async def test_status_names_every_check(path: Path) -> None:
    said = await play(path, ["status"])
    job, _ = load_job(path, "j1")
    assert sum(any(f"[{check}]" in line for check in job.sheet.checks) for line in said) == len(job.sheet.checks)


async def test_help_names_every_word(path: Path) -> None:
    said = await play(path, ["help"])
    assert [line for line in said if line in {f"  {words}: {meaning}" for words, meaning in HELP}] == [
        f"  {words}: {meaning}" for words, meaning in HELP
    ]


@pytest.mark.parametrize(("script", "why"), [(["quit", "note 5"], "quit"), ([], "end of input"), (["QUIT"], "quit")])
async def test_leaving_keeps_the_job_open_with_the_reason(path: Path, script: list[str], why: str) -> None:
    said = await play(path, script)
    assert said[-1] == "The job stays open. Take it up again with: evenhand resume j1"
    *_, last = records(path, "j1")
    assert last.event == ev.Interrupted(why=why)


async def test_a_resumed_job_stands_at_the_same_prompt(path: Path) -> None:
    await play(path, [*AS_FOUND[:4]])
    said = await play(path, ["101.8 mm"], resume="j1")
    assert said[:2] == ["Taken up again by Robin", "Next: Chain wear over 8 pitches"]
    wear = f"{SHAPES['inside']} inside     Chain wear over 8 pitches 101.8 mm · margin 0.5 mm, U at least 0.20 mm"
    assert any(line.startswith(wear) for line in said)


async def test_nothing_is_taken_after_the_closing(path: Path) -> None:
    await play(path, [*WHOLE, "note too late"])
    *_, last = records(path, "j1")
    assert isinstance(last.event, ev.JobClosed)


async def test_what_a_tool_sends_is_told_as_it_comes(path: Path) -> None:
    said: list[str] = []
    clock = Ticking()
    served = asyncio.Event()

    async def tool(workplace: Workplace) -> None:
        at = clock.now()
        await workplace.bench.arrive(ToolState("DEPOT-C1", "caliper", Link.READY, at, battery=80))
        await workplace.bench.arrive(ToolState("radio", "radio", Link.LOST, at, message="No adapter. Plug one in."))
        await workplace.bench.arrive(ToolReading("DEPOT-C1", "length", "101.8", "mm", "sig", "00", at, "caliper"))
        served.set()

    async def typed() -> AsyncIterator[str]:
        for line in AS_FOUND[:4]:
            yield line
        begun.set()
        await served.wait()
        yield "quit"

    begun = asyncio.Event()

    async def tool_then(workplace: Workplace) -> None:
        await begun.wait()
        await tool(workplace)

    with Trail.open(path) as trail:
        bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", BY))
        await Plain(bench, clock, BY, said.append).run(typed(), [tool_then])
    assert "Tool DEPOT-C1 (caliper): ready, battery 80 %" in said
    assert "No adapter. Plug one in." in said
    taken = _after(said, "Taken: 101.8 mm")
    assert taken[1].split()[:2] == [SHAPES["inside"], "inside"]
    assert taken[2] == "Worn by 0.20 %, limit 0.98 %; 80 % of the wear limit is left."
    assert taken[3] == "Next: Find the tightest spot"


async def test_what_is_not_stored_ends_the_session(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def full(*_: object) -> None:
        raise NotStored("NOT STORED: the disk is full.", "Make room.")

    said: list[str] = []
    with Trail.open(path) as trail:
        bench = await Bench.open(trail, Ticking(), Opening(open_sheet("courier-chain"), "Depot 7", BY))
        monkeypatch.setattr(bench, "note", full)
        with pytest.raises(ExceptionGroup) as caught:
            await Plain(bench, Ticking(), BY, said.append).run(lines_of(["note 5"]))
    assert caught.group_contains(NotStored)


async def test_locks_at_the_end_can_be_overridden_too(path: Path) -> None:
    script = [*WHOLE[: -len(LAST)], "override pin the new pin is at the depot", "done", "done", "close"]
    await play(path, script)
    assert load_job(path, "j1")[0].closed


async def test_a_wear_check_says_how_to_span_and_names_the_fencepost_trap(path: Path) -> None:
    said = await play(path, [*AS_FOUND[:4], "114.3 mm", "note still here"])
    assert "  8 pitches is pin 1 to pin 9: 101.6 mm new, worn out above 102.6 mm; it fits a 150 mm caliper." in said
    trap = "114.3 mm is nearer to 9 pitches than to 8: 8 pitches is pin 1 to pin 9; count the pins again."
    assert _after(said, "Taken: 114.3 mm")[2] == trap


async def test_the_tool_of_what_is_typed_is_declared_by_a_word(path: Path) -> None:
    said = await play(path, ["12480", "with tape", "with hammer", "with off"])
    assert "Typed readings come from: tape" in said
    assert any(line.startswith('Not taken: "hammer" is no tool that is known here.') for line in said)
    assert "Typed readings come from no tool that was named" in said


async def test_an_adapter_is_declared_by_a_word(path: Path) -> None:
    said = await play(path, ["adapter axle_nut 400 mm 40 mm 45", "adapter 400 mm 40 mm", "adapter axle_nut off"])
    assert "Adapter on the wrench: Axle nut, 40 mm on a wrench of 400 mm, at 45°" in said
    assert any(line.startswith("Not taken: It is not clear which torque step is meant.") for line in said)
    assert "No adapter on the wrench: Axle nut" in said
