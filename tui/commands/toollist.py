"""`tools list`: the tools one owns, and how their calibration stands; apart, since it needs no radio."""

import argparse
from datetime import UTC, date, datetime

from logger.toolbook.calibration import calibration
from logger.toolbook.file import read_toolbook
from logger.toolbook.toolbook import Tool
from tui.asjson import as_json
from tui.exits import Exit
from tui.shell import Shell


def today() -> date:
    """Return the present day where the bench is."""
    return datetime.now(tz=UTC).astimezone().date()


def listed(shell: Shell, args: argparse.Namespace) -> int:
    """List the toolbook, with how each calibration stands today; retired tools come last."""
    book, day = read_toolbook(shell.home.toolbook), today()
    tools = sorted(book.tool, key=lambda tool: tool.retired is not None)
    if args.json:
        shell.write(as_json([as_data(tool, day) for tool in tools]))
        return Exit.DONE
    for tool in tools:
        shell.out(line(tool, day))
    if not tools:
        shell.say(f"There is no tool in {shell.home.toolbook} yet. Add one with: evenhand tools add --by NAME")
    return Exit.DONE


def as_data(tool: Tool, day: date) -> dict[str, object]:
    """Return an entry as JSON data, with how its calibration stands."""
    stands = calibration(tool, day)
    return tool.model_dump() | {"calibration": {"state": stands.state, "days": stands.days}}


def line(tool: Tool, day: date) -> str:
    """Return an entry as a line."""
    who = f"serial {tool.serial}" if tool.serial else f"named {tool.pin}" if tool.pin else "no identity"
    of = " of the true value" if tool.of_reference else ""
    parts = [tool.id, tool.kind, who]
    parts += [f"accuracy ±{tool.accuracy}{of}"] if tool.accuracy else []
    parts += [f"step {tool.resolution}"] if tool.resolution else []
    parts += [f"certificate {tool.certificate}"] if tool.certificate else []
    if tool.retired is not None:
        return "  ".join([*parts, f"RETIRED {tool.retired.when[:10]} by {tool.retired.by}: {tool.retired.why}"])
    until = f" (due {tool.due})" if tool.due else ""
    return "  ".join([*parts, f"calibration {calibration(tool, day)}{until}"])
