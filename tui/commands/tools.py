"""`tools scan`: which tools are in reach."""

import argparse
import asyncio

from logger.errors import BadInput, NothingToTalkTo
from tui.exits import Exit
from tui.shell import Shell

from .reach import heard_in, line, real_reach

MOST_SECONDS = 600


def listen(shell: Shell, args: argparse.Namespace) -> int:
    """Listen, then list each device with how well it was heard and the profile that recognises it."""
    seconds_of(args.seconds, "--seconds")
    heard = asyncio.run(heard_in(real_reach(shell.home), args.seconds))
    for seen in heard:
        shell.out(line(seen))
    if not any(seen.profile for seen in heard):
        raise NothingToTalkTo(
            f"No tool that a profile recognises was heard in {args.seconds} s.",
            "Switch the tool on, bring it nearer, and scan again."
            + (" A tool that nobody has met is learned with: evenhand tools learn" if heard else ""),
        )
    return Exit.DONE


def seconds_of(seconds: int, flag: str) -> int:
    """Return how long to listen; BadInput when that is no sensible time."""
    if not 1 <= seconds <= MOST_SECONDS:
        raise BadInput(f"{flag} {seconds} is out of range.", f"Give a whole number from 1 to {MOST_SECONDS}.")
    return seconds
