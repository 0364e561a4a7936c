"""Every table and key of a profile, told to a person: what it means and an example; the README shows it."""

from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple, get_args, get_origin

from pydantic.fields import FieldInfo

from .backlog import Backlog
from .fields import Bits, Counter, ModeCode, ModeField, Strict, UnitCase, UnitCode, UnitField, UnitText
from .profile import Pull, Recognise, ToolProfile, Vector
from .steady import Steady
from .values import DescribedValue, NumberValue, OtherWay, SigValue, TextValue, TypedValue

MODELS: dict[str, tuple[type[Strict], ...]] = {
    "top": (ToolProfile,),
    "recognise": (Recognise,),
    "values": (SigValue, DescribedValue, NumberValue, TextValue, TypedValue),
    "number": (NumberValue,),
    "text": (TextValue, TypedValue),
    "agree": (OtherWay,),
    "bits": (Bits,),
    "counter": (Counter,),
    "units": (UnitField,),
    "case": (UnitCode, UnitText, UnitCase),
    "mode": (ModeField,),
    "mode case": (ModeCode,),
    "pull": (Pull,),
    "steady": (Steady,),
    "backlog": (Backlog,),
    "vector": (Vector,),
}
"""Table -> the models that have its keys; "values" has those that every kind of value has."""

HEADINGS: dict[str, str] = {
    "top": "Top of the file",
    "recognise": "`[recognise]`; where both are given, both must hold",
    "values": "`[[values]]`, every kind",
    "number": '`[[values]]` with `decode = "number"`: a number at an offset of a frame',
    "text": '`[[values]]` with `decode = "text"` or `"typed"`: a number written out',
    "agree": "Each of `agree` of a number",
    "bits": "Bits: `sign`, `header`, `fixed`, `button`, `stored`",
    "counter": "`counter`",
    "units": "`units` of a number",
    "case": "Each of `cases` of `units`; of a text, each of `units`",
    "mode": "`mode`",
    "mode case": "Each of `cases` of `mode`",
    "pull": "`[pull]`",
    "steady": "`[steady]`",
    "backlog": "`[backlog]`",
    "vector": "`[[vector]]`",
}


class Key(NamedTuple):
    """One key of one or more tables."""

    tables: tuple[str, ...]
    name: str
    meaning: str
    example: str
    """As written in a profile, after the key and the equals sign; empty for a table that is explained by itself."""


def _key(tables: str, name: str, meaning: str, example: str) -> Key:
    return Key(tuple(tables.split(", ")), name, meaning, example)


_FEW = 6
"""Words that are listed with a key; of more, such as units, the page tells elsewhere."""
_BOUNDS = ("ge", "le", "lt")
_BELOW = ""
_BIT = "{ at = 2, equals = 1 }"
_TEXT_UNITS = "In place of a fixed unit: what the text at {unit} stands for; another text gives no reading."

KEYS = (
    _key("top", "profile", "Its name: lower-case letters, digits, _ and -.", '"bench-gauge"'),
    _key("top", "about", "What it is, in a sentence.", '"..."'),
    _key("top", "kind", "caliper, depth gauge, tape or torque wrench.", '"caliper"'),
    _key("top", "recognise", "Left out, it recognises no tool by itself.", _BELOW),
    _key("top", "values", "Tables [[values]]: what its characteristics carry.", _BELOW),
    _key("top", "notify_mode", "How BlueZ is asked for notifications: start or acquire.", '"start"'),
    _key("top", "duplicate_ms", "The same frame again within so many milliseconds is a duplicate.", "80"),
    _key("top", "pull", "Table [pull]: when a pull of a torque wrench begins.", _BELOW),
    _key("top", "capture", "What makes a value a reading: button, pedal or steady.", '"button"'),
    _key("top", "steady", 'Table [steady]: what standing still means, with capture "steady".', _BELOW),
    _key("top", "backlog", "Table [backlog]: what becomes of readings taken out of reach.", _BELOW),
    _key("top", "resolution", "The step of its display.", '"0.01 mm"'),
    _key("top", "accuracy", "The largest error that its maker states, as plus or minus.", '"0.02 mm"'),
    _key("top", "sample_rate", "Values of a stream, in Hz.", "100"),
    _key("top", "own_peak", "Whether the tool finds the peak of a pull by itself.", "true"),
    _key("top", "vector", "Tables [[vector]]: frames with what they say; `profile check` runs them.", _BELOW),
    _key("recognise", "service", "A service UUID that it advertises.", '"0x185A"'),
    _key("recognise", "name", "A regular expression searched for in its advertised name.", "'(?i)caliper'"),
    _key("values", "decode", "sig, described (by descriptor 0x2904), number, text or typed (as a keyboard).", '"sig"'),
    _key("values", "characteristic", "Its UUID, short or full; `any` with described, none with typed.", '"0x2C0A"'),
    _key("values", "role", "reading: one value a press; stream: all the time; peak: of a pull.", '"reading"'),
    _key("values", "user_description", "Text of descriptor 0x2901, where two have one UUID.", '"Torque peak"'),
    _key("number, agree", "form", "unsigned, signed, sign-magnitude, bcd, float, medical (SFLOAT, FLOAT).", '"signed"'),
    _key("number, agree", "offset", "Where its first octet is in the frame, the first is 0.", "4"),
    _key("number, agree", "width", "In bits: 8 to 64 in whole octets; float 32 or 64, medical 16 or 32.", "16"),
    _key("number, agree", "order", "Which octet comes first: little the lowest, big the highest.", '"little"'),
    _key("number, agree", "mask", "Which bits of the field are the number, in one piece.", "0x0FFF"),
    _key("number, agree", "sign", "Bits that are so when an unsigned or bcd number is negative.", _BIT),
    _key("number, agree, text", "exponent", "Power of ten that the number is multiplied with.", "-2"),
    _key("number", "factor", "Exact decimal that it is multiplied with besides.", '"0.03125"'),
    _key("number, agree, text", "unit", "The unit, where it is fixed.", '"mm"'),
    _key("number, agree", "units", "In place of a fixed unit: the bits that say it; no other code is read.", _BELOW),
    _key("number", "lengths", "Octets of a frame; another length is another message, set aside.", "[8]"),
    _key("number", "header", "What marks this message; a frame without it is set aside.", f"[{_BIT}]"),
    _key("number", "fixed", "Bits of unknown meaning: where they differ there is no reading.", f"[{_BIT}]"),
    _key("number", "agree", "Other ways to read it; where one says something else there is no reading.", _BELOW),
    _key("number", "button", "Bits that are so in a frame asked for by the button; others are set aside.", _BELOW),
    _key("number", "counter", "Octets that count the frames.", "{ at = 7 }"),
    _key("number", "mode", "The bits that say the mode of the tool.", _BELOW),
    _key("number", "unknown", "The number, before it is scaled, that means not known.", "0x7FFF"),
    _key("text", "pattern", "Text, {number}, {unit}, {space}; {digits}, {word} are ignored.", '"{number} mm"'),
    _key("text", "mark", "The decimal mark: a point, a comma or none; it is never guessed.", '","'),
    _key("text", "picture", "The number's fixed format; + always a sign, - only where negative.", '"+0000.00"'),
    _key("text", "units", _TEXT_UNITS, '[{ equals = "IN", unit = "in" }]'),
    _key("text", "terminator", "What ends a message of several notifications; empty: each is whole.", '"\\r\\n"'),
    _key("bits, counter, units, mode", "at", "Which octet of the frame, the first is 0.", "3"),
    _key("bits, units, mode", "mask", "Which of its bits.", "0x0F"),
    _key("bits, case, mode case", "equals", "What the octet is under the mask, or the text.", "0x01"),
    _key("counter", "octets", "How many octets count.", "2"),
    _key("units, mode", "cases", "What each code stands for.", _BELOW),
    _key("case", "unit", "The unit that is meant.", '"mm"'),
    _key("case", "exponent", "Power of ten in this unit, where it differs.", "-2"),
    _key("mode case", "mode", "What the display or the manual calls it.", '"absolute"'),
    _key("mode case", "reads", "Whether a value in this mode is a reading.", "false"),
    _key("pull", "start", "A torque above this begins a pull.", '"2.00"'),
    _key("pull", "unit", "Its unit.", '"N·m"'),
    _key("steady", "band", "Between the lowest and the highest value while it stands, at most.", '"0.02 mm"'),
    _key("steady", "for_ms", "How long it stands, in milliseconds.", "600"),
    _key("steady", "away", "How far it moves before it can be read again.", '"0.20 mm"'),
    _key("backlog", "kept", "Whether the tool keeps readings taken out of reach.", "true"),
    _key("backlog", "stored", "Bits that are so in a frame from its memory.", "{ at = 3, equals = 1 }"),
    _key("backlog", "settle_ms", "What comes this soon after it was ready comes from its memory.", "0"),
    _key("backlog", "press_ms", "What follows an old reading sooner than this is old too.", "150"),
    _key("vector", "hex", "The octets of the frame, or of a whole message.", '"e10b"'),
    _key("vector", "characteristic", "On which characteristic, where the profile has several.", '"0x2C0A"'),
    _key("vector", "shown", "What it says.", '"30.41 mm"'),
    _key("vector", "display", "What the display showed, where that differs.", '"1.1972 in"'),
    _key("vector", "aside", "It is another kind of message.", "true"),
    _key("vector", "undecided", "It gives no reading, because something of it is not known.", "true"),
)  # fmt: skip


def required(table: str, name: str) -> bool:
    """Whether this key must be given in a table; in one of several kinds, where any kind must have it."""
    fields = [model.model_fields[name] for model in MODELS[table] if name in model.model_fields]
    return any(field.is_required() for field in fields)


def as_markdown() -> str:
    """Return every table and key as Markdown, as the README shows them."""
    return "\n".join(_markdown_lines()) + "\n"


def _markdown_lines() -> Iterator[str]:
    for table, heading in HEADINGS.items():
        yield from (f"**{heading}**", "", "| key | must | meaning | what may stand there | example |", "|---" * 5 + "|")
        for key in KEYS:
            if table in key.tables:
                must = "yes" if required(table, key.name) else ""
                example = f"`{key.example}`" if key.example else "see below"
                yield f"| `{key.name}` | {must} | {key.meaning} | {allowed(table, key.name)} | {example} |"
        yield ""


def allowed(table: str, name: str) -> str:
    """Return the words or the range of numbers that a key takes, and what is taken where it is left out."""
    fields = [model.model_fields[name] for model in MODELS[table] if name in model.model_fields]
    field, words = fields[0], [list(_words(each.annotation)) for each in fields]
    limits = [_limits(each.metadata, each.annotation) for each in fields]
    if all(words):
        known = dict.fromkeys(word for each in words for word in each)
        said = _or(known) if len(known) <= _FEW else ""
    else:
        said = _or(dict.fromkeys(each or "text" for each in limits)) if any(limits) else ""
    match field.default:
        case bool() as usual:
            left_out = str(usual).lower()
        case int(usual):
            left_out = str(usual)
        case str(usual) if usual:
            left_out = f'"{usual}"'
        case _:
            return said
    return f"{said}; left out: {left_out}" if said else f"left out: {left_out}"


def _or(parts: Iterable[str]) -> str:
    *most, last = ("", *parts)
    return f"{', '.join(most[1:])} or {last}" if most[1:] else last


def _words(kind: object) -> Iterator[str]:
    if kind is bool:
        yield from ("true", "false")
    elif get_origin(kind) is Literal:
        yield from (f'"{word}"' for word in get_args(kind))
    else:
        for part in get_args(kind):
            yield from _words(part)


def _limits(metadata: Iterable[object], kind: object) -> str:
    """Return the range of a number, of a field or, where it may be left out, of the kind within."""
    known = list(metadata)
    low, high, below = (
        next((getattr(each, bound) for each in known if hasattr(each, bound)), None) for bound in _BOUNDS
    )
    if isinstance(low, int) and isinstance(high, int):
        return f"{low} to {high}"
    if isinstance(low, int) and isinstance(below, int):
        return f"{low} to {below - 1}"
    within = (each for part in get_args(kind) for each in getattr(part, "__metadata__", ()))
    nested = [each for info in within if isinstance(info, FieldInfo) for each in info.metadata]
    return _limits(nested, None) if nested else ""
