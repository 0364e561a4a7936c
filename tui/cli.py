"""The commands; the composition root, and the only file that prints.

Nothing heavy is imported here: a handler is looked up by its name in the table once its command is to run, and what
only one way through this file needs is imported there, so that every `--help` answers at once (even `typing` would take
a third of the start of Python). stdout is data, stderr is talk.
"""

import argparse
import contextlib
import importlib
import io
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence

from logger.errors import BadInput, EvenhandError, NotStored
from tui.commands.table import COMMANDS, Command

from .exits import Exit, by_signal, code_of
from .safe import safe_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import NoReturn

    from _typeshed import SupportsWrite

    from logger.settings.settings import Home
    from tui.shell import Shell

Handler = Callable[["Shell", argparse.Namespace], int]
_FILES = frozenset({"home", "out", "keep", "capture", "file", "against"})
"""Arguments that are names of files: those may be any octets."""
_MOST_SAID = 400
"""Characters of what the parser says of a wrong command line."""
_SIGINT, _SIGPIPE = 2, 13
"""As POSIX numbers them."""


# --- the parser -----------------------------------------------------------------------------------------------------


class _Help(argparse.HelpFormatter):
    """Fills the terminal; argparse would load archive formats only to learn its width."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=_columns() - 2)


def _columns() -> int:
    if (told := os.environ.get("COLUMNS", "")).isdecimal() and len(told) < 5 and int(told):
        return int(told)
    try:
        return os.get_terminal_size(sys.__stdout__.fileno()).columns or 80  # type: ignore[union-attr]
    except (AttributeError, ValueError, OSError):  # closed, detached, or no terminal
        return 80


class _Parser(argparse.ArgumentParser):
    """Tells a wrong command line as every other bad input is told; -0.2mm is a value, not an option."""

    def __init__(self, **settings: object) -> None:
        super().__init__(allow_abbrev=False, formatter_class=_Help, **settings)  # type: ignore[arg-type]
        self._negative_number_matcher = re.compile(r"-[0-9.]")

    def error(self, message: str) -> "NoReturn":
        said = message[:_MOST_SAID]  # it repeats what was typed, of whatever length
        raise BadInput(f"{said[:1].upper()}{said[1:].rstrip('.')}.", f"See: {self.prog} --help")

    def print_help(self, file: "SupportsWrite[str] | None" = None) -> None:
        """Print it so that a failure shows: argparse would swallow it."""
        print(self.format_help(), end="", file=file)


_UNASKED = _Parser()


class _Version(argparse.Action):
    """Looks the version up only when it is asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> "NoReturn":
        print(f"evenhand {_version()}")
        parser.exit()


def _version() -> str:
    from importlib.metadata import version  # noqa: PLC0415  (late on purpose: see the module's first lines)

    return version("evenhand")


def parser(words: Iterable[str] | None = None) -> argparse.ArgumentParser:
    """Return the parser of the command line, built from the table; with `words`, only as far as they name commands."""
    top = _Parser(
        prog="evenhand",
        description="Prompts for each reading of a job in turn, judges it at once, works out the next adjustment, "
        "and keeps a trail that can be replayed.",
        epilog="Example: evenhand demo --auto --plain --seed 7",
    )
    top.add_argument("--version", action=_Version, nargs=0, help="print the version")
    _add_home(top, default=None)
    _add_commands(top, COMMANDS, None if words is None else frozenset(words))
    return top


def _add_home(to: argparse.ArgumentParser, **default: object) -> None:
    about = "where data lives (default: EVENHAND_HOME, else the platform's data folder)"
    to.add_argument("--home", metavar="DIR", help=about, **default)  # type: ignore[arg-type]


def _add_commands(to: argparse.ArgumentParser, commands: Iterable[Command], words: frozenset[str] | None) -> None:
    group = to.add_subparsers(
        metavar="COMMAND",
        required=True,
        title="commands",
        parser_class=_named,  # type: ignore[call-overload]
    )
    for command in commands:
        if words is not None and command.name not in words:
            group.add_parser(command.name, help=command.about, unasked=True)
            continue
        found = group.add_parser(
            command.name,
            help=command.about,
            description=command.about,
            epilog=f"Example: {command.example}",
        )
        _add_home(found, default=argparse.SUPPRESS)  # given after the command, it wins; absent, it changes nothing
        for option in command.options:
            found.add_argument(*option.names, **option.settings)
        found.set_defaults(run=command.run)
        if command.children:
            _add_commands(found, command.children, words)


def _named(*, unasked: bool = False, **settings: object) -> argparse.ArgumentParser:
    """Return the parser of a command; one that no word asks for only stands in the list, so it gets none of its own."""
    return _UNASKED if unasked else _Parser(**settings)


def handler_of(command: str) -> Handler:
    """Import the handler that the table names as `module:function`."""
    module, _, function = command.partition(":")
    handler: Handler = getattr(importlib.import_module(module), function)
    return handler


# --- one run --------------------------------------------------------------------------------------------------------


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; whatever goes wrong is told in a sentence, never as a traceback."""
    is_closed = sys.stdout is None
    # no plug-in looks into what is stored; looking for one would read the metadata of every package installed
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    _hold_descriptors()
    _speak_utf8()
    home: Home | None = None
    try:
        if is_closed:
            raise NotStored("stdout is closed, so nothing could be said.", "Run it with stdout open.")
        with _to_stdout(flush=True):
            words = _words(argv)
            args = parser(words).parse_args(words)
            _need_text(args)
        from logger.settings.settings import home_folder  # noqa: PLC0415  (late on purpose: see the module's first lines)

        home = home_folder(args.home, os.environ)
        with _logging_to(home):
            return _run(handler_of(args.run), _shell(home), args)
    except KeyboardInterrupt:
        return by_signal(_SIGINT)
    except Exception as error:
        return _tell(_cause(error), home)


def _words(argv: Sequence[str] | None) -> list[str]:
    """The words of the command line; without any, on a terminal, a job is begun."""
    words = sys.argv[1:] if argv is None else list(argv)
    return words or (["start"] if _has_screen() else [])


def _need_text(args: argparse.Namespace) -> None:
    """Refuse octets that are no UTF-8 in whatever is no file name: they would reach what is stored, or asked of it."""
    for name, value in vars(args).items():
        for each in value if isinstance(value, list) else (value,):
            if name not in _FILES and isinstance(each, str) and any("\ud800" <= mark <= "\udfff" for mark in each):
                raise BadInput(f'"{each[:40]}" is not text in UTF-8.', "Type it anew; is the terminal set to UTF-8?")


def _run(handler: Handler, shell: "Shell", args: argparse.Namespace) -> int:
    if getattr(args, "shop", None) is None:
        return int(handler(shell, args))
    from tui.commands.shop import at_shop  # noqa: PLC0415  (late on purpose: it brings the database)

    return at_shop(handler, shell, args)


def _cause(error: BaseException) -> BaseException:
    """The error a person should hear of: what a group of tasks raised, a known one first."""
    while isinstance(error, BaseExceptionGroup):
        known = (each for each in error.exceptions if isinstance(each, EvenhandError | BrokenPipeError))
        error = next(known, error.exceptions[0])
    return error


def _tell(error: BaseException, home: "Home | None") -> int:
    if isinstance(error, BrokenPipeError):
        _drop_stdout()
        return by_signal(_SIGPIPE)
    if isinstance(error, EvenhandError):
        _say(str(error))
        return code_of(error)
    _say(_account(error, home))
    return Exit.FAULT


def _account(error: BaseException, home: "Home | None") -> str:
    """Keep the account of a fault of the program in the home folder; return the sentence that says where."""
    said = f"A fault of the program stopped it ({type(error).__name__}); what was acknowledged is on the trail."
    if home is None:
        return f"{said} Please report what you typed."
    import traceback  # noqa: PLC0415  (late on purpose: see the module's first lines)
    from datetime import UTC, datetime  # noqa: PLC0415

    file = home.crash_file(f"{datetime.now(tz=UTC):%Y%m%dT%H%M%S%fZ}")
    try:
        home.folder.mkdir(parents=True, exist_ok=True)
        file.write_text(f"{_facts()}\n{''.join(traceback.format_exception(error))}", encoding="utf-8")
    except OSError as trouble:
        return f"{said} Its account could not be written to {file} ({trouble.strerror})."
    return f"{said} Please send {file} with your report."


@contextlib.contextmanager
def _logging_to(home: "Home") -> Iterator[None]:
    """Keep what libraries and services log out of the terminal; the file is made when there is something to keep."""
    import logging  # noqa: PLC0415  (late on purpose: see the module's first lines)

    handler = logging.FileHandler(home.log, encoding="utf-8", delay=True)
    handler.setLevel(logging.WARNING)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    logging.raiseExceptions = False  # a log that cannot be written is no reason to draw over the screen
    logging.getLogger().addHandler(handler)
    try:
        yield
    finally:
        logging.getLogger().removeHandler(handler)
        handler.close()


def _facts() -> str:
    import platform  # noqa: PLC0415  (late on purpose: see the module's first lines)

    return f"evenhand {_version()}, Python {platform.python_version()}, {platform.platform()}"


# --- the doors ------------------------------------------------------------------------------------------------------


def _shell(home: "Home") -> "Shell":
    from tui.shell import Shell  # noqa: PLC0415  (late on purpose: see the module's first lines)

    return Shell(home, _out, _write, _say, _has_screen())


def _has_screen() -> bool:
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr))


def _out(line: str) -> None:
    with _to_stdout():
        print(safe_text(line), flush=True)


def _write(text: str) -> None:
    with _to_stdout():
        print(text, end="", flush=True)


@contextlib.contextmanager
def _to_stdout(*, flush: bool = False) -> Iterator[None]:
    """Tell that stdout cannot be written (a full disk behind it) as NotStored; a closed pipe ends it unsaid."""
    try:
        try:
            yield
        finally:
            if flush:
                sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        _drop_stdout()
        raise NotStored(f"stdout cannot be written: {error.strerror}.", "Give it a place with room.") from error


def _say(line: str) -> None:
    """Say something on stderr; several lines (the problems of a sheet) stay several."""
    if sys.stderr is None:  # print would take stdout instead
        return
    with contextlib.suppress(OSError):  # nobody listens on stderr: the exit code still tells
        print(*(safe_text(each) for each in line.split("\n")), sep="\n", file=sys.stderr, flush=True)


def _hold_descriptors() -> None:
    """Put nothing behind a standard descriptor that is closed, or the next file opened (the trail) would take it."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest that is free: this one


def _speak_utf8() -> None:
    """Make the bytes the same under any locale; half a surrogate from a file name is shown, not fatal."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def _drop_stdout() -> None:
    """Whoever read stdout has gone: let the interpreter's last flush go nowhere, without a word."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


if __name__ == "__main__":
    sys.exit(main())
