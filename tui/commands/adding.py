"""`tools add`: one value on a tool's display is compared with the screen, and the tool is pinned."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import get_args

from pydantic import ValidationError

from drivers.radio.ble import Radio, Seen
from drivers.reading import RADIO, Link, ToolPeak, ToolReading, ToolState
from logger.errors import BadInput, NothingToTalkTo
from logger.sheets.written import ToolKind
from logger.toolbook.toolbook import TORQUE_KINDS, Tool, Toolbook, identified
from logger.units import factor, parse_quantity
from tui.shell import Shell

from .reach import Lines, answer

YES = frozenset({"yes", "y"})
QUESTIONS: Mapping[str, str] = {
    "accuracy": 'Accuracy, as plus or minus, such as "0.03 mm" or "4 %"',
    "resolution": 'Step of its display, such as "0.01 mm"',
    "calibrated": "Day of its last calibration, YYYY-MM-DD",
    "due": "Day its next calibration is due, YYYY-MM-DD",
    "calibration_u": 'Expanded uncertainty on its certificate, such as "0.01 mm"',
    "certificate": "Number of its certificate",
}
_A_DAY = "a day as YYYY-MM-DD, such as 2027-11-01"
AMOUNTS = frozenset({"accuracy", "resolution", "calibration_u"})
ALLOWED: Mapping[str, str] = {
    "id": 'letters, digits, "_" and "-", at most 24, a letter first, such as caliper-1',
    "kind": f"one of {', '.join(get_args(ToolKind))}",
    "accuracy": 'a number with its unit or %, such as "0.03 mm" or "4 %"',
    "resolution": 'a number with its unit, such as "0.01 mm"',
    "calibration_u": 'a number with its unit or %, such as "0.01 mm"',
    "calibration_k": "a number, such as 2",
    "calibrated": _A_DAY,
    "due": _A_DAY,
    "certificate": "at most 64 characters that can be shown",
    "serial": "at most 64 characters that can be shown",
}
"""What each option takes."""
_AMOUNT = re.compile(r"\s*\+?([0-9.]+)\s*([^\s0-9.,][^\s]*)\s*")
Fields = dict[str, object]


@dataclass(frozen=True, slots=True)
class Compared:
    """A tool that told who it is, and the value that a person found equal on its display."""

    state: ToolState
    value: str


def entry(fields: Fields) -> Tool:
    """Return a checked entry; BadInput names the option that is wrong, and what it may be."""
    try:
        return Tool.model_validate({key: _spaced(key, value) for key, value in fields.items() if value is not None})
    except ValidationError as error:
        found = error.errors(include_url=False)[0]
        key = str(found["loc"][0]) if found["loc"] else ""
        said = found["msg"].removeprefix("Value error, ")
        if key:
            allowed = ALLOWED.get(key, said)
            said = f'--{key.replace("_", "-")} "{str(found["input"])[:60]}" is not taken: write {allowed}'
        raise BadInput(f"{said}.", "See: evenhand tools add --help") from error


def _spaced(key: str, value: object) -> object:
    """Return an amount with one space before its unit, however it was written."""
    found = _AMOUNT.fullmatch(value) if key in AMOUNTS and isinstance(value, str) else None
    return f"{found[1]} {found[2]}" if found else value


def next_id(book: Toolbook, kind: str) -> str:
    """Return the first free short name for a tool of this kind: "caliper-1"."""
    taken = {tool.id.lower() for tool in book.tool}
    stem = kind.replace(" ", "-")
    return next(name for number in range(1, len(taken) + 2) if (name := f"{stem}-{number}") not in taken)


async def asked(shell: Shell, typed: Lines, fields: Fields) -> Fields:
    """Ask for what was not given by options; an empty answer leaves it out, a wrong one is asked again."""
    found = dict(fields)
    for key, question in QUESTIONS.items():
        while found.get(key) is None:
            shell.say(f"{question} (empty: not known)")
            text = await answer(typed)
            if not text:
                break
            try:
                entry(found | {key: text})
            except BadInput as error:
                shell.say(error.message)
            else:
                found[key] = text
    return found


def of_reference(kind: str, accuracy: object) -> bool:
    """Whether an accuracy in % is of the true value: for torque it is (ISO 6789-1), unless it is said otherwise."""
    return kind in TORQUE_KINDS and isinstance(accuracy, str) and accuracy.endswith("%")


# --- the comparison -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Witness:
    """Who looks at the display: a person who is asked, or one who said beforehand what it shows."""

    shell: Shell
    typed: Lines
    shown: str | None = None

    async def agrees(self, value: ToolReading | ToolPeak) -> bool:
        """Say whether the display shows a value."""
        if self.shown is not None:
            return same(value, self.shown)
        self.shell.say(f"Received: {value.text} {value.unit}. Does the tool's display show this? Type yes or no.")
        return (await answer(self.typed)).lower() in YES


async def compare(witness: Witness, radio: Radio, seen: Seen, book: Toolbook) -> Compared:
    """Wait for one value of a tool and have it compared with its display; BadInput when they differ."""
    async with radio:
        state, value = await _first_value(witness.shell, radio, seen, book)
        said = f"{value.text} {value.unit}"
        if not await witness.agrees(value):
            shows = "something else" if witness.shown is None else witness.shown
            raise BadInput(
                f"{_name(state)} was not added: it sent {said}, and its display shows {shows}.",
                "See that it is the tool in your hand, then try again.",
            )
    return Compared(state, said)


async def _first_value(
    shell: Shell, radio: Radio, seen: Seen, book: Toolbook
) -> tuple[ToolState, ToolReading | ToolPeak]:
    linked: dict[str, ToolState] = {}
    while True:
        arrival, mine = await radio.next(), linked.get(seen.address)
        match arrival:
            case ToolState():
                _told(shell, arrival, seen, book)
                linked[arrival.address] = arrival
                _only_one(linked, seen)
            case ToolReading(old=False, duplicate=False) | ToolPeak(duplicate=False) if (
                mine is not None and mine.link is Link.READY and arrival.tool == mine.tool
            ):
                return mine, arrival
            case _:
                pass


def _told(shell: Shell, state: ToolState, seen: Seen, book: Toolbook) -> None:
    if state.tool == RADIO:
        shell.say(state.message)
    if state.address != seen.address:
        return
    if state.link is not Link.READY:
        shell.say(f"{_name(state)}: {state.link}. {state.message}".rstrip(". ") + ".")
        return
    other = identified(book, state.serial or state.tool)
    if other is not None:
        raise BadInput(f"{_name(state)} is in the toolbook already, as {other.id}.", "See: evenhand tools list")
    if not state.serial:
        shell.say(f"{_name(state)} tells no serial number: whatever advertises this name will be taken for it.")
    shell.say("Ready. Measure something that is not zero and press its button, or pull it once.")


def _only_one(linked: Mapping[str, ToolState], seen: Seen) -> None:
    mine = linked.get(seen.address)
    twins = [s.address for s in linked.values() if mine and s.link is mine.link is Link.READY and s.tool == mine.tool]
    if mine is not None and len(twins) > 1:
        raise BadInput(
            f"{len(twins)} devices in reach call themselves {_name(mine)}: {', '.join(twins)}.",
            "Switch the other one off, then add this one.",
        )


def _name(state: ToolState) -> str:
    return f"{state.tool} ({state.kind})" if state.kind else state.tool


def same(value: ToolReading | ToolPeak, shown: str) -> bool:
    """Say whether a display shows a value: the same number, or in another unit the same to the display's last digit."""
    wanted = parse_quantity(shown)
    found = Fraction(value.text) * factor(value.unit, wanted.unit)
    if wanted.unit == value.unit:
        return found == Fraction(wanted.value)
    step = Fraction(1, 10 ** len(wanted.text.partition(".")[2]))
    return abs(found - Fraction(wanted.value)) * 2 <= step


def recognised(heard: Iterable[Seen]) -> tuple[Seen, ...]:
    """Return what a profile recognises, strongest first; NothingToTalkTo when that is nothing."""
    tools = tuple(seen for seen in heard if seen.profiles)
    if not tools:
        raise NothingToTalkTo(
            "No tool that a profile recognises was heard.",
            "Switch it on and try again, off and on where it may still be linked to another program; "
            "a tool that nobody has met is learned with: evenhand tools learn",
        )
    return tools
