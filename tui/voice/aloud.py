"""Text as it is said aloud: numbers in words, units by their names, and nothing that an engine takes for a command.

Needs num2words, which comes with the extra `voice`.
"""

import re
from decimal import Decimal
from fractions import Fraction

from logger.units import show_number

MOST = 400
"""Characters of one phrase; nobody listens to more."""

_UNITS: dict[str, tuple[str, str]] = {
    "mm": ("millimetre", "millimetres"),
    "µm": ("micrometre", "micrometres"),
    "cm": ("centimetre", "centimetres"),
    "m": ("metre", "metres"),
    "in": ("inch", "inches"),
    "ft": ("foot", "feet"),
    "thou": ("thou", "thou"),
    "N·m": ("newton metre", "newton metres"),
    "cN·m": ("centinewton metre", "centinewton metres"),
    "dN·m": ("decinewton metre", "decinewton metres"),
    "daN·m": ("decanewton metre", "decanewton metres"),
    "N·cm": ("newton centimetre", "newton centimetres"),
    "kgf·m": ("kilogram metre", "kilogram metres"),
    "kgf·cm": ("kilogram centimetre", "kilogram centimetres"),
    "lbf·ft": ("foot pound", "foot pounds"),
    "lbf·in": ("inch pound", "inch pounds"),
    "ozf·in": ("inch ounce", "inch ounces"),
    "km": ("kilometre", "kilometres"),
    "mi": ("mile", "miles"),
    "deg": ("degree", "degrees"),
    "%": ("percent", "percent"),
    "h": ("hour", "hours"),
}
"""One and many of each unit, as a mechanic says them."""

_SIGNS = {"±": " plus or minus ", "≈": " about ", "%": " percent ", "°": " degrees ", "½": " half ", "&": " and "}
_NAMES = "|".join(re.escape(name) for name in sorted(_UNITS, key=len, reverse=True))
_NUMBER = re.compile(
    r"(?<![\w.])(?P<sign>[-+−]?)(?P<number>\d{1,12}(?:\.\d{1,12})?)"
    rf"(?: ?(?P<unit>{_NAMES})(?![\w·]|\s+[a-z]{{2}}))?"
    r"(?![\w.]*\w)"
)
"""A number with its unit. A unit before another word is none: "2 in line" are not two inches."""


def number_aloud(text: str) -> str:
    """Say a decimal number: "-0.60" is "minus zero point six"; what is no number is said as it stands."""
    about, digits = ("about ", text.removeprefix("≈").strip()) if text.startswith("≈") else ("", text)
    found = re.fullmatch(r"([-+−]?)(\d{1,12}(?:\.\d{1,12})?)", digits)
    if found is None:
        return text
    sign = {"": "", "+": "plus "}.get(found[1], "minus ")
    return f"{about}{sign}{_words(found[2])}"


def _words(digits: str) -> str:
    from num2words import num2words  # noqa: PLC0415  (it comes with an extra, and only where something is said)

    value = Decimal(digits)
    whole = value == value.to_integral_value()
    said: str = num2words(int(value) if whole else value.normalize())
    return said.replace(",", "")


def quantity_aloud(text: str, unit: str) -> str:
    """Say a value with its unit: "36.2", "mm" are "thirty-six point two millimetres"; one of it in the singular."""
    said = number_aloud(text)
    one, many = _UNITS.get(unit, (unit, unit))
    return f"{said} {one if said.rpartition(' ')[2] == 'one' and 'point' not in said else many}".strip()


def flats_aloud(count: Fraction) -> str:
    """Say how far a side is turned: "one flat tighter", "one and a half flats looser", "none"."""
    if count == 0:
        return "none"
    whole, part = divmod(abs(count), 1)
    half = part == Fraction(1, 2)
    if part and not half:
        said = f"{number_aloud(show_number(abs(count), 2))} flats"
    elif whole:
        said = f"{_words(str(whole))}{' and a half' if half else ''} flat{'s' if abs(count) > 1 else ''}"
    else:
        said = "half a flat"
    return f"{said} {'tighter' if count > 0 else 'looser'}"


def aloud(text: str) -> str:
    """Say any text: its numbers in words, its signs by their names; what is left is letters and punctuation.

    Brackets and the like go: to an engine they may be a command.
    """
    said = _NUMBER.sub(lambda found: quantity_aloud(found["sign"] + found["number"], found["unit"] or ""), text)
    for sign, name in _SIGNS.items():
        said = said.replace(sign, name)
    said = "".join(character if character.isalnum() or character in ".,:;?!'- " else " " for character in said)
    said = re.sub(r"\s+([.,:;?!])", r"\1", " ".join(said.split()))
    return said.lstrip(" .,:;?!")[:MOST]
