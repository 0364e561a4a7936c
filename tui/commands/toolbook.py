"""`tools add` and `tools retire`: the tools one owns."""

import argparse
import asyncio
from datetime import UTC, datetime
from typing import get_args

from drivers.profile.values import TypedValue
from drivers.reading import ToolState
from logger.errors import BadInput, NothingToTalkTo
from logger.sheets.written import ToolKind
from logger.toolbook.file import change_toolbook, read_toolbook
from logger.toolbook.profiles import profiles_of
from logger.toolbook.toolbook import Retired, Toolbook, added, retired
from logger.units import parse_quantity, unit_of
from tui.entry.typed_lines import STDIN, TypedLines
from tui.exits import Exit
from tui.session.ending import until_signal
from tui.session.session import named
from tui.shell import Shell

from .adding import ALLOWED, Fields, Witness, asked, compare, entry, next_id, of_reference, recognised
from .reach import Lines, Reach, heard_in, pick, real_reach
from .toollist import line, today
from .tools import seconds_of

PATIENCE_S = 180.0
"""How long one value of the tool is waited for."""
STATED = ("accuracy", "resolution", "calibration_u", "calibration_k", "calibrated", "due", "certificate")


def now() -> str:
    """Return the present instant as RFC 3339 UTC text."""
    return f"{datetime.now(tz=UTC):%Y-%m-%dT%H:%M:%SZ}"


# --- add ------------------------------------------------------------------------------------------------------------


def add(shell: Shell, args: argparse.Namespace) -> int:
    """Add a tool: one in reach after a comparison with its display, or with --hand one without a radio."""
    named("--by", args.by)
    book = read_toolbook(shell.home.toolbook)
    if args.yes is not None:
        parse_quantity(args.yes)
    if args.hand is not None:
        return _add_hand(shell, args, book)
    if args.profile is not None:
        raise BadInput("--profile is for a tool without a radio.", "Add --hand KIND; a tool in reach tells its own.")
    seconds_of(args.seconds, "--seconds")
    given(args, args.kind or _supposed(args), args.id or "unnamed")  # what is wrong is told before anything is scanned
    return until_signal(add_from(shell, args, real_reach(shell.home), TypedLines(STDIN)))


def _supposed(args: argparse.Namespace) -> str:
    """Return a kind of tool that fits the units of what is stated."""
    units = (str(text).partition(" ")[2] for text in (args.accuracy, args.resolution, args.calibration_u) if text)
    kinds = {found[0] for unit in units if (found := unit_of(unit)) is not None}
    return "torque wrench" if "torque" in kinds else "caliper"


def given(args: argparse.Namespace, kind: str, name: str) -> Fields:
    """Return what was given by options, checked; BadInput names the option that is wrong."""
    fields: Fields = {key: getattr(args, key) for key in STATED}
    fields |= {"id": name, "kind": kind, "added": now(), "added_by": args.by}
    fields["of_reference"] = of_reference(kind, args.accuracy) and not args.of_reading
    entry(fields)
    return fields


def _add_hand(shell: Shell, args: argparse.Namespace, book: Toolbook) -> int:
    for flag, value in (("--tool", args.tool), ("--yes", args.yes), ("--kind", args.kind)):
        if value is not None:
            raise BadInput(f"{flag} has no meaning beside --hand.", "A tool without a radio is entered as it is.")
    if args.hand not in get_args(ToolKind):
        raise BadInput(f'--hand "{args.hand[:40]}" is no kind of tool that is known here.', f"Write {ALLOWED['kind']}.")
    profile = _keyboard(shell, args.profile, args.hand) if args.profile else ""
    fields = given(args, args.hand, args.id or next_id(book, args.hand))
    tool = entry(fields | {"serial": args.serial or "", "profile": profile})
    change_toolbook(shell.home.toolbook, lambda before: added(before, tool))
    shell.out(f"Added: {line(tool, today())}")
    return Exit.DONE


def _keyboard(shell: Shell, name: str, kind: str) -> str:
    """Return the name of a profile that says how a tool of this kind types; BadInput where it is not there."""
    typing = [p for p in profiles_of(shell.home.profiles) if any(isinstance(v, TypedValue) for v in p.values)]
    if any(p.profile == name and p.kind == kind for p in typing):
        return name
    known = ", ".join(f"{p.profile} ({p.kind})" for p in typing) or "none"
    raise BadInput(
        f"--profile {name[:48]} names no profile of a {kind} that acts as a keyboard.",
        f"In {shell.home.profiles}: {known}.",
    )


async def add_from(shell: Shell, args: argparse.Namespace, reach: Reach, typed: Lines) -> int:
    """Scan, pick, compare, ask, pin; nothing is written before the comparison held.

    NothingToTalkTo without a radio or a tool.
    """
    shell.say(f"Listening for {args.seconds} s ...")
    seen = await pick(shell, recognised(await heard_in(reach, args.seconds)), args.tool, typed)
    book = read_toolbook(shell.home.toolbook)
    try:
        async with asyncio.timeout(PATIENCE_S) as limit:
            compared = await compare(Witness(shell, typed, args.yes), reach.radio(), seen, book)
    except TimeoutError:
        if not limit.expired():
            raise
        raise NothingToTalkTo(f"No value came within {PATIENCE_S:g} s.", "Press the tool's button.") from None
    kind = args.kind or compared.state.kind
    fields = given(args, kind, args.id or next_id(book, kind))
    if args.yes is None:
        fields = await asked(shell, typed, fields)
        fields["of_reference"] = of_reference(kind, fields["accuracy"]) and not args.of_reading
    tool = entry(fields | _pinned(compared.state, compared.value))
    change_toolbook(shell.home.toolbook, lambda before: added(before, tool))
    shell.out(f"Added: {line(tool, today())}")
    return Exit.DONE


def _pinned(state: ToolState, value: str) -> Fields:
    return {
        "serial": state.serial,
        "pin": "" if state.serial else state.tool,
        "address": state.address,
        "model": state.model,
        "profile": state.profile,
        "compared": value,
    }


# --- retire -----------------------------------------------------------------------------------------------------------


def retire(shell: Shell, args: argparse.Namespace) -> int:
    """Take a tool out of use; its entry is kept with when, who and why."""
    why = " ".join(args.why).strip()
    if not why or len(why) > 300 or not why.isprintable():
        raise BadInput(
            "WHY needs 1 to 300 characters that can be shown.", 'Such as: evenhand tools retire ID "dropped"'
        )
    how = Retired(when=now(), by=named("--by", args.by), why=why)
    change_toolbook(shell.home.toolbook, lambda book: retired(book, args.id, how))
    shell.out(f"Retired: {args.id}. It is kept in the toolbook and does not take part any more.")
    return Exit.DONE
