"""Every command as data: its words, its options, and where its handler is.

Handlers are named by text and imported only when their command runs, so that no `--help` waits for the screen, the
radio, the models or the units.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Option:
    """One argument of a command, as argparse takes it."""

    names: tuple[str, ...]
    settings: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Command:
    """A command, or a family of them when it has `children`."""

    name: str
    about: str
    """What it does, in one sentence."""
    example: str
    run: str = ""
    """`module:function` of its handler; empty for a family."""
    options: tuple[Option, ...] = ()
    children: tuple["Command", ...] = field(default=())


def _option(*names: str, **settings: object) -> Option:
    return Option(names, settings)


def _switch(name: str, about: str) -> Option:
    return _option(name, action="store_true", help=about)


_PLAIN = _switch("--plain", "line by line on stdin and stdout, without a screen")
_JSON = _switch("--json", "as JSON")
_BY = _option("--by", metavar="NAME", help="who takes the job up (default: who opened it)")
_JOB = _option("job", metavar="JOB", help="a job id such as j1, or last")
_SHEET_HELP = "name of a shipped sheet, or path of a sheet file"

COMMANDS: tuple[Command, ...] = (
    Command(
        "demo",
        "Run a whole job on simulated tools, a simulated machine and a simulated mechanic.",
        "evenhand demo --auto --plain --seed 7",
        "tui.commands.demo:demo",
        (
            _option("sheet", metavar="SHEET", nargs="?", default="courier-chain", help=f"{_SHEET_HELP} (%(default)s)"),
            _option("--seed", metavar="N", type=int, help="same number, same run (default: a new one, which is told)"),
            _switch("--auto", "as fast as it can, instead of at a human pace"),
            _PLAIN,
        ),
    ),
    Command(
        "start",
        "Begin a job: readings come from tools in reach, typed, or both.",
        'evenhand start courier-chain --machine "Depot 7" --by Robin',
        "tui.commands.work:start",
        (
            _option("sheet", metavar="SHEET", help=_SHEET_HELP),
            _option("--machine", metavar="TEXT", required=True, help="what is being serviced"),
            _option("--by", metavar="NAME", required=True, help="who does it"),
            _PLAIN,
            _switch("--no-radio", "typed readings only"),
        ),
    ),
    Command(
        "resume",
        "Take up an open job at the prompt where it was left.",
        "evenhand resume last --plain",
        "tui.commands.work:resume",
        (
            _option("job", metavar="JOB", nargs="?", default="last", help="a job id such as j1 (default: the newest)"),
            _BY,
            _PLAIN,
            _switch("--no-radio", "typed readings only"),
        ),
    ),
    Command(
        "jobs", "List the jobs on the trail, newest first.", "evenhand jobs --json", "tui.commands.shelf:jobs", (_JSON,)
    ),
    Command(
        "replay",
        "Tell a job again from its trail: what happened, each verdict, each prompt.",
        "evenhand replay last --plain",
        "tui.commands.shelf:replay",
        (_JOB, _PLAIN, _switch("--check", "compare each verdict and prompt with what was shown when it happened")),
    ),
    Command(
        "record",
        "Hand on the record of a job.",
        "evenhand record last --format json --out depot-7.json",
        "tui.commands.shelf:record",
        (
            _JOB,
            _option("--format", choices=("json",), default="json", help="form of the record (%(default)s)"),
            _option("--out", metavar="FILE", help="write it to a file instead of stdout"),
            _switch("--force", "let --out replace a file that is there"),
        ),
    ),
    Command(
        "verify",
        "Check that the trail is what was written, and say what that shows and what it cannot.",
        "evenhand verify",
        "tui.commands.shelf:verify",
    ),
    Command(
        "sheets",
        "Look at job sheets.",
        "evenhand sheets list",
        children=(
            Command("list", "List the shipped sheets.", "evenhand sheets list", "tui.commands.sheets:names"),
            Command(
                "show",
                "Print a shipped sheet, to be copied and changed.",
                "evenhand sheets show courier-chain > depot.toml",
                "tui.commands.sheets:show",
                (_option("name", metavar="NAME", help="name of a shipped sheet"),),
            ),
            Command(
                "check",
                "Check a sheet file: every problem is told with table, key and what is allowed.",
                "evenhand sheets check depot.toml",
                "tui.commands.sheets:check",
                (_option("file", metavar="FILE", help="path of a sheet file"),),
            ),
        ),
    ),
    Command(
        "tools",
        "Look for tools.",
        "evenhand tools scan --seconds 8",
        children=(
            Command(
                "scan",
                "Listen for Bluetooth Low Energy tools and list what was heard, strongest first.",
                "evenhand tools scan --seconds 8",
                "tui.commands.tools:listen",
                (
                    _option(
                        "--seconds", metavar="N", type=int, default=8, help="how long to listen, 1 to 600 (%(default)s)"
                    ),
                ),
            ),
        ),
    ),
)
