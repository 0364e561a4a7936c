"""What is wrong with a sheet, in a person's words: where it is, what was found, what is allowed."""

import difflib
import re
from collections.abc import Iterable, Mapping
from datetime import date, time
from typing import Any, NamedTuple

from pydantic_core import ErrorDetails

from logger.errors import BadInput
from logger.units import unit_names

from .keys import MODELS, STEP_KINDS, Key, key_of
from .sheet import Sheet, Step

MAX_PROBLEMS = 10
_SHOWN = 60

Tree = Mapping[str, Any]
"""A parsed TOML file."""


class Spot(NamedTuple):
    """One key of a sheet: `table` is a name of `MODELS`, `label` what a person calls that table."""

    table: str
    label: str
    key: str
    item: int = 0
    """Which entry of a list, from 1; 0 means the whole value."""

    def __str__(self) -> str:
        item = f", item {self.item}" if self.item else ""
        return f"{self.label}, key {legible(self.key)}{item}"


def refuse(where: str, problems: Iterable[str]) -> BadInput:
    """Make one error of all problems, the first ten in full."""
    told = list(dict.fromkeys(problems))
    name = legible(where)
    if len(told) == 1:
        return BadInput(f"{name}: {told[0]}")
    more = [f"... and {len(told) - MAX_PROBLEMS} more"] if len(told) > MAX_PROBLEMS else []
    lines = "\n".join(f"  {line}" for line in [*(f"{name}: {told}" for told in told[:MAX_PROBLEMS]), *more])
    return BadInput(f"{name} has {len(told)} problems:\n{lines}")


def legible(text: str) -> str:
    """Return text with everything that a terminal or a reader could be misled by spelled out."""
    return "".join(char if char.isprintable() else f"\\u{ord(char):04x}" for char in text)


def found(value: object) -> str:
    """Say what stands in the file, shortened."""
    match value:
        case str():
            shown = legible(value[:_SHOWN])
            return f'"{shown}"' if len(value) <= _SHOWN else f'"{shown}..." ({len(value)} characters)'
        case bool():
            return str(value).lower()
        case list() | tuple():
            return _short("[" + ", ".join(found(item) for item in value[:20]) + "]")
        case dict():
            return "a table"
        case date() | time():
            return f"the date or time {value}"
        case _:
            return _short(str(value))


def _short(text: str) -> str:
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."


def step_label(position: int, step_id: object) -> str:
    """Name a step as a person finds it in the file: `[[step]] 4 "slack"`."""
    return f"[[step]] {position + 1} {found(step_id)}" if isinstance(step_id, str) else f"[[step]] {position + 1}"


def name_of(sheet: Sheet, step: Step) -> str:
    """Name a step of a sheet as a person finds it in the file."""
    return step_label(sheet.order[step.id], step.id)


def spot_of(sheet: Sheet, step: Step, key: str) -> str:
    """Name a key of a step as a person finds it in the file."""
    return f"{name_of(sheet, step)}, key {key}"


def unknown(name: str, known: Iterable[str]) -> str:
    """Say that a name refers to nothing, which is nearest, and what is allowed."""
    known = list(known)
    return f"found {found(name)}{nearest(name, known)}; allowed: {', '.join(known) or 'nothing, there are none'}"


def locate(loc: tuple[int | str, ...], tree: Tree) -> Spot:
    """Turn a path of pydantic's into the table and key a person looks for."""
    match loc:
        case ("step", int(position), "torque", "passes", int(number), str(key), *rest):
            return _spot("passes", f"{_label(tree, position)}, passes {number + 1}", (key, *rest))
        case ("step", int(position), "torque", "adapter", str(key), *rest):
            return _spot("adapter", f"{_label(tree, position)}, adapter", (key, *rest))
        case ("step", int(position), str(kind), *rest) if kind in STEP_KINDS and rest:
            return _spot(kind, _label(tree, position), rest)
        case ("step", int(position), *rest):
            return _spot("confirm", _label(tree, position), rest or ["kind"])
        case ("due", int(position), *rest):
            return _spot("due", f"[[due]] {position + 1}", rest or ["what"])
        case ("drive", str(), *_):
            return _spot("drive", "[drive]", loc[1:])
        case ("conditions", str(), *_):
            return _spot("", "[conditions]", loc[1:])
        case _:
            return _spot("", "top of the file", loc)


def _spot(table: str, label: str, rest: Iterable[int | str]) -> Spot:
    key, *inner = rest
    item = next((part + 1 for part in inner if isinstance(part, int)), 0)
    return Spot(table, label, str(key), item)


def _label(tree: Tree, position: int) -> str:
    step = tree["step"][position]
    return step_label(position, step.get("id") if isinstance(step, dict) else None)


def explain(error: ErrorDetails, tree: Tree) -> str:
    """Say in one sentence what one error of pydantic's means for the person who writes the sheet."""
    spot = locate(error["loc"], tree)
    if spot.label == "[conditions]":
        return _condition(spot, error)
    if error["type"].startswith("union_tag") or (len(error["loc"]) == 2 and spot.label.startswith("[[")):
        return _whole(spot, error["input"])
    match error["type"]:
        case "missing":
            return _missing(spot)
        case "extra_forbidden":
            return _unknown(spot)
        case "quantity":
            return _quantity(spot, error.get("ctx", {}).get("found"))
        case _:
            near = _meant(error)
            return f"{spot}: found {found(error['input'])}{near}; allowed: {_allowed(key_of(spot.table, spot.key))}"


def _meant(error: ErrorDetails) -> str:
    """Return a hint where one of a few words is allowed and this one is near to one of them."""
    words = re.findall(r"'([^']*)'", str(error.get("ctx", {}).get("expected", "")))
    return nearest(error["input"], words) if isinstance(error["input"], str) else ""


def _allowed(key: Key | None) -> str:
    if key is None:
        return "nothing of this kind"
    return f"{key.allowed}, such as {key.name} = {key.example}" if key.example else key.allowed


def _missing(spot: Spot) -> str:
    key = key_of(spot.table, spot.key)
    return f"{spot.label}: key {spot.key} is missing; it must be {_allowed(key)}"


def _unknown(spot: Spot) -> str:
    known = list(MODELS[spot.table].model_fields)
    near = nearest(spot.key, known)
    if not near and spot.label != "top of the file" and spot.key in MODELS[""].model_fields:
        near = " (it belongs at the top of the file, before the first table)"
    return f"{spot.label}: unknown key {legible(_short(spot.key))}{near}; allowed: {', '.join(known)}"


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a hint that names the known word nearest to this one, or nothing."""
    close = difflib.get_close_matches(word, list(known), n=1)
    return f' (did you mean "{close[0]}"?)' if close else ""


def _whole(spot: Spot, step: object) -> str:
    """Explain a step or a due entry that is no table, or a step of no known kind."""
    allowed = ", ".join(f'"{kind}"' for kind in STEP_KINDS)
    if not isinstance(step, dict):
        header = spot.label.partition("]]")[0] + "]]"
        return f"{spot.label}: found {found(step)}; write each as a table that begins with {header}"
    if "kind" not in step:
        return f"{spot.label}: key kind is missing; allowed: {allowed}"
    return f"{spot}: found {found(step['kind'])}{nearest(str(step['kind']), STEP_KINDS)}; allowed: {allowed}"


def _condition(spot: Spot, error: ErrorDetails) -> str:
    if "[key]" in error["loc"]:
        return f'{spot}: this name is not allowed; use lower-case letters, digits, "_" and "-", at most 32'
    return f"{spot}: found {found(error['input'])}; allowed: text of 1 to 300 characters on one line"


def _quantity(spot: Spot, value: object) -> str:
    units = unit_names(["torque" if spot.table in ("torque", "passes") else "length"])
    sample = "".join(char for char in str(value)[:20].replace(",", ".") if char in "0123456789.").strip(".")
    example = f'"{sample if sample.replace(".", "", 1).isdigit() else 30} {units[0]}"'
    what = "write a quantity with a unit" if isinstance(value, str) else "write it as text with a unit"
    comma = ", a point and not a comma" if isinstance(value, str) and "," in value else ""
    return f"{spot}: found {found(value)}; {what}{comma}, such as {example} (units: {', '.join(units)})"
