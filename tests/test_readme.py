"""The README tells the truth: its commands, exit codes, verdicts, sheet keys and examples are those of the program."""

import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest

from drivers import profilekeys
from drivers.fields import Unit
from drivers.profile import parse_profile
from drivers.reading import Stamp
from drivers.typed import TypedError, read_typed_by
from drivers.values import TypedValue
from logger import events as ev
from logger.job.words import SHAPES
from logger.learn.capture import read_capture
from logger.settings import keys as settingkeys
from logger.sheets import keys as sheetkeys
from logger.sheets.file import load_sheet
from logger.sheets.store import shipped
from tui.actions import ALL
from tui.exits import Exit

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def fenced_after(marker: str) -> str:
    found = re.search(re.escape(f"<!-- {marker} -->") + r"\n```sh\n(.*?)\n```", README, re.DOTALL)
    assert found is not None, marker
    return found[1]


def test_it_begins_with_the_job_in_one_paragraph() -> None:
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# Evenhand"
    assert paragraph.startswith("One person services the chain drive and rear axle")


def test_ci_runs_the_very_test_command() -> None:
    command = fenced_after("the test command")
    assert command.endswith(".venv/bin/pytest -q -n auto")
    assert "the test command" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_the_demo_command_runs_the_main_job() -> None:
    assert fenced_after("the demo command").endswith(".venv/bin/evenhand demo")


def test_sheet_keys_are_those_of_the_models() -> None:
    assert sheetkeys.as_markdown().strip() in README


def test_settings_are_those_of_the_models() -> None:
    assert settingkeys.as_markdown().strip() in README


def test_profile_keys_and_units_are_those_of_the_models() -> None:
    assert profilekeys.as_markdown().strip() in README
    section = README.split("### Profiles")[1].split("## ")[0]
    assert all(f"`{unit}`" in section for unit in get_args(Unit))


def test_the_sheet_told_loads_without_a_warning() -> None:
    found = re.search(r"<!-- a sheet -->\n```toml\n(.*?)```", README, re.DOTALL)
    assert found is not None
    assert load_sheet(found[1], "readme.toml").warnings == ()


def test_the_profile_of_a_keyboard_tool_told_reads_its_lines() -> None:
    found = re.search(r"<!-- a keyboard tool -->\n```toml\n(.*?)```", README, re.DOTALL)
    assert found is not None
    (value,) = parse_profile(found[1], "readme.toml").values
    assert isinstance(value, TypedValue)
    assert read_typed_by(value, "+0036.20", Stamp(0, 0)).text == "36.20"
    with pytest.raises(TypedError):
        read_typed_by(value, "0036.20", Stamp(0, 0))


def test_the_capture_told_is_read_and_says_what_was_shown() -> None:
    found = re.search(r"<!-- a capture -->\n```json\n(.*?)```", README, re.DOTALL)
    assert found is not None
    frames = read_capture(found[1], "readme.jsonl")
    assert [frame.shown.number if frame.shown else None for frame in frames] == ["30.41", "12.34", None]


def test_every_shipped_sheet_is_told() -> None:
    table = README.split("Two sheets are shipped")[1].split("To write one")[0]
    assert set(re.findall(r"^\| `([a-z-]+)` \|", table, re.MULTILINE)) == set(shipped())


def test_exit_codes_are_all_there() -> None:
    table = README.split("### Exit codes")[1].split("## ")[0]
    told = {int(code) for code in re.findall(r"^\| (\d+) \|", table, re.MULTILINE)}
    assert told == {int(code) for code in Exit}
    assert "128+n" in table


def test_verdicts_and_shapes_are_all_there() -> None:
    table = README.split("## What the verdicts mean")[1].split("## ")[0]
    for verdict in get_args(ev.Verdict):
        row = next(line for line in table.splitlines() if f"`{verdict}`" in line)
        assert SHAPES[verdict] in row


def run(*args: str, given: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "tui.cli", *args], input=given, capture_output=True, text=True)


def commands() -> list[str]:
    told = run("--help").stdout.split("COMMAND\n")[1]
    return re.findall(r"^    (\w+)", told, re.MULTILINE)


def test_every_command_is_told_and_the_reverse() -> None:
    table = README.split("## Commands")[1].split("### ")[0]
    assert set(re.findall(r"^\| `evenhand (\w+)", table, re.MULTILINE)) == set(commands())


def test_every_option_told_is_one_of_its_command() -> None:
    table = README.split("## Commands")[1].split("### ")[0]
    for name, rest in re.findall(r"^\| `evenhand (\w+)([^`]*)`", table, re.MULTILINE):
        deeper = re.match(r"[a-z ]*", rest)
        helped = run(name, *(deeper[0].split() if deeper else []), "--help").stdout
        for option in re.findall(r"--[a-z-]+", rest):
            assert option in helped, (name, option)


@pytest.mark.parametrize(
    "word", ["done", "note", "loosened", "turned", "back", "override", "status", "cautions", "close", "quit"]
)
def test_every_word_of_a_plain_session_is_known(word: str) -> None:
    table = README.split("## A job by hand")[1].split("## ")[0]
    assert re.search(rf"`{word}\b", table)
    done = run(
        "start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--plain", "--no-radio", given="help\nquit\n"
    )
    assert re.search(rf"\b{word}\b", done.stdout)


def test_the_example_of_a_plain_session_runs() -> None:
    found = re.search(r"^printf '%s\\n' (.*?) \| evenhand (.*)$", README, re.MULTILINE)
    assert found is not None
    done = run(*shlex.split(found[2]), given="\n".join(shlex.split(found[1])) + "\n")
    assert done.returncode == Exit.LEFT_OPEN
    assert "Not taken" not in done.stdout
    assert "■ inside     Chain wear over 8 pitches 101.8 mm" in done.stdout


def test_every_key_told_is_one_of_the_screen() -> None:
    table = README.split("## A job by hand")[1].split("With `--plain`")[0]
    told = {key.lower() for key in re.findall(r"\bF\d+\b", table)} | {"f10", "f11"}
    assert told == {action.key for action in ALL}
