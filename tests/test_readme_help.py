"""`--help` of each command shows an example of that command; each example parses, and runs where it can."""

import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.leaves import LEAVES
from tests.readme import block
from tests.readme_run import Program
from tui.cli import main, parser
from tui.commands.table import COMMANDS, Command
from tui.exits import Exit

RADIO = "needs a tool in reach: test_readme_evening.py runs this command beside simulated ones"
BROKER = "needs a broker: tests/tui/commands/test_shop.py runs this command beside one"
NOT_RUN = {
    "evenhand tools scan": RADIO,
    "evenhand tools add": RADIO,
    "evenhand tools watch": RADIO,
    "evenhand collect": BROKER,
    "evenhand shop watch": BROKER,
    "evenhand shop show": BROKER,
    "evenhand shop send": BROKER,
}
ADDED = {"evenhand start": "--plain --no-radio", "evenhand resume": "--no-radio"}
"""What makes it run without a terminal, and without waiting for tools."""
CODES = {
    "evenhand start": {Exit.LEFT_OPEN},
    "evenhand resume": {Exit.LEFT_OPEN},
    "evenhand doctor": {Exit.DONE, Exit.WARNED, Exit.UNFIT},
}
FIRST = (
    "start",
    "resume",
    "record",
    "tools learn",
    "sheets show",
)
"""What others need the files of."""


def every(commands: tuple[Command, ...] = COMMANDS, before: str = "evenhand") -> Iterator[tuple[str, Command]]:
    """Every command and every family of them, with its whole name."""
    for command in commands:
        yield f"{before} {command.name}", command
        yield from every(command.children, f"{before} {command.name}")


EVERY = dict(every())


@pytest.mark.parametrize("path", EVERY)
def test_the_help_shows_an_example_of_this_very_command(path: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([*path.split()[1:], "--help"])
    assert ended.value.code in (0, None)
    shown = " ".join(capsys.readouterr().out.split())
    assert f"Example: {EVERY[path].example}" in shown
    assert EVERY[path].example.startswith(f"{path} ") or EVERY[path].example == path
    assert EVERY[path].about in shown


@pytest.mark.parametrize("path", EVERY)
def test_the_example_parses(path: str) -> None:
    words = shlex.split(EVERY[path].example.split(" > ")[0])
    assert parser().parse_args(words[1:]).run


def test_the_help_of_all_shows_one_too(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])
    example = capsys.readouterr().out.split("Example: ")[1].strip()
    assert parser().parse_args(shlex.split(example)[1:]).run


def test_the_examples_run(tmp_path: Path, own_home: Path) -> None:
    program = Program(tmp_path)
    prepare(program, own_home)
    first = [f"evenhand {name}" for name in FIRST]
    for path in [*first, *(path for path in LEAVES if path not in first)]:
        if path in NOT_RUN:
            continue
        example = f"{EVERY[path].example} {ADDED.get(path, '')}".replace("/media/stick", str(tmp_path))
        code, said = program.either(example.strip(), "note what comes last\n")
        assert code in CODES.get(path, {Exit.DONE}), (example, said)
    made = {path.name for path in tmp_path.iterdir()}
    assert {"depot-7.html", "depot.toml", "depot.sqlite", "my-caliper.toml"} <= made
    assert set(NOT_RUN) <= set(LEAVES)


def prepare(program: Program, home: Path) -> None:
    """Lay out what the examples take as being there."""
    (home / "settings.toml").write_text('[shop]\nname = "depot"\nbench = "bay-2"\n', encoding="utf-8")
    (program.folder / "capture.jsonl").write_text(block("a capture").text, encoding="utf-8")
    assert program.shell(block("a plain session").text).returncode == Exit.LEFT_OPEN
    for line in (
        "evenhand record last --out depot-7.json",
        "evenhand tools add --by Robin --hand caliper --id caliper-1",
    ):
        assert program.here(line)[0] == Exit.DONE, line
