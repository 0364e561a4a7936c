"""Every table and key of a sheet, told to a person: what it means, what may stand there, an example."""

from collections.abc import Iterator
from typing import NamedTuple, get_args

from logger.confined import Confined

from .sheet import (
    AdapterTable,
    AdjustStep,
    ConfirmStep,
    DriveTable,
    Due,
    MeasureStep,
    NoteStep,
    Sheet,
    TorquePass,
    TorqueStep,
    ZeroStep,
)
from .written import ToolKind

MODELS: dict[str, type[Confined]] = {
    "": Sheet,
    "drive": DriveTable,
    "due": Due,
    "confirm": ConfirmStep,
    "note": NoteStep,
    "zero": ZeroStep,
    "measure": MeasureStep,
    "adjust": AdjustStep,
    "torque": TorqueStep,
    "passes": TorquePass,
    "adapter": AdapterTable,
}
"""Table -> model; the six kinds of step each have their own keys, the top of the file has no name."""
STEP_KINDS = ("confirm", "note", "zero", "measure", "adjust", "torque")

_LINE = "text of 1 to 300 characters on one line"
_TITLE = "text of 1 to 60 characters on one line"
_LINES = "a list of lines of text, each in quotes"
_ID = 'lower-case letters, digits, "_" and "-", beginning with a letter, at most 32'
_IDS = "a list of ids of steps"
_LENGTH = "a length as text with its unit"
_LENGTHS = "two quantities of length as text with their units, the lower first"
_TORQUE = "a torque as text with its unit"
_TORQUES = "two quantities of torque as text with their units, the lower first"
_ASK = "How to do it, in one sentence."
_KINDS = "Kinds of tool that will do."
_PASS = "Lowest and highest value that pass, both included."
_GUARD = "Guard band of a guarded decision; left out: the expanded uncertainty."


def _list_of(wrenches: bool) -> str:
    return "a list of " + ", ".join(f'"{kind}"' for kind in get_args(ToolKind) if ("wrench" in kind) is wrenches)


_LENGTH_TOOLS, _WRENCHES = _list_of(wrenches=False), _list_of(wrenches=True)


class Key(NamedTuple):
    """One key of one or more tables."""

    tables: str
    """Names of `MODELS`, separated by blanks; "top" is the top of the file, "step" is every kind of step."""
    name: str
    meaning: str
    allowed: str
    example: str
    """As written in a sheet, after the key and the equals sign; empty for a table that is explained by itself."""


KEYS = (
    Key("top", "format", "Version of this file format.", "the number 1", "1"),
    Key("top", "id", "Name of the sheet on the trail.", _ID, '"courier-chain"'),
    Key("top", "title", "What the sheet is for.", _TITLE, '"Chain and rear axle"'),
    Key("top", "revision", "Which edition of the sheet this is.", _LINE, '"1"'),
    Key("top", "about", "Where the figures come from and what they are for.", _LINE, '"Invented figures ..."'),
    Key(
        "top",
        "decision",
        "Decision rule: `simple` passes what lies inside the window, limits included; `guarded` what surely does.",
        '"simple" or "guarded"',
        '"simple"',
    ),
    Key("top", "kit", "What to lay out before beginning.", _LINES, '["caliper", "torque wrench"]'),
    Key("top", "cautions", "Shown at the start, on the record and on request.", _LINES, '["Engine off, key out."]'),
    Key(
        "top",
        "conditions",
        "Table [conditions]: an id for each state of the machine that a window holds for, and its description.",
        "a table of an id and a line for each condition",
        '{ paddock = "on the rear stand, in neutral" }',
    ),
    Key("top", "drive", "Table [drive]: what the advice needs.", "a table, written [drive]", ""),
    Key("top", "due", "Tables [[due]]: what becomes due later.", "tables, each written [[due]]", ""),
    Key("top", "step", "Tables [[step]]: the steps, in order.", "1 to 64 tables, each written [[step]]", ""),
    Key("drive", "front_teeth", "Teeth of the front sprocket.", "a whole number, 5 to 200", "15"),
    Key("drive", "rear_teeth", "Teeth of the rear sprocket.", "a whole number, 5 to 400", "42"),
    Key("drive", "pitch", "Pitch of the chain; needed with the teeth.", _LENGTH, '"12.7 mm"'),
    Key("drive", "centre", "Distance from sprocket centre to sprocket centre.", _LENGTH, '"540 mm"'),
    Key("drive", "span", "Free length of the measured run; needed where teeth are unknown.", _LENGTH, '"538 mm"'),
    Key("drive", "slack", "The measure step that is the slack.", _ID, '"slack"'),
    Key("drive", "sides", "The measure step that is the axle position left and right.", _ID, '"sides"'),
    Key(
        "drive",
        "slack_is",
        "What slack is: the whole movement, taut down to taut up; from rest to up; or how far the run hangs at rest.",
        '"total", "rest to up" or "sag"',
        '"total"',
    ),
    Key("drive", "off_centre", "How far from the middle of the run the slack is measured.", _LENGTH, '"60 mm"'),
    Key("drive", "thread", "How far one whole turn of an adjuster moves its side.", _LENGTH, '"1.0 mm"'),
    Key("drive", "flats_per_turn", "Flats (or notches) in one turn.", "a whole number, 1 to 24", "6"),
    Key("drive", "adjuster", "How an adjuster works.", '"pulls", "pushes" or "cam"', '"pulls"'),
    Key("drive", "tighten", "Which way tightens, as the person sees it.", _LINE, '"clockwise, seen from behind"'),
    Key("drive", "chain_side", "Side of the chain.", '"left" or "right"', '"left"'),
    Key("drive", "seen_from", "Where left and right are seen from.", _LINE, '"the tail end"'),
    Key("due", "what", "What becomes due.", _LINE, '"Check the slack again"'),
    Key("due", "after", "When it becomes due.", _LINE, '"300 km"'),
    Key("step", "id", "Name of the step, unique in the sheet.", _ID, '"slack"'),
    Key("step", "kind", "Kind of the step.", '"confirm", "note", "zero", "measure", "adjust" or "torque"', '"measure"'),
    Key("step", "title", "What the person reads first; 34 characters can be read afar.", _TITLE, '"Chain slack"'),
    Key("step", "cautions", "Shown with the step, in plain sight.", _LINES, '["Fingers clear of the sprocket."]'),
    Key("confirm", "items", "What to see to, confirmed together.", "a list of 1 to 12 lines", '["Key out"]'),
    Key("confirm", "conditions", "Conditions this step confirms.", "a list of ids of [conditions]", '["paddock"]'),
    Key("confirm", "locks", "Torque steps this step locks (split pin, mark).", _IDS, '["axle_nut"]'),
    Key(
        "confirm",
        "vital",
        "A life hangs on it (lock-out, guard, brake), as on every torque and on what locks one: let pass, "
        "the machine is not to be ridden or run.",
        "true or false",
        "true",
    ),
    Key("note", "ask", _ASK, _LINE, '"Read the odometer."'),
    Key("zero", "ask", _ASK, _LINE, '"Wipe the jaws and close them."'),
    Key("measure", "ask", _ASK, _LINE, '"Push the chain down, then lift it."'),
    Key("torque", "ask", _ASK, _LINE, '"From loose, pull smoothly to the aim."'),
    Key("note", "value", "What is written down.", '"text" or "number"', '"number"'),
    Key("note", "unit", "Unit shown beside a number.", "text of at most 16 characters", '"km"'),
    Key("zero", "tools", _KINDS, _LENGTH_TOOLS, '["caliper"]'),
    Key("measure", "tools", _KINDS, _LENGTH_TOOLS, '["caliper", "tape"]'),
    Key("torque", "tools", _KINDS, _WRENCHES, '["torque wrench"]'),
    Key(
        "zero",
        "reference",
        "What the tool should read: closed jaws zero, a gauge block its size.",
        "a length as text with its unit, zero or more",
        '"0 mm"',
    ),
    Key("zero", "within", "How far from the reference it may read, limits included.", _LENGTH, '"0.02 mm"'),
    Key("zero", "every", "After how many readings the check is wanted again.", "a whole number, 1 to 500", "20"),
    Key("measure", "places", "Where it is taken, in order; none: one reading.", "up to 8 ids", '["left", "right"]'),
    Key("measure", "datum", "What the gauge measures from.", _LINE, '"front end of the axle slot"'),
    Key("measure", "condition", "The condition the window holds for.", "an id of [conditions]", '"paddock"'),
    Key(
        "measure",
        "takes",
        "One reading, or the difference of two.",
        '"value" or "difference"',
        '"difference"',
    ),
    Key("measure", "parts", "The two readings of a difference, in order.", "two lines", '["taut down", "taut up"]'),
    Key("measure", "larger", "Which part of a difference reads larger.", "one of the two parts", '"taut up"'),
    Key("measure", "repeats", "How often each place is read.", "a whole number, 1 to 10", "1"),
    Key("measure", "spread_within", "How far repeats may differ.", _LENGTH, '"0.2 mm"'),
    Key("measure", "window", _PASS, _LENGTHS, '["25 mm", "40 mm"]'),
    Key("torque", "window", _PASS, _TORQUES, '["90 N·m", "106 N·m"]'),
    Key("measure", "aim", "The value to go for.", _LENGTH, '"32 mm"'),
    Key("torque", "aim", "The value to go for.", _TORQUE, '"98 N·m"'),
    Key("measure", "agree_within", "How far the two places may differ.", _LENGTH, '"0.5 mm"'),
    Key("measure", "grows", "Where the axle is when the gauge reads more.", '"rearward" or "forward"', '"rearward"'),
    Key("measure", "governs", "The place that steers the adjustment.", "one of the places", '"tightest"'),
    Key(
        "measure",
        "recheck",
        "Rounds before the torque read every place, or only the governing one.",
        '"all" or "governing"',
        '"governing"',
    ),
    Key(
        "measure",
        "share_of",
        "The length that `window`, `aim` and `plausible` are shares of, where they are written in %.",
        _LENGTH,
        '"1200 mm"',
    ),
    Key(
        "measure",
        "pitches",
        "Makes it a wear check of the chain, over so many pitches of [drive]: one less than pins.",
        "a whole number, 1 to 200",
        "8",
    ),
    Key("measure", "guard", _GUARD, _LENGTH, '"0.5 mm"'),
    Key("torque", "guard", _GUARD, _TORQUE, '"2 N·m"'),
    Key("measure torque", "guarded", "Which limits are guarded.", '"both", "low" or "high"', '"low"'),
    Key(
        "measure torque",
        "allow_coarse",
        "Lets a tool be used whose resolution is more than a quarter of the window.",
        "true or false",
        "true",
    ),
    Key("measure", "method_u", "Standard uncertainty of hands and placement.", _LENGTH, '"0.8 mm"'),
    Key("measure", "plausible", "Values outside are doubted and asked for again.", _LENGTHS, '["5 mm", "90 mm"]'),
    Key("adjust", "corrects", "Measure steps that turning puts right.", _IDS, '["slack", "sides"]'),
    Key("adjust", "disturbs", "Steps that must be taken again after turning.", _IDS, '["slack", "sides", "axle_nut"]'),
    Key(
        "adjust",
        "loosen",
        "What must be loose before turning.",
        "a list of torque steps or of their fasteners",
        '["axle_nut", "lock_nuts.left"]',
    ),
    Key("adjust", "first", "What to do before and while loosening.", _LINES, '["Split pin out."]'),
    Key("adjust", "after", "What to do after turning.", "a list of at least one line", '["Nut snug by hand."]'),
    Key("torque", "fasteners", "In the order they are tightened; none: one.", "up to 16 ids", '["left", "right"]'),
    Key(
        "torque",
        "passes",
        "The passes before the last: each goes over every fastener before the next begins.",
        "up to 4 tables of window and aim",
        '[{ window = ["9 N·m", "11 N·m"], aim = "10 N·m" }]',
    ),
    Key(
        "torque",
        "adapter",
        "An extension or crowfoot on the wrench; window and aim hold at the fastener.",
        "a table of wrench, extension and angle",
        '{ wrench = "300 mm", extension = "50 mm" }',
    ),
    Key(
        "torque",
        "to_slot",
        "Past the aim it goes on to the next slot of a pin, inside the window.",
        "true or false",
        "true",
    ),
    Key("torque", "disturbs", "Steps that must be taken again after a pull.", _IDS, '["slack", "pin"]'),
    Key("passes", "window", "Lowest and highest value of this pass.", _TORQUES, '["9 N·m", "11 N·m"]'),
    Key("passes", "aim", "The value to go for in this pass.", _TORQUE, '"10 N·m"'),
    Key("adapter", "wrench", "From the square drive to the middle of the grip.", _LENGTH, '"300 mm"'),
    Key("adapter", "extension", "From the square drive to the fastener.", _LENGTH, '"50 mm"'),
    Key("adapter", "angle", "Degrees: 0 straight out, 90 square, 180 back.", "a whole number, 0 to 180", "90"),
    Key("torque", "witness", "What to look at when nobody loosened it.", _LINE, '"Paint line unbroken"'),
)


def key_of(table: str, name: str) -> Key | None:
    """Return what is known of a key of a table of `MODELS`; None for a key that table does not have."""
    wanted = {table or "top"} | ({"step"} if table in STEP_KINDS else set())
    return next((key for key in KEYS if key.name == name and wanted & set(key.tables.split())), None)


def required(table: str, name: str) -> bool:
    """Whether a table of `MODELS` must have this key."""
    return MODELS[table].model_fields[name].is_required()


def as_markdown() -> str:
    """Return every table and key as Markdown, as the README shows them."""
    return "\n".join(_markdown_lines()) + "\n"


_HEADINGS = {
    "top": "Top of the file",
    "drive": "`[drive]`",
    "due": "`[[due]]`",
    "step": "`[[step]]`, every kind",
    **{kind: f'`[[step]]` with `kind = "{kind}"`' for kind in STEP_KINDS},
    "passes": "each of `passes` of a torque step",
    "adapter": "`adapter` of a torque step",
}


def _markdown_lines() -> Iterator[str]:
    for table, heading in _HEADINGS.items():
        yield from (f"**{heading}**", "", "| key | must | meaning | what may stand there | example |", "|---" * 5 + "|")
        for key in KEYS:
            if table in key.tables.split():
                model = {"top": "", "step": "confirm"}.get(table, table)
                must = "yes" if required(model, key.name) else ""
                example = f"`{key.example}`" if key.example else "see below"
                yield f"| `{key.name}` | {must} | {key.meaning} | {key.allowed}{_usual(model, key.name)} | {example} |"
        yield ""


def _usual(table: str, name: str) -> str:
    """Return what holds where a key is left out, where that is a word or a number."""
    match MODELS[table].model_fields[name].default:
        case str(word) if word:
            return f'; left out: "{word}"'
        case int(number) if not isinstance(number, bool):
            return f"; left out: {number}"
        case [*words] if words:
            return "; left out: " + " and ".join(f'"{word}"' for word in words)
        case _:
            return ""
