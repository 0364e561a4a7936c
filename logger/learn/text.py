"""How a message of text could be read: every guess that fits each known reading."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from typing import Literal

from drivers.decode.texts import text_of as message_text

from .capture import Seen, Shown, spelled_unit
from .scale import Case, Display, Pair, by_unit, cases_of

EXPONENTS = range(-6, 4)
Mark = Literal[".", ",", "none"]
_NUMBERS: dict[Mark, re.Pattern[str]] = {
    ".": re.compile(r"[+-]? {0,16}[0-9]{1,18}(?:\.[0-9]{1,18})?"),
    ",": re.compile(r"[+-]? {0,16}[0-9]{1,18}(?:,[0-9]{1,18})?"),
    "none": re.compile(r"[+-]? {0,16}[0-9]{1,18}"),
}
_TOKEN = re.compile(r"[0-9]+| +|[A-Za-z_]+|[^0-9A-Za-z_ ]")
_UNIT = re.compile(r" *(?P<unit>[^\s0-9+,;:=-][^\s0-9+,;:=]{0,9})")
_END = re.compile(r"[\r\n\0]*\Z")


@dataclass(frozen=True, slots=True)
class Message:
    """A message taken apart about one of its numbers."""

    before: str
    number: str
    between: str
    """Spaces between number and unit."""
    unit: str
    """The text after the number, where that is a unit."""
    after: str


@dataclass(frozen=True, slots=True)
class TextGuess:
    """One way to read a number out of a text."""

    mark: Mark
    index: int
    """Which of its numbers, from the first."""
    pattern: str
    """As a profile writes it."""
    shape: str
    """What the text around the number is made of; a text of another shape is another kind of message."""
    terminator: str
    cases: Mapping[str, Case]
    """What each unit text stands for; under "" alone where the text does not say the unit."""
    rank: int

    def case(self, frame: bytes) -> Case:
        """Return how a message is scaled."""
        found = self.message(frame)
        return self.case_of(found.unit if found else "") or next(iter(self.cases.values()))

    def case_of(self, unit: str) -> Case | None:
        """Return what a unit text stands for; one never seen beside a shown value stands for what it says."""
        case = self.cases.get(unit) or self.cases.get("")
        spelled = spelled_unit(unit)
        if case is not None or spelled is None:
            return case
        named = all(spelled_unit(text) == case.unit == case.native for text, case in self.cases.items())
        return Case(spelled, spelled, next(iter(self.cases.values())).exponent, exact=True) if named else None

    def raw(self, frame: bytes) -> Decimal | None:
        """Return the number of a message, or None where it is another kind of message."""
        found = self.message(frame)
        if found is None or self.case_of(found.unit) is None:
            return None
        if _shape(found, strict="" in self.cases) != self.shape:
            return None
        return _number(found.number, self.mark)

    def message(self, frame: bytes) -> Message | None:
        """Take a message apart."""
        text = text_of(frame)
        return None if text is None else _apart(text, self.mark, self.index)


def text_of(frame: bytes) -> str | None:
    """Return the printable text of a frame without what ends it, or None where it is no text."""
    text = _END.sub("", message_text(frame))
    return text if text and text.isprintable() else None


def text_guesses(known: Sequence[Seen], shown: Mapping[str, Display]) -> Iterator[TextGuess]:
    """Yield every guess that reads each known message as it was shown."""
    texts = [text_of(each.octets) for each in known]
    if any(text is None or set("{}") & set(text) for text in texts):
        return  # a pattern writes its places in braces
    marks: tuple[Mark, ...] = (".", ",", "none")
    for mark in marks:
        for index in range(min(len(_NUMBERS[mark].findall(text or "")) for text in texts)):
            messages = [_apart(text or "", mark, index) for text in texts]
            whole = [message for message in messages if message is not None]
            if len(whole) == len(known):
                yield from _guesses(mark, index, whole, known, shown)


def _apart(text: str, mark: Mark, index: int) -> Message | None:
    found = list(_NUMBERS[mark].finditer(text))
    if index >= len(found):
        return None
    start, end = found[index].span()
    unit = _UNIT.match(text, end)
    if unit is not None and spelled_unit(unit["unit"]) is not None:
        return Message(text[:start], text[start:end], text[end : unit.start("unit")], unit["unit"], text[unit.end() :])
    return Message(text[:start], text[start:end], "", "", text[end:])


def _number(text: str, mark: Mark) -> Decimal:
    return Decimal(text.replace(" ", "").replace(mark, "."))


def _shape(message: Message, *, strict: bool) -> str:
    """What surrounds a number: with a unit beside it words may differ (stable, unstable), without one they count."""
    around = (message.before.rstrip(" "), message.after)
    return "|".join("".join(_part(token, strict=strict) for token in _TOKEN.findall(side)) for side in around)


def _part(token: str, *, strict: bool) -> str:
    if token.isdecimal():
        return "9"
    if token.isspace():
        return ""
    return token if strict or not token.replace("_", "a").isalpha() else "a"


def _guesses(
    mark: Mark, index: int, messages: Sequence[Message], known: Sequence[Seen], shown: Mapping[str, Display]
) -> Iterator[TextGuess]:
    says = all(each.unit for each in messages)
    if says != any(each.unit for each in messages):
        return
    shapes = {_shape(each, strict=not says) for each in messages}
    if len(shapes) != 1:
        return
    pairs: list[Pair] = [(_number(m.number, mark), _shown(each)) for m, each in zip(messages, known, strict=True)]
    found = _cases(pairs, messages if says else None, shown)
    pattern = _pattern(messages, says)
    ends = {each.octets[len(each.octets.rstrip(b"\r\n\0")) :].decode() for each in known}
    terminator = ends.pop() if len(ends) == 1 else ""
    more = index + 10 * (mark == "none") + (5 if says else 8)
    for cases, rank in found:
        yield TextGuess(mark, index, pattern, min(shapes), terminator, cases, rank + more)


def _shown(seen: Seen) -> Shown:
    assert seen.shown is not None
    return seen.shown


def _cases(
    pairs: Sequence[Pair], messages: Sequence[Message] | None, shown: Mapping[str, Display]
) -> Iterator[tuple[dict[str, Case], int]]:
    """Yield what each unit text stands for; a text that stands for two units, or for another kind, fits nothing."""
    options: list[tuple[Case, ...]] = []
    for unit, some in by_unit(pairs).items():
        if some[0][1].value:
            options.append(cases_of(some, shown[unit], EXPONENTS))
        elif any(raw for raw, _ in some):
            return
        else:
            options.append((Case(unit, unit, 0, exact=True),))
    for cases in product(*options):
        rank = sum(3 * abs(c.exponent) + 15 * (not c.exact) + 30 * (c.native != c.unit) for c in cases)
        if messages is None:
            if len({(case.native, case.exponent) for case in cases}) == 1:
                yield {"": cases[0]}, rank + 10 * (len(cases) - 1)
            continue
        by_name = {case.unit: case for case in cases}
        said = {(message.unit, pair[1].unit) for message, pair in zip(messages, pairs, strict=True)}
        if len({text for text, _ in said}) == len(said):
            named = all(spelled_unit(text) == by_name[unit].native for text, unit in said)
            yield {text: by_name[unit] for text, unit in sorted(said)}, rank + 10 * (not named)


def _pattern(messages: Sequence[Message], says: bool) -> str:
    """Return the pattern of a profile that all these messages have."""
    before = _side([message.before.rstrip(" ") for message in messages])
    after = _side([message.after for message in messages])
    between = _side([message.between for message in messages])
    return f"{before}{{number}}{between}{'{unit}' if says else ''}{after}"


def _side(texts: Sequence[str]) -> str:
    if len(set(texts)) == 1:
        return texts[0]
    solid = [[token for token in _TOKEN.findall(text) if not token.isspace()] for text in texts]
    spaced = any(" " in text for text in texts)
    if len({len(tokens) for tokens in solid}) != 1:
        return "{space}"
    parts = [tokens[0] if len(set(tokens)) == 1 else _place(tokens[0]) for tokens in zip(*solid, strict=True)]
    gap = "{space}" if spaced else ""
    return gap.join(["", *parts, ""]) if spaced else "".join(parts)


def _place(token: str) -> str:
    return "{digits}" if token.isdecimal() else "{word}"
