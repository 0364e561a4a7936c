"""What the commands about tools need of a radio, behind one port; and how a person picks one of what is in reach."""

from collections.abc import AsyncIterator, Awaitable, Callable, Iterable, Sequence
from dataclasses import dataclass

from drivers.clock import SystemClock
from drivers.profile.backlog import Backlog
from drivers.profile.profile import ToolProfile
from drivers.radio.ble import Radio, RadioUnavailableError, Seen, find, scan
from drivers.radio.peer import MakePeer
from drivers.reading import Clock
from logger.errors import BadInput, NothingToTalkTo
from logger.settings.file import load_settings
from logger.settings.settings import Home
from logger.toolbook.profiles import profiles_of
from tui.shell import Shell

FIND_S = 20.0
"""How long a tool that was just heard is waited for."""


@dataclass(frozen=True, slots=True)
class Reach:
    """The radio of one command: what is heard, all tools as a stream, or one link to one tool."""

    profiles: tuple[ToolProfile, ...]
    clock: Clock
    scan: Callable[[float], Awaitable[tuple[Seen, ...]]]
    radio: Callable[[], Radio]
    find: Callable[[str], Awaitable[MakePeer]]


def real_reach(home: Home) -> Reach:
    """Return the host's own radio, as the settings and profiles of a home have it; BadInput when one is wrong."""
    known, clock, chosen = profiles_of(home.profiles), SystemClock(), load_settings(home.folder).radio
    return Reach(
        known,
        clock,
        lambda seconds: scan(seconds, known, adapter=chosen.adapter),
        lambda: Radio(laid_open(known), clock, adapter=chosen.adapter, max_tools=chosen.max_tools),
        lambda address: find(address, FIND_S, adapter=chosen.adapter),
    )


def laid_open(profiles: Iterable[ToolProfile]) -> tuple[ToolProfile, ...]:
    """Return profiles by which every value of a stream is told, also where a pedal or standing still makes a reading.

    Who watches or compares a display wants to see what the tool sends; in a job it goes on being no reading.
    """
    every = {"capture": "button", "steady": None, "backlog": Backlog(kept=False)}
    return tuple(each if each.capture == "button" else each.model_copy(update=every) for each in profiles)


Lines = AsyncIterator[str]
"""What a person types, line by line; it ends at the end of input."""


async def heard_in(reach: Reach, seconds: int) -> tuple[Seen, ...]:
    """Scan; NothingToTalkTo without a radio."""
    try:
        return await reach.scan(seconds)
    except RadioUnavailableError as error:
        raise NothingToTalkTo(str(error)) from error


async def pick(shell: Shell, heard: Sequence[Seen], wanted: str | None, typed: Lines) -> Seen:
    """Return the device a person means: the one that fits `wanted`, the only one, or the one whose number they type.

    BadInput where none fits.
    """
    if wanted is not None:
        return _wanted(heard, wanted)
    for number, seen in enumerate(heard, 1):
        shell.out(f"{number}. {line(seen)}")
    if len(heard) == 1:
        return heard[0]
    shell.say(f"Which one? Type its number, 1 to {len(heard)}.")
    text = await answer(typed)
    if not text.isdecimal() or len(text) > 4 or not 1 <= int(text) <= len(heard):
        raise BadInput(f"{text[:40]!r} is not one of the numbers.", f"Type 1 to {len(heard)}, or name it with --tool.")
    return heard[int(text) - 1]


def _wanted(heard: Sequence[Seen], wanted: str) -> Seen:
    fits = [seen for seen in heard if wanted.lower() in (seen.name.lower(), seen.address.lower())]
    fits = fits or [seen for seen in heard if wanted.lower() in seen.name.lower()]
    if not fits:
        raise NothingToTalkTo(f"No tool {wanted!r} was heard.", "Press its button, bring it nearer, and try again.")
    if len(fits) > 1:
        raise BadInput(
            f"{len(fits)} devices fit --tool {wanted}: {', '.join(seen.address for seen in fits)}.",
            "Name one by its address, or switch the other off.",
        )
    return fits[0]


async def answer(typed: Lines) -> str:
    """Return the next line a person types; BadInput when there is none."""
    text = await anext(typed, None)
    if text is None:
        raise BadInput("The input ended before every question was answered.", "Answer by options; see --help.")
    return text.strip()


def line(seen: Seen) -> str:
    """One device as a line: its name, how well it was heard, its profile, its address."""
    return f"{seen.name or '(no name)'}  {seen.rssi} dBm  {seen.profile or 'not recognised'}  {seen.address}"
