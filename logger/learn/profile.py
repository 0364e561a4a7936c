"""What was learned -> a profile: its TOML, with every frame kept as a test vector; and a fit told in a sentence."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from drivers.decode.check import broken, hear
from drivers.profile.fields import quantity_of
from drivers.profile.profile import MAX_LINES, MAX_PROFILE_OCTETS, MAX_VECTORS, ProfileError, ToolProfile, parse_profile
from drivers.profile.values import NumberValue
from logger.errors import BadInput

from .capture import Seen
from .kind import BATTERY, FEW, changed_bits, drifting, is_counter
from .learn import Fit, Lesson
from .number import NumberGuess
from .rivals import others_of, telling
from .scale import Case
from .text import TextGuess

Table = dict[str, object]
LINES_OF_VECTOR = 5
NAMED = 4
"""Other ways of reading that are named to a person."""


def describe(fit: Fit) -> str:
    """Return a fit as a sentence: form, place, scale, unit, and on how many readings it rests."""
    guess = fit.guess
    what = _number_words(guess) if isinstance(guess, NumberGuess) else _text_words(guess)
    scales = list(dict.fromkeys(_scale_words(case) for case in guess.cases.values()))
    words = f"{what}, {' or '.join(scales)}"
    if fit.alike:
        ways = "1 other way of reading is" if len(fit.alike) == 1 else f"{len(fit.alike)} other ways of reading are"
        words += f"; {ways} alike on every frame seen"
    if fit.known <= 2:
        words += f"; fits {fit.known} different readings only: confirm it with another one"
    return words + "."


def doubts(fit: Fit) -> Iterator[str]:
    """Yield, for a person, the ways of reading that are alike so far, and what would tell them apart."""
    ways = [each for each in fit.alike if isinstance(each, NumberGuess)]
    if not ways:
        return
    for each in ways[:NAMED]:
        yield f"or: {_number_words(each)}"
    if len(ways) > NAMED:
        yield f"and {len(ways) - NAMED} more"
    yield f"A profile gives a reading only where these agree. To tell them apart, {telling(fit.guess, ways)}."


_FORMS = {
    "unsigned": "unsigned integer",
    "signed": "signed integer",
    "sign-magnitude": "sign-magnitude integer",
    "bcd": "binary-coded decimal",
    "float": "binary float",
    "medical": "medical float",
}


def _number_words(guess: NumberGuess) -> str:
    value = guess.value
    words = f"{value.width}-bit {_FORMS[value.form]}"
    words += f", {value.order}-endian" if value.width > 8 else ""
    words += f", at octet {value.offset}"
    words += f", mask 0x{value.mask:X}" if value.mask is not None else ""
    if value.sign is not None:
        words += f", negative where octet {value.sign.at} & 0x{value.sign.mask:02X} is 0x{value.sign.equals:02X}"
    if guess.mask:
        codes = ", ".join(f"0x{code:02X} {case.unit}" for code, case in guess.cases.items())
        words += f", unit in octet {guess.at} & 0x{guess.mask:02X} ({codes})"
    return words


def _text_words(guess: TextGuess) -> str:
    mark = {".": "decimal point", ",": "decimal comma", "none": "no decimal mark"}[guess.mark]
    return f"text {guess.pattern!r}, {mark}"


def _scale_words(case: Case) -> str:
    words = f"x 10^{case.exponent} {case.native}" if case.exponent else case.native
    words += f" shown as {case.unit}" if case.native != case.unit else ""
    return words + ("" if case.exact else ", rounded by the display")


# --- the profile ----------------------------------------------------------------------------------------------------


def profile_text(lesson: Lesson, fit: Fit, name: str = "learned-tool", advertised: str = "") -> str:
    """Return the TOML of a profile that reads every measurement as learned; BadInput when it could not.

    What was not seen to change is held fixed, so that a bit whose meaning is not known gives no reading.
    """
    value = _value_table(lesson, fit)
    case = next(iter(fit.guess.cases.values()))
    torque = quantity_of(case.native) == "torque"
    top: Table = {
        "profile": name,
        "about": f"Learned from {fit.known} readings: {describe(fit)}"[:300],
        "kind": "torque wrench" if torque else "caliper",
    }
    display = lesson.shown.get(case.unit)
    if display is not None:
        top["resolution"] = f"{Decimal(1).scaleb(-display.digits):f} {case.unit}"
    tables: dict[str, Table] = {"recognise": {"name": f"^{re.escape(advertised)}"}} if advertised else {}
    value = {"role": "peak" if torque else "reading"} | value
    value |= _agreed(lesson, fit, _parsed(_toml(top, tables, value)))
    bare = _toml(top, tables, value)
    room = (MAX_PROFILE_OCTETS - len(bare.encode()), (MAX_LINES - bare.count("\n")) // LINES_OF_VECTOR)
    vectors = _vectors(lesson, fit, _parsed(bare), room)
    text = bare + "".join(vectors)
    faults = broken(_parsed(text))
    if faults:
        raise BadInput(f"The profile would not read every frame: {faults[0]}.", "Add a reading and learn again.")
    return text


def _parsed(text: str) -> ToolProfile:
    try:
        return parse_profile(text, "The learned profile")
    except ProfileError as error:
        raise BadInput(f"What was learned does not make a profile: {error}", "Write one by hand.") from None


def _value_table(lesson: Lesson, fit: Fit) -> Table:
    match fit.guess:
        case NumberGuess() as guess:
            return _number_table(lesson, fit, guess)
        case TextGuess() as guess:
            return _text_table(lesson, fit, guess)


def _number_table(lesson: Lesson, fit: Fit, guess: NumberGuess) -> Table:
    value = guess.value
    found: Table = {
        "decode": "number",
        "characteristic": fit.uuid(lesson.frames),
        "form": value.form,
        "offset": value.offset,
        "width": value.width,
        "order": value.order,
    }
    if value.mask is not None:
        found["mask"] = value.mask
    if value.sign is not None:
        found["sign"] = value.sign.model_dump()
    cases = list(guess.cases.items())
    found["exponent"] = cases[0][1].exponent
    if guess.mask:
        codes = [{"equals": code, "unit": case.native, "exponent": case.exponent} for code, case in cases]
        found["units"] = {"at": guess.at, "mask": guess.mask, "cases": codes}
    else:
        found["unit"] = cases[0][1].native
    return found | _surroundings(lesson, fit, guess)


def _surroundings(lesson: Lesson, fit: Fit, guess: NumberGuess) -> Table:
    """Return lengths, header, fixed bits and counter: what the octets around the number are."""
    measured = [lesson.frames[place] for place in sorted(fit.readings)]
    uuid = fit.uuid(lesson.frames)
    others = [each.octets for i, each in enumerate(lesson.frames) if each.uuid == uuid and i not in fit.readings]
    lengths = sorted({len(each.octets) for each in measured})
    found: Table = {"lengths": lengths[:16]}
    header, fixed = [], []
    for at in range(lengths[0]):
        bits, kind = _octet(at, guess, measured, others)
        if kind == "header":
            header.append(bits)
        elif kind == "counter" and "counter" not in found:
            found["counter"] = {"at": at}
        elif bits["mask"]:
            fixed.append(bits)
    return found | ({"header": header} if header else {}) | ({"fixed": fixed} if fixed else {})


def _agreed(lesson: Lesson, fit: Fit, profile: ToolProfile) -> Table:
    """Return the other ways of reading that no frame has ruled out, as the profile names them."""
    (value,) = profile.values
    if not isinstance(value, NumberValue):
        return {}
    seen = [lesson.frames[place] for place in sorted(fit.readings)]
    seen.sort(key=lambda each: each.shown is None)
    others = others_of(value, fit.alike, [each.octets for each in seen])
    return {"agree": [each.model_dump(exclude_defaults=True) for each in others]} if others else {}


Masked = dict[str, int]


def _octet(at: int, guess: NumberGuess, measured: Sequence[Seen], others: Sequence[bytes]) -> tuple[Masked, str]:
    """Return which bits of an octet are held as they were seen, and as what."""
    column = [each.octets[at] for each in measured]
    first = next(each.octets[at] for each in measured if each.shown is not None)
    if at in guess.span:
        mask = _unseen_in_number(at, guess, column)
        return _bits(at, mask, first), "number"
    known = changed_bits([each.octets for each in measured if each.shown is not None], at)
    changed = changed_bits([each.octets for each in measured], at)
    if not changed and at < guess.value.offset and any(at < len(o) and o[at] != column[0] for o in others):
        return _bits(at, 0xFF, first), "header"
    if is_counter(column):
        return _bits(at, 0, first), "counter"
    if _free(at, column, changed):
        return _bits(at, 0, first), "free"
    own = guess.mask if guess.mask and at == guess.at else 0
    own |= guess.value.sign.mask if guess.value.sign is not None and at == guess.value.sign.at else 0
    return _bits(at, 0xFF & ~known & ~own, first), "fixed"


def _free(at: int, column: Sequence[int], changed: int) -> bool:
    """Whether an octet counts, checks, or tells of a battery, so that any value of it may come."""
    if not changed:
        return at > 0 and column[0] in BATTERY[19:] and column[0].bit_count() > 2  # as a battery that did not fall
    return changed.bit_count() > 2 or len(set(column)) > FEW or drifting(column, beside_changing=False)


def _unseen_in_number(at: int, guess: NumberGuess, column: Sequence[int]) -> int:
    """Return the top bit of a whole number where it was never set: whether it is a sign is not known."""
    value = guess.value
    top = value.offset if value.order == "big" or value.width == 8 else value.offset + value.width // 8 - 1
    if at != top or value.form in {"float", "medical"} or value.mask is not None:
        return 0
    return 0 if any(octet & 0x80 for octet in column) else 0x80


def _bits(at: int, mask: int, octet: int) -> Masked:
    return {"at": at, "mask": mask, "equals": octet & mask}


def _text_table(lesson: Lesson, fit: Fit, guess: TextGuess) -> Table:
    found: Table = {
        "decode": "text",
        "characteristic": fit.uuid(lesson.frames),
        "pattern": guess.pattern,
        "mark": guess.mark,
        "terminator": guess.terminator,
    }
    case = next(iter(guess.cases.values()))
    found["exponent"] = case.exponent
    if "" in guess.cases:
        return found | {"unit": case.native}
    messages = (guess.message(lesson.frames[place].octets) for place in fit.readings)
    said = dict.fromkeys(message.unit for message in messages if message is not None)
    cases = {unit: guess.case_of(unit) for unit in said}
    return found | {
        "units": [{"equals": unit, "unit": c.native, "exponent": c.exponent} for unit, c in cases.items() if c]
    }


def _vectors(lesson: Lesson, fit: Fit, profile: ToolProfile, room: tuple[int, int]) -> Iterator[str]:
    """Yield each different frame as a vector, the known ones first, while there is room; each is tried all the same."""
    uuid, (octets, count) = fit.uuid(lesson.frames), room
    places = [i for i, each in enumerate(lesson.frames) if each.uuid == uuid]
    places.sort(key=lambda i: (lesson.frames[i].shown is None, i))
    order = {place: i for i, place in enumerate(places)}
    frames = {lesson.frames[i].octets: i for i in reversed(places)}
    for number, place in enumerate(sorted(frames.values(), key=order.__getitem__)):
        text = _vector(lesson.frames[place], place, fit, profile)
        octets -= len(text.encode())
        if octets >= 0 and number < min(count, MAX_VECTORS):
            yield text


def _vector(seen: Seen, place: int, fit: Fit, profile: ToolProfile) -> str:
    (heard,) = hear(profile, seen.octets)
    vector: Table = {"hex": seen.octets.hex()}
    if heard.said is None:
        vector["aside" if heard.aside else "undecided"] = True
        if seen.shown is not None:
            raise BadInput(f"Line {seen.line} would not be read: {heard.reason}", "Add a reading and learn again.")
    else:
        vector["shown"] = str(heard.said)
        display = fit.readings.get(place)
        if display is None or heard.again != seen.octets:
            raise BadInput(f"Line {seen.line} would be read as {heard.said}.", "Add a reading and learn again.")
        if seen.shown is not None and display != vector["shown"]:
            vector["display"] = display
    return "\n[[vector]]\n" + "".join(f"{key} = {_said(value)}\n" for key, value in vector.items())


# --- TOML -----------------------------------------------------------------------------------------------------------


def _toml(top: Table, tables: Mapping[str, Table], value: Table) -> str:
    lines = [f"{key} = {_said(each)}" for key, each in top.items()]
    for name, table in tables.items():
        lines += ["", f"[{name}]", *(f"{key} = {_said(each)}" for key, each in table.items())]
    lines += ["", "[[values]]", *(f"{key} = {_said(each)}" for key, each in value.items())]
    return "\n".join(lines) + "\n"


def _bits_said(key: str, value: object) -> str:
    return f"0x{value:02X}" if key in {"mask", "equals"} and isinstance(value, int) else _said(value)


def _said(value: object) -> str:
    """Return a value as TOML: text is quoted as in JSON, whose escapes are TOML's too."""
    match value:
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case str():
            return json.dumps(value, ensure_ascii=False)
        case dict():
            return "{ " + ", ".join(f"{key} = {_bits_said(key, each)}" for key, each in value.items()) + " }"
        case list() | tuple():
            items = [_said(each) for each in value]
            if sum(map(len, items)) < 80:
                return "[" + ", ".join(items) + "]"
            return "[\n" + "".join(f"    {item},\n" for item in items) + "]"
        case _:
            raise TypeError(f"{value!r} is nothing that a profile holds")
