import contextlib
import importlib.metadata
import io
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from logger import errors
from logger.program import PROGRAM
from tui import cli
from tui.commands.table import COMMANDS, Command
from tui.exits import Exit, code_of

HEAVY = ("textual", "bleak", "pydantic", "pint")


def _leaves(
    commands: tuple[Command, ...] = COMMANDS, path: tuple[str, ...] = ()
) -> Iterator[tuple[list[str], Command]]:
    for command in commands:
        yield [*path, command.name], command
        yield from _leaves(command.children, (*path, command.name))


EVERY = tuple(_leaves())


def _help(words: list[str]) -> str:
    said = io.StringIO()
    with contextlib.redirect_stdout(said), pytest.raises(SystemExit) as ended:
        cli.main([*words, "--help"])
    assert ended.value.code == 0
    return said.getvalue()


def test_no_help_waits_for_screen_radio_models_or_units() -> None:
    words = [[], *(path for path, _ in EVERY)]
    script = (
        "import contextlib, io, sys\nfrom tui.cli import main\n"
        f"for words in {words!r}:\n"
        "    with contextlib.suppress(SystemExit), contextlib.redirect_stdout(io.StringIO()):\n"
        "        main([*words, '--help'])\n"
        f"print([name for name in sys.modules if name.partition('.')[0] in {HEAVY!r}])"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"


@pytest.mark.parametrize(("words", "command"), EVERY, ids=[" ".join(path) for path, _ in EVERY])
def test_every_help_shows_an_example_that_parses(words: list[str], command: Command) -> None:
    assert f"Example: {command.example}" in " ".join(_help(words).split())
    program, *arguments = shlex.split(command.example.partition(" > ")[0])
    assert program == "evenhand"
    assert arguments[: len(words)] == words
    assert cli.parser().parse_args(arguments).run


@pytest.mark.parametrize("command", [command for _, command in EVERY if command.run], ids=lambda command: command.run)
def test_every_handler_is_there(command: Command) -> None:
    assert callable(cli.handler_of(command.run))


def test_the_version_is_one(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out == f"{PROGRAM}\n"
    assert f"evenhand {importlib.metadata.version('evenhand')}" == PROGRAM


def test_exit_codes_are_the_promised_numbers() -> None:
    assert [int(code) for code in Exit] == [0, 2, 3, 4, 5, 6, 7, 70, 74, 75]
    assert code_of(errors.BadInput("")) == 2
    assert code_of(errors.TrailDamaged("")) == 4
    assert code_of(errors.NothingToTalkTo("")) == 5
    assert code_of(errors.NotStored("")) == 74
    assert code_of(errors.TrailBusy("")) == 75


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "The following arguments are required: COMMAND. See: evenhand --help"),
        (["frob"], "invalid choice: 'frob'"),
        (["start", "courier-chain"], "required: --machine, --by. See: evenhand start --help"),
        (["record", "last", "--format", "pdf"], "invalid choice: 'pdf'"),
        (["demo", "--seed", "x", "--plain"], "invalid int value: 'x'"),
        (["demo", "--seed", "-1", "--plain"], "--seed -1 is out of range. Give a whole number"),
        (["demo", "nonsense", "--plain"], "No shipped sheet is called 'nonsense'"),
        (["demo"], "This is not a terminal, so there is no screen. Add --plain"),
        (["start", "courier-chain", "--machine", "m", "--by", "b"], "This is not a terminal"),
        (["start", "courier-chain", "--machine", " ", "--by", "b", "--plain"], "--machine needs 1 to 64 characters"),
        (["start", "courier-chain", "--machine", "m", "--by", "b" * 65, "--plain"], "--by needs 1 to 64 characters"),
        (["start", "courier-chain", "--machine", "m\x1b[2J", "--by", "b", "--plain"], "--machine needs 1 to 64"),
        (["resume", "--plain"], "There is no open job on"),
        (["resume", "j7", "--plain"], "There is no job j7"),
        (["replay", "last"], "There is no job on"),
        (["replay", "j7"], "There is no trail at"),
        (["record", "j7"], "There is no trail at"),
        (["verify"], "There is no trail at"),
        (["sheets", "show", "nonsense"], "No shipped sheet"),
        (["sheets", "check", "nonsense"], "There is no sheet file nonsense"),
        (["tools", "scan", "--seconds", "0"], "--seconds 0 is out of range"),
        (["--home", "", "jobs"], "The home folder has no name"),
        (["jobs", "--home", "/dev/null"], "/dev/null is not a folder"),
        (["jobs", "--home", "n" * 300], "cannot be used: File name too long. Name a folder"),
        (["frob\x1b[2J"], "frob"),
        (["jobs", "x" * 70_000], f"Unrecognized arguments: {'x' * 376}. See: evenhand --help"),
        (["jobs", "--machine", "\udcff"], "is not text in UTF-8. Type it anew"),
        (["history", "\udcff"], "is not text in UTF-8"),
        (["recall", "a\udcff", "--error", "1mm"], "is not text in UTF-8"),
        (["start", "courier-chain", "--tool", "\udcff", "--plain"], "is not text in UTF-8"),
        (["trail", "backup", "--out", "none/\udcff"], "There is no trail at"),
    ],
)
def test_bad_input_is_a_sentence_and_two(capsys: pytest.CaptureFixture[str], words: list[str], says: str) -> None:
    assert cli.main(words) == Exit.BAD_INPUT
    out, err = capsys.readouterr()
    assert says in err
    assert "Traceback" not in err
    assert "\x1b" not in err
    assert out == ""


def test_home_is_taken_before_and_after_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--home", str(tmp_path), "jobs"], ["jobs", "--home", str(tmp_path)]):
        assert cli.main(words) == Exit.DONE
        assert str(tmp_path / "trail.sqlite") in capsys.readouterr().err
    assert cli.main(["--home", "/elsewhere", "sheets", "list", "--home", str(tmp_path)]) == Exit.DONE


def test_a_fault_is_one_sentence_and_a_file(
    own_home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> int:
        raise ExceptionGroup("tasks", [ZeroDivisionError("at noon")])

    monkeypatch.setattr(cli, "handler_of", lambda _: broken)
    assert cli.main(["jobs"]) == Exit.FAULT
    err = capsys.readouterr().err
    (file,) = own_home.glob("crash-*.txt")
    assert err.count("\n") == 1
    assert str(file) in err
    assert "ZeroDivisionError: at noon" in file.read_text()
    assert PROGRAM in file.read_text()


def test_a_fault_that_cannot_be_kept_is_still_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cli, "handler_of", lambda _: lambda *_: 1 / 0)
    assert cli.main(["jobs", "--home", "/proc/nowhere"]) == Exit.FAULT
    assert "could not be written" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (errors.NotStored("NOT STORED: full.", "Make room."), 74),
        (errors.TrailBusy("It is being written.", "Wait."), 75),
        (ExceptionGroup("a", [ValueError(), ExceptionGroup("b", [errors.TrailDamaged("Event 3.", "Keep it.")])]), 70),
        (ExceptionGroup("a", [ValueError(), errors.TrailDamaged("Event 3.", "Keep it.")]), 4),
        (KeyboardInterrupt(), 130),
    ],
)
def test_what_is_raised_becomes_its_code(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], error: BaseException, code: int
) -> None:
    def failing(*_: object) -> int:
        raise error

    monkeypatch.setattr(cli, "handler_of", lambda _: failing)
    assert cli.main(["jobs"]) == code
    assert "Traceback" not in capsys.readouterr().err


def test_sheets_are_listed_shown_and_checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sheets", "list"]) == Exit.DONE
    assert "courier-chain: Chain and rear axle" in capsys.readouterr().out
    assert cli.main(["sheets", "show", "courier-chain"]) == Exit.DONE
    copy = tmp_path / "depot.toml"
    copy.write_text(capsys.readouterr().out, encoding="utf-8")
    assert cli.main(["sheets", "check", str(copy)]) == Exit.DONE
    assert "courier-chain: " in capsys.readouterr().out
    copy.write_text("format = 1\n")
    assert cli.main(["sheets", "check", str(copy)]) == Exit.BAD_INPUT
    assert "depot.toml" in capsys.readouterr().err
