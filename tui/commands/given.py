"""What the calculators are given as text, made exact: amounts in one unit, flats; a refusal names its option."""

import contextlib
import re
from collections.abc import Iterator
from fractions import Fraction

from logger.errors import BadInput
from logger.units import Limits, Quantity, check_window, factor, in_unit, parse_quantity

_FLATS = re.compile(r"[+-]?[0-9]{1,3}(\.[0-9]{1,6}|/[1-9][0-9]?)?")


@contextlib.contextmanager
def named(flag: str) -> Iterator[None]:
    """Put the option's name before what is wrong with its value, in any BadInput from within."""
    try:
        yield
    except BadInput as error:
        raise BadInput(f"{flag}: {error.message}", error.remedy) from error


@contextlib.contextmanager
def told() -> Iterator[None]:
    """Tell as BadInput what the geometry refuses; its messages read "what is wrong: what to do"."""
    try:
        yield
    except ValueError as error:
        what, _, remedy = str(error).partition(": ")
        raise BadInput(f"{what[:1].upper()}{what[1:]}.", f"{remedy[:1].upper()}{remedy[1:]}.") from error


def quantity(flag: str, text: str) -> Quantity:
    """Read one quantity with its unit; BadInput names the option."""
    with named(flag):
        return parse_quantity(text)


def amount(flag: str, text: str, unit: str) -> Fraction:
    """Read a quantity exactly into `unit`; BadInput where it is none or of another kind."""
    with named(flag):
        found = parse_quantity(text)
        return Fraction(found.value) * factor(found.unit, unit)


def at_least_zero(flag: str, text: str, unit: str) -> Fraction:
    """Read what cannot be below zero, exactly, in `unit`; BadInput when it is."""
    found = amount(flag, text, unit)
    if found < 0:
        raise BadInput(f"{flag} {text} is below zero.", "Write how large it is, without a sign.")
    return found


def above_zero(flag: str, text: str, unit: str) -> Fraction:
    """Read what must be above zero, exactly, in `unit`; BadInput when it is not."""
    found = amount(flag, text, unit)
    if found <= 0:
        raise BadInput(f"{flag} {text} is not above zero.", "Measure it again, or look it up.")
    return found


def window(flag: str, texts: tuple[str, str], unit: str) -> Limits:
    """Read the lowest and the highest value that pass, in `unit`; BadInput when they are upside down."""
    with named(flag):
        return in_unit(check_window(*(parse_quantity(text) for text in texts)), unit)


def flats(flag: str, text: str) -> Fraction:
    """Read a number of flats, such as 2, -0.5 or 1/2, exactly; BadInput for anything else."""
    if _FLATS.fullmatch(text.strip()) is None:
        raise BadInput(
            f"{flag}: {text!r} is not a number of flats.", "Write it such as 2, -0.5 or 1/2; positive tightens."
        )
    return Fraction(text.strip())


def within(flag: str, count: int, least: int, most: int) -> int:
    """Return a count that lies within bounds; BadInput otherwise."""
    if not least <= count <= most:
        raise BadInput(f"{flag} {count} is out of range.", f"Give a whole number from {least} to {most}.")
    return count


def both_or_none(args: object, first: str, second: str, why: str) -> bool:
    """Return whether a pair of options was given; BadInput when one of them is missing."""
    absent = [flag for flag in (first, second) if value_of(args, flag) is None]
    if len(absent) == 1:
        other = second if absent == [first] else first
        raise BadInput(f"{other} was given without {absent[0]}.", why)
    return not absent


def value_of(args: object, flag: str) -> object:
    """Return what was given for an option, None where it was not."""
    return getattr(args, flag.lstrip("-").replace("-", "_"))
