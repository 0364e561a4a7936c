"""Patterns of text messages: literal text and a few named places; plain to write, and linear to match."""

import re
from dataclasses import dataclass
from functools import cache

MAX_TEXT = 512
"""Characters of a message: as many as a frame has octets."""
_PLACES = {
    "number": r"(?P<number> {0,16}+[+-]? {0,16}+[0-9]{1,18}+(?:[.,][0-9]{1,18}+)?)",
    "unit": r"(?P<unit>[^\s](?:[^\x00-\x1f]{0,10}[^\s])?)",
    "digits": r"([0-9]{1,24}+)",
    "word": r"([A-Za-z_]{1,24}+)",
    "space": r"( {0,24}+)",
}
"""Each takes as much as it can and gives nothing back, so that no message makes matching slow."""
_FILLERS = {"digits": "0", "word": "x", "space": ""}
_PLACE = re.compile(r"\{([^{}]*)\}")


class TemplateError(ValueError):
    """A pattern that cannot be used; the text says why."""


@dataclass(frozen=True, slots=True)
class Found:
    """What stands in the places of one message, and how the message is put together."""

    number: str
    unit: str
    parts: tuple[str, ...]
    """The texts of all parts in turn, literal ones included."""


@dataclass(frozen=True, slots=True)
class Template:
    """A pattern taken apart: literal texts and places, in turn."""

    parts: tuple[tuple[bool, str], ...]
    """Whether a part is a place, and its text or the place's name."""

    @classmethod
    def parse(cls, text: str) -> "Template":
        """Take a pattern apart; TemplateError names a place that does not exist, or a number that is not there once."""
        pieces = _PLACE.split(text)
        parts = tuple((i % 2 == 1, piece) for i, piece in enumerate(pieces) if piece or i % 2)
        places = [piece for place, piece in parts if place]
        if unknown := [name for name in places if name not in _PLACES]:
            raise TemplateError(f"{{{unknown[0]}}} is none of {', '.join(f'{{{name}}}' for name in _PLACES)}")
        if places.count("number") != 1 or places.count("unit") > 1:
            raise TemplateError("a pattern has {number} once and {unit} at most once")
        if any(not place and not piece.isprintable() for place, piece in parts):
            raise TemplateError("a pattern is printable text; what ends a message is its terminator")
        return cls(parts)

    def has(self, name: str) -> bool:
        """Say whether the pattern has a place of this name."""
        return (True, name) in self.parts

    def match(self, message: str) -> Found | None:
        """Return what stands in the places of a message, or None when it does not look like the pattern."""
        found = _compiled(self).fullmatch(message) if len(message) <= MAX_TEXT else None
        if found is None:
            return None
        texts = iter(found.groups())
        parts = tuple(next(texts) if place else piece for place, piece in self.parts)
        named = found.groupdict()
        return Found(named["number"], named.get("unit") or "", parts)

    def fill(self, number: str, unit: str, over: Found | None = None) -> str:
        """Return a message with this number and unit; what is ignored stays as it is in `over`."""
        said = {"number": number, "unit": unit}
        return "".join(
            piece if not place else said.get(piece, over.parts[i] if over else _FILLERS.get(piece, ""))
            for i, (place, piece) in enumerate(self.parts)
        )


@cache
def _compiled(template: Template) -> re.Pattern[str]:
    return re.compile("".join(_PLACES[piece] if place else re.escape(piece) for place, piece in template.parts))
