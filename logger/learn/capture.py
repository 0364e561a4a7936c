"""Captured frames of a tool, some with what its display showed: text, one JSON object a line -> frames; bounded."""

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from drivers.profile.fields import MAX_FRAME, full_uuid
from logger.errors import BadInput
from logger.units import parse_quantity, unit_of

MAX_OCTETS = 4 * 1024 * 1024
MAX_LINES = 20_000
MAX_LINE = 4096
MAX_SHOWN = 200
EXAMPLE = 'A line is such as {"characteristic": "<uuid>", "hex": "e10b", "shown": "30.41 mm"}.'


@dataclass(frozen=True, slots=True)
class Shown:
    """What a display showed: the exact number, its unit by its one name, and as it was written."""

    value: Decimal
    digits: int
    """Digits after the point."""
    unit: str
    spelled: str
    number: str
    """Its digits as they were written."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One frame of a capture."""

    line: int
    characteristic: str
    """As given."""
    uuid: str
    """In full."""
    hex: str
    """As given."""
    octets: bytes
    shown: Shown | None = None


def read_capture(text: str, where: str) -> tuple[Seen, ...]:
    """Read a capture; BadInput names `where`, the line, what is wrong and what a line is."""
    if len(text.encode("utf-8", errors="surrogatepass")) > MAX_OCTETS:
        raise BadInput(f"{where} is larger than {MAX_OCTETS >> 20} MiB.", "Keep the frames around the readings.")
    lines = text.removeprefix("\ufeff").split("\n")
    if len(lines) > MAX_LINES + 1:
        raise BadInput(f"{where} has {len(lines)} lines, at most {MAX_LINES} are read.", "Capture for a shorter time.")
    frames = tuple(_frames(lines, where))
    if not frames:
        raise BadInput(f"{where} holds no frame.", EXAMPLE)
    if (known := sum(each.shown is not None for each in frames)) > MAX_SHOWN:
        raise BadInput(f"{where} has {known} readings, at most {MAX_SHOWN} are used.", "A dozen different ones do.")
    return frames


def _frames(lines: Iterable[str], where: str) -> Iterator[Seen]:
    for number, line in enumerate(lines, 1):
        if line.strip():
            yield _frame(line, number, f"{where}, line {number}")


def _frame(line: str, number: int, spot: str) -> Seen:
    if len(line) > MAX_LINE:
        raise BadInput(f"{spot}: {len(line)} characters, at most {MAX_LINE} are read.", EXAMPLE)
    found = _object(line, spot)
    given, hexes, shown = found.get("characteristic"), found.get("hex"), found.get("shown")
    if not isinstance(given, str) or not isinstance(hexes, str):
        raise BadInput(f'{spot}: "characteristic" and "hex" are needed, both as text.', EXAMPLE)
    if not re.fullmatch(rf"([0-9a-fA-F]{{2}}){{1,{MAX_FRAME}}}", hexes):
        raise BadInput(f'{spot}: "hex" is not 1 to {MAX_FRAME} octets in hexadecimal.', EXAMPLE)
    try:
        uuid = full_uuid(given)
    except ValueError as error:
        raise BadInput(f"{spot}: {_legible(str(error))}.", EXAMPLE) from None
    if shown is not None and not isinstance(shown, str):
        raise BadInput(f'{spot}: "shown" is text such as "30.41 mm", or null.', EXAMPLE)
    read = None if shown is None or not shown.strip() else _shown(shown, spot)
    return Seen(number, given, uuid, hexes, bytes.fromhex(hexes), read)


def _object(line: str, spot: str) -> dict[str, object]:
    def once(pairs: list[tuple[str, object]]) -> dict[str, object]:
        keys = [key for key, _ in pairs]
        if len(set(keys)) < len(keys):
            raise ValueError("a key stands twice")
        return dict(pairs)

    try:
        found = json.loads(line, object_pairs_hook=once)
    except RecursionError:
        raise BadInput(f"{spot} is not JSON: too many brackets within brackets.", EXAMPLE) from None
    except ValueError as error:
        raise BadInput(f"{spot} is not JSON: {error}.", EXAMPLE) from None
    if not isinstance(found, dict):
        raise BadInput(f"{spot} is not a JSON object.", EXAMPLE)
    return found


def _shown(text: str, spot: str) -> Shown:
    try:
        quantity = parse_quantity(text)
    except BadInput as error:
        raise BadInput(f"{spot}: {_legible(error.message)}", error.remedy) from None
    if quantity.kind not in {"length", "torque"}:
        raise BadInput(f"{spot}: {quantity.unit} is neither a length nor a torque.", EXAMPLE)
    spelled = text.strip().lstrip("+-0123456789.").strip()
    return Shown(quantity.value, len(quantity.text.partition(".")[2]), quantity.unit, spelled, quantity.text)


def _legible(text: str) -> str:
    return text[:120].rstrip(".")


def spelled_unit(text: str) -> str | None:
    """Return the one name of a length or torque unit as a tool writes it, or None."""
    found = unit_of(text)
    return found[1] if found and found[0] in {"length", "torque"} else None
