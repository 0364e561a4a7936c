"""Text -> checked sheet: sizes before parsing, then TOML, then the model, then the rules; no I/O."""

import hashlib
import tomllib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pydantic import ValidationError

from drivers.tomlbounds import Bounds

from .problems import explain, found, legible, locate, refuse
from .rest import faults_of_the_rest
from .rules import check_sheet
from .sheet import Sheet

MAX_BYTES = 64 * 1024
MAX_LINES = 2000
MAX_LINE = 1000
MAX_DOTS = 8
MAX_DEPTH = 8
"""Brackets within brackets; a sheet needs two."""

_BOUNDS = Bounds(MAX_LINES, MAX_LINE, MAX_DOTS, MAX_DEPTH)
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
"""Controls, formats (bidirectional marks, zero widths), surrogates, private use, line and paragraph separators."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """A checked sheet with the exact text it came from."""

    sheet: Sheet
    warnings: tuple[str, ...]
    """What will work, but badly."""
    sha256: str
    """Of the bytes of the file, as hex."""
    text: str


def load_sheet(text: bytes | str, where: str) -> Loaded:
    """Read and check a sheet; BadInput names `where`, table and key, what was found and what is allowed."""
    raw, text = _decoded(text, where)
    _bounded(text, where)
    tree = _parsed(text, where)
    sheet = _validated(tree, where)
    findings = check_sheet(sheet)
    if findings.refusals:
        raise refuse(where, findings.refusals)
    return Loaded(sheet, findings.warnings, hashlib.sha256(raw).hexdigest(), text)


def _decoded(text: bytes | str, where: str) -> tuple[bytes, str]:
    if len(text) > MAX_BYTES:
        raise refuse(where, [f"longer than {MAX_BYTES // 1024} KiB; a sheet is one job, split it"])
    try:
        raw = text if isinstance(text, bytes) else text.encode()
        text = raw.decode()
    except UnicodeError as error:
        raise refuse(where, ["not UTF-8 text; save the file as UTF-8"]) from error
    if len(raw) > MAX_BYTES:
        raise refuse(where, [f"longer than {MAX_BYTES // 1024} KiB; a sheet is one job, split it"])
    return raw, text.removeprefix("\ufeff")


def _bounded(text: str, where: str) -> None:
    """Refuse what would cost the parser seconds or its stack, and what cannot be seen."""
    if beyond := _BOUNDS.broken_by(text):
        raise refuse(where, [beyond])
    for number, content in enumerate(text.split("\n"), 1):
        char = _hidden_in(content.rstrip("\r").replace("\t", " "))
        if char:
            raise refuse(where, [f"line {number}: the hidden character {char} is not allowed, write plain text"])


def _parsed(text: str, where: str) -> dict[str, Any]:
    try:
        # Decimal keeps what was written, so that an error can show it; no key of a sheet takes a number with a point.
        return tomllib.loads(text, parse_float=Decimal)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError, ArithmeticError) as error:
        why = legible(str(error)).rstrip(".")
        twice = "a key or [table] stands once, and each step begins with [[step]]"
        remedy = twice if "twice" in why or "overwrite" in why else "write one key = value on a line"
        raise refuse(where, [f"cannot be read as TOML: {why}; {remedy}"]) from error


def _validated(tree: dict[str, Any], where: str) -> Sheet:
    hidden = {str(locate(loc, tree)): what for loc, what in _hidden(tree)}
    problems = [f"{spot}: {what}" for spot, what in hidden.items()]
    try:
        sheet = Sheet.model_validate(tree)
    except ValidationError as error:
        details = (each for each in error.errors(include_url=False) if str(locate(each["loc"], tree)) not in hidden)
        rest = faults_of_the_rest(tree, error)
        raise refuse(where, [*problems, *(explain(each, tree) for each in details), *rest]) from error
    if problems:
        raise refuse(where, problems)
    return sheet


def _hidden_in(text: str) -> str:
    """Name the first character of a text that cannot be seen, such as U+202E, or return nothing."""
    return next((f"U+{ord(char):04X}" for char in text if unicodedata.category(char) in _HIDDEN), "")


def _hidden(value: object, loc: tuple[int | str, ...] = ()) -> Iterator[tuple[tuple[int | str, ...], str]]:
    """Find characters that cannot be seen: TOML lets them in by escapes, and they could rewrite a terminal."""
    match value:
        case str():
            char = _hidden_in(value)
            if char:
                yield loc, f"found {found(value)}; the character {char} is not allowed, write plain text"
        case dict():
            for key, inner in value.items():
                yield from _hidden(key, (*loc, key))
                yield from _hidden(inner, (*loc, key))
        case list():
            for position, inner in enumerate(value):
                yield from _hidden(inner, (*loc, position))
        case _:
            return
