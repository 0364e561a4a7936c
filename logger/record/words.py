"""How the figures of a record read on a page: windows, chances, uncertainties, times, and hidden characters."""

import json
import unicodedata
from decimal import Decimal

from logger.bench.replay import local_time
from logger.job.verdictwords import short as _short

from .checked import CheckPart

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def visible(text: str) -> str:
    """Return text whose characters can all be seen; the others, a newline too, stand as escapes such as \\u202e."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(each if unicodedata.category(each) not in _HIDDEN else json.dumps(each)[1:-1] for each in text)


def must(check: CheckPart) -> str:
    """Return what a check asks for: its window, what a zero check has to read, or how far the sides may differ."""
    if check.within is not None:
        return f"{check.aim} ± {check.within}"
    if check.agree_within is not None:
        return f"within {check.agree_within}"
    if check.window is None:
        return "–"
    low, high = check.window
    return f"{low} to {high}"


def chance(stored: str) -> str:
    """Return a probability as a person reads it; never a certainty that is not one; a dash for none."""
    if not stored:
        return "–"
    share = Decimal(stored)
    if share > Decimal("0.999"):
        return "over 99.9 %"
    return "under 0.1 %" if share < Decimal("0.001") else f"{share * 100:.1f} %"


def short(stored: str) -> str:
    """Return an uncertainty with two digits."""
    return _short(float(stored))


def sentence(text: str) -> str:
    """Return text that begins with a capital and ends with a full stop."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""


def clock(utc: str, offset: str) -> str:
    """Return the time of day of an instant where the job was, to the second."""
    return local_time(utc, offset)[11:19]
