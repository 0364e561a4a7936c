"""`tools watch`: what tools in reach send, one line each, decoded and as it came."""

import argparse
import asyncio
import json
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime

from drivers.reading import RADIO, Arrival, Link, Stamp, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from logger.errors import BadInput, NothingToTalkTo
from logger.toolbook.file import read_toolbook
from logger.toolbook.rollcall import RollCall
from tui.exits import Exit
from tui.session.ending import until_signal
from tui.shell import Shell

from .reach import Reach, real_reach

MOST_SECONDS = 86400


def watch(shell: Shell, args: argparse.Namespace) -> int:
    """Show everything until a signal, or for so many seconds; no tool stays connected afterwards."""
    if args.seconds is not None and not 1 <= args.seconds <= MOST_SECONDS:
        raise BadInput(f"--for {args.seconds} is out of range.", f"Give a whole number from 1 to {MOST_SECONDS}.")
    return until_signal(watch_from(shell, args, real_reach(shell.home)))


async def watch_from(shell: Shell, args: argparse.Namespace, reach: Reach) -> int:
    """Show every arrival; NothingToTalkTo when the time is over and no tool was ever ready."""
    roll, ready = RollCall(read_toolbook(shell.home.toolbook)), False
    shown = as_json if args.json else as_line
    try:
        async with asyncio.timeout(args.seconds) as limit, reach.radio() as radio:
            while True:
                arrival = await radio.next()
                ready = ready or _is_ready(arrival)
                _show(shell, roll, arrival, shown)
    except TimeoutError:
        if not limit.expired():
            raise
    if not ready:
        raise NothingToTalkTo(f"No tool was ready within {args.seconds} s.", "Press its button; try: evenhand doctor")
    return Exit.DONE


def _is_ready(arrival: Arrival) -> bool:
    return isinstance(arrival, ToolState) and arrival.link is Link.READY and arrival.tool != RADIO


def _show(shell: Shell, roll: RollCall, arrival: Arrival, shown: Callable[[Arrival], str]) -> None:
    called = roll.call(arrival)
    for sentence in (called.stops, called.warns):
        if sentence:
            shell.say(sentence)
    shell.out(shown(called.arrival))


def as_line(arrival: Arrival) -> str:
    """Return an arrival as a line: when, which tool, what it says, and the frame as it came."""
    return f"{_clock(arrival.at)}  {arrival.tool}  {_said(arrival)}"


def _said(arrival: Arrival) -> str:
    match arrival:
        case ToolReading():
            marks = [word for word, is_so in (("duplicate", arrival.duplicate), ("old", arrival.old)) if is_so]
            marks += [arrival.mode] if arrival.mode else []
            return f"{arrival.text} {arrival.unit}{_in_brackets(marks)}  [{arrival.raw}]"
        case TorqueSample():
            return f"stream {arrival.text or 'not known'} {arrival.unit}  [{arrival.raw}]"
        case ToolPeak():
            marks = ["duplicate"] if arrival.duplicate else []
            return f"peak {arrival.text} {arrival.unit}{_in_brackets(marks)}  [{arrival.raw}]"
        case Undecoded():
            return f"{'set aside' if arrival.aside else 'no reading'}: {arrival.reason}  [{arrival.raw}]"
        case ToolState():
            battery = "" if arrival.battery is None else f", battery {arrival.battery} %"
            kind = f"{arrival.kind} " if arrival.kind and arrival.kind != arrival.tool else ""
            return f"{kind}{arrival.link}{battery}{'. ' if arrival.message else ''}{arrival.message}"


def _in_brackets(marks: list[str]) -> str:
    return f" ({', '.join(marks)})" if marks else ""


def _clock(at: Stamp) -> str:
    seconds, rest = divmod(at.utc_ns, 1_000_000_000)
    return f"{datetime.fromtimestamp(seconds, tz=UTC):%H:%M:%S}.{rest // 1_000_000:03}"


def as_json(arrival: Arrival) -> str:
    """Return an arrival as one line of JSON; instants are UTC text, characters that cannot be seen are escapes."""
    names = {ToolReading: "reading", TorqueSample: "sample", ToolPeak: "peak", Undecoded: "undecoded"}
    fields = asdict(arrival)
    del fields["at"]
    seconds, rest = divmod(arrival.at.utc_ns, 1_000_000_000)
    at = f"{datetime.fromtimestamp(seconds, tz=UTC):%Y-%m-%dT%H:%M:%S}.{rest // 1000:06}Z"
    return json.dumps({"at": at, "what": names.get(type(arrival), "state"), **fields})
