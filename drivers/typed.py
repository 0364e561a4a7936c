"""Readings that arrive as typed lines, from a person or a tool that acts as a keyboard: one strict grammar.

Nothing is guessed: a decimal point and a unit are required, so that 12,5 or a bare 36 can never be taken for
something that was not meant. A tool that types otherwise has a profile that says how, to the last digit.
"""

import re
from collections.abc import Callable

from drivers.decode.texts import read_text
from drivers.profile.values import TypedValue

from .gatt import plain
from .octets import FrameError, Special
from .reading import Quantity, Stamp, ToolReading

MAX_LINE = 40
"""Characters of a line."""
MAX_DIGITS = 12
TYPED = "typed"
"""The tool of a typed reading until it is known whose it is."""
EXAMPLE = 'Type it like "36.2 mm" or "98 N·m".'

UnitOf = Callable[[str], tuple[str, str] | None]
"""Text of a unit as the trade writes it -> what it measures and its canonical text, or None."""

_LINE = re.compile(r"(?P<sign>[+-]?)(?P<number>[0-9]+(?:\.[0-9]+)?) *(?P<unit>(?![eE][0-9+-])[^0-9\s.,+-].*)")
_REFUSALS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"(?i)[+-]?(nan|inf)"), "That is not a number."),
    (re.compile(r"[^\x00-\x7f]*[０-９−＋－．，]|.*[０-９]"), "Plain digits and a plain minus sign are needed."),
    (re.compile(r"[+-]?[0-9]*,"), "A comma is not taken for a decimal point: write 12.5, not 12,5."),
    (re.compile(r"(?i)[+-]?[0-9.]+e[+-]?[0-9]"), "A number with an exponent is not taken: write its digits out."),
    (re.compile(r"[+-]?\.[0-9]"), "A digit is needed before the point: write 0.5, not .5."),
    (re.compile(r"[+-]?[0-9]+\.(?![0-9])"), "A digit is needed after the point: write 36.0 or 36."),
    (re.compile(r"[+-]?[0-9]+(\.[0-9]+)?\Z"), "The unit is missing."),
)


class TypedError(ValueError):
    """A typed line that is not taken as a reading; the text is one sentence and an example."""


def read_typed(line: str, at: Stamp, unit_of: UnitOf, key_gap_ms: int | None = None) -> ToolReading:
    """Read one typed line such as "36.2 mm"; TypedError says why it is not a reading.

    `key_gap_ms` is the median time between its keys, where that is known.
    """
    text = line.replace("\t", " ").strip(" \r\n")
    if len(text) > MAX_LINE:
        raise TypedError(f"A reading has at most {MAX_LINE} characters, this line has {len(text)}. {EXAMPLE}")
    found = _LINE.fullmatch(text)
    reason = _refusal(text) if found is None or not text.isprintable() else ""
    if found is None or reason:
        raise TypedError(f"{reason} {EXAMPLE}")
    number = found["sign"].removeprefix("+") + found["number"]
    if sum(c.isdigit() for c in number) > MAX_DIGITS:
        raise TypedError(f"A reading has at most {MAX_DIGITS} digits. {EXAMPLE}")
    quantity, unit = _unit(found["unit"], unit_of)
    return ToolReading(TYPED, quantity, number, unit, "typed", line, at, key_gap_ms=key_gap_ms)


def read_typed_by(value: TypedValue, line: str, at: Stamp, key_gap_ms: int | None = None) -> ToolReading:
    """Read one line as a tool with a profile types it; TypedError when it differs in anything.

    The first key may be lost when a keyboard wakes, and a key may stick: only a fixed format (`picture`) shows that.
    """
    text = line.strip(" \r\n\t")
    if len(text) > MAX_LINE or not text.isprintable():
        raise TypedError("It is longer than any reading, or holds characters that cannot be shown; send it again.")
    try:
        said = read_text(value, text.encode())
    except FrameError as error:
        raise TypedError(f"{error} Send it again.") from None
    if isinstance(said.value, Special):
        raise TypedError(f"The tool sent no number but: {said.value}. Send it again.")
    return ToolReading(TYPED, said.quantity, plain(said.value), said.unit, "typed", line, at, key_gap_ms=key_gap_ms)


def _refusal(text: str) -> str:
    if not text:
        return "The line is empty."
    if not text.isprintable():
        return "The line holds characters that cannot be shown."
    for pattern, reason in _REFUSALS:
        if pattern.match(text):
            return reason
    return f"{text!r} is not a reading."


def _unit(text: str, unit_of: UnitOf) -> tuple[Quantity, str]:
    found = unit_of(text)
    if found is None:
        raise TypedError(f"The unit {text!r} is not one that is known. {EXAMPLE}")
    kind, unit = found
    if kind == "length":
        return "length", unit
    if kind == "torque":
        return "torque", unit
    raise TypedError(f"{unit} measures neither a length nor a torque. {EXAMPLE}")
