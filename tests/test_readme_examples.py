"""Every example of the README runs: its blocks, and the commands in its prose, in the order they stand there."""

import re
from pathlib import Path

import pytest

from drivers.profile.profile import parse_profile
from drivers.profile.values import TypedValue
from drivers.reading import Stamp
from drivers.typed import TypedError, read_typed_by
from logger.bench.bench import Bench, Opening
from logger.learn.capture import read_capture
from logger.settings.file import load_settings
from logger.sheets.file import load_sheet
from logger.trail.trail import Trail
from tests.tui.hand import Hand, StillClock
from tests.tui.moments import FIGURES, moments
from tests.tui.stage import on_stage, seen
from tui.cli import parser
from tui.exits import Exit

from .readme import BLOCKS, ROOT, block, prose, spans, words_of
from .readme_run import Program

SCREEN = "draws a screen: tests/tui/test_pty.py and test_cli_screen.py run it on a terminal"
RADIO = "needs a tool in reach: test_readme_evening.py runs it beside simulated ones"
BROKER = "needs a broker: tests/tui/commands/test_shop.py and tests/logger/test_shop_faults.py run it beside one"
SET_UP = "sets up an environment from the package index: .ci/run takes it from README and runs it"
NOT_RUN = {
    "evenhand": SCREEN,
    "evenhand --help": "test_readme_help.py runs it",
    "evenhand replay last": SCREEN,
    "evenhand replay JOB": SCREEN,
    'evenhand start courier-chain --machine "Depot 7" --by Robin': SCREEN,
    "evenhand tools add --by Robin": RADIO,
    "evenhand tools learn": RADIO,
    "evenhand collect": BROKER,
    "evenhand verify --against shop": BROKER,
}
"""Commands in prose that are parsed here and run elsewhere, and why."""
STANDING_FOR = {
    "FILE": "file.out",
    "RECORD": "record.json",
    "JOB": "last",
    "ID": "steel",
    "WHY": "bent",
    "NAME": "Robin",
}
ADDED = {
    "evenhand demo parcel-conveyor": "--auto --plain --seed 7",
    "evenhand start mine.toml": '--machine "Depot 8" --by Robin --plain --no-radio',
    "evenhand resume": "--plain --no-radio",
    "evenhand resume last --plain": "--no-radio",
}
"""What makes a command run without a terminal, and without waiting for tools."""
CODES = {
    "evenhand resume": {Exit.LEFT_OPEN},
    "evenhand resume last --plain": {Exit.LEFT_OPEN},
    "evenhand start mine.toml": {Exit.LEFT_OPEN},
    "evenhand doctor": {Exit.DONE, Exit.WARNED, Exit.UNFIT},
}
IN_PROSE = [span for span in dict.fromkeys(spans(prose())) if re.match(r"evenhand( |$)", span) and "[" not in span]
TESTED = {
    "the demo command": SET_UP,
    "the test command": SET_UP,
    "the screen": "test_the_screen_shown_is_the_one_of_that_moment",
    "a plain session": "test_a_plain_session_runs",
    "a sheet": "test_a_sheet_loads_without_a_warning",
    "a capture": "test_a_capture_is_read_and_says_what_was_shown",
    "a keyboard tool": "test_a_profile_of_a_keyboard_tool_reads_its_lines",
    "settings of a shop": "test_settings_of_a_shop_are_read",
}


def test_every_block_has_its_test() -> None:
    outside = {each.name for each in BLOCKS if not each.name.startswith(("evening", "the evening")) and each.name}
    assert outside == set(TESTED)
    assert {name for name in TESTED.values() if name.startswith("test_")} <= set(globals())
    before = {BLOCKS[at - 1].name for at, each in enumerate(BLOCKS) if not each.name}
    assert all(name.startswith("evening: ") for name in before), "a block without a name shows what the one before said"


def test_the_two_commands_end_in_the_demo_and_the_tests() -> None:
    assert block("the demo command").text.endswith(".venv/bin/evenhand demo\n")
    assert block("the test command").text.endswith(".venv/bin/pytest -q -n auto\n")
    assert "the test command" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


async def test_the_screen_shown_is_the_one_of_that_moment(tmp_path: Path) -> None:
    (moment,) = [each for each in moments() if each.name.endswith("_uneven")]
    clock = StillClock()
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        opening = Opening(load_sheet(moment.sheet, moment.name), "Depot 7", "Robin")
        hand = Hand(await Bench.open(trail, clock, opening), clock)
        hand.bench.describe = lambda tool, _kind, _profile: FIGURES.get(tool)
        async with on_stage(hand) as pilot:
            await moment.play(hand, pilot)
            await pilot.pause()
            assert block("the screen").text.rstrip("\n") == seen(pilot).rstrip("\n")


def test_a_plain_session_runs(tmp_path: Path) -> None:
    done = Program(tmp_path).shell(block("a plain session").text)
    assert done.returncode == Exit.LEFT_OPEN
    assert "Not taken" not in done.stdout
    assert "■ inside     Chain wear over 8 pitches 101.8 mm" in done.stdout
    assert done.stdout.count("Next: ") == 6, "five prompts are answered, and the next is given"


def test_a_sheet_loads_without_a_warning() -> None:
    assert load_sheet(block("a sheet").text, "readme.toml").warnings == ()


def test_a_capture_is_read_and_says_what_was_shown() -> None:
    frames = read_capture(block("a capture").text, "readme.jsonl")
    assert [frame.shown.number if frame.shown else None for frame in frames] == ["30.41", "12.34", "-5.12", None]


def test_a_profile_of_a_keyboard_tool_reads_its_lines() -> None:
    (value,) = parse_profile(block("a keyboard tool").text, "readme.toml").values
    assert isinstance(value, TypedValue)
    assert read_typed_by(value, "+0036.20", Stamp(0, 0)).text == "36.20"
    with pytest.raises(TypedError):
        read_typed_by(value, "0036.20", Stamp(0, 0))


def test_settings_of_a_shop_are_read(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text(block("settings of a shop").text, encoding="utf-8")
    shop = load_settings(tmp_path).shop
    assert (shop.on, shop.name, shop.bench, shop.port) == (True, "depot", "bay-2", 8883)


@pytest.mark.parametrize("command", IN_PROSE)
def test_a_command_in_prose_is_one(command: str) -> None:
    if "--help" in command or command == "evenhand":
        return
    parser().parse_args(words_of(meant(command)))


def meant(command: str) -> str:
    """A command as typed: what stands for something is filled in."""
    return " ".join(STANDING_FOR.get(word, word) for word in command.split(" "))


def test_what_is_not_run_is_still_there() -> None:
    assert {command for command in NOT_RUN if command in IN_PROSE} == set(NOT_RUN)


def test_the_commands_in_prose_run_in_their_order(tmp_path: Path, own_home: Path) -> None:
    program = Program(tmp_path)
    prepare(program, own_home)
    for command in IN_PROSE:
        if command in NOT_RUN:
            continue
        code, said = program.either(f"{meant(command)} {ADDED.get(command, '')}".strip(), "note what comes last\n")
        assert code in CODES.get(command, {Exit.DONE}), (command, said)
        assert said or " > " in command, command


def prepare(program: Program, home: Path) -> None:
    """Lay out what README takes as being there: a job, a record of it, and the files that it shows."""
    assert program.shell(block("a plain session").text).returncode == Exit.LEFT_OPEN
    assert program.shell("evenhand record last --out record.json").returncode == Exit.DONE
    assert program.shell("evenhand tools add --by Robin --hand rule --id steel").returncode == Exit.DONE
    (home / "profiles").mkdir()
    profile = block("a keyboard tool").text
    (home / "profiles" / "typing-caliper.toml").write_text(profile, encoding="utf-8")
    (program.folder / "my-tool.toml").write_text(profile, encoding="utf-8")
    (home / "settings.toml").write_text(block("settings of a shop").text, encoding="utf-8")
