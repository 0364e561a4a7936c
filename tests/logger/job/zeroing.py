"""The small sheet with zero checks in it."""

from tests.logger.walk import SMALL

ZERO = """
[[step]]
id = "{id}"
kind = "zero"
title = "{title}"
tools = ["caliper"]
ask = "Close the jaws and read."
reference = "{reference}"
within = "0.02 mm"
"""


def zero_step(step: str, title: str = "Caliper at zero", reference: str = "0 mm", more: str = "") -> str:
    return ZERO.format(id=step, title=title, reference=reference) + more


def zeroed_sheet(*, start: bool = True, end: bool = False, every: int = 0, reference: str = "0 mm") -> str:
    """The small sheet with a zero check before the measuring, one at its end, or both."""
    text = SMALL
    if start:
        due = f"every = {every}\n" if every else ""
        text = text.replace(
            '[[step]]\nid = "gap"', zero_step("zero", reference=reference, more=due) + '[[step]]\nid = "gap"'
        )
    return text + zero_step("last_zero", "Caliper at zero, at the end") if end else text
