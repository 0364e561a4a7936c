"""`tools scan`: which tools are in reach."""

import argparse
import asyncio

from drivers.ble import RadioUnavailableError, Seen, scan
from drivers.profile import shipped_profiles
from logger.errors import BadInput, NothingToTalkTo
from tui.exits import Exit

from .shell import Shell

MOST_SECONDS = 600


def listen(shell: Shell, args: argparse.Namespace) -> int:
    """Listen, then list each device with how well it was heard and the profile that recognises it."""
    if not 1 <= args.seconds <= MOST_SECONDS:
        raise BadInput(f"--seconds {args.seconds} is out of range.", f"Give a whole number from 1 to {MOST_SECONDS}.")
    try:
        heard = asyncio.run(scan(args.seconds, shipped_profiles()))
    except RadioUnavailableError as error:
        raise NothingToTalkTo(str(error)) from error
    for seen in heard:
        shell.out(line(seen))
    if not any(seen.profile for seen in heard):
        raise NothingToTalkTo(
            f"No tool that a profile recognises was heard in {args.seconds} s.",
            "Switch the tool on, bring it nearer, and scan again.",
        )
    return Exit.DONE


def line(seen: Seen) -> str:
    """One device as a line: its name, how well it was heard, its profile, its address."""
    return f"{seen.name or '(no name)'}  {seen.rssi} dBm  {seen.profile or 'not recognised'}  {seen.address}"
