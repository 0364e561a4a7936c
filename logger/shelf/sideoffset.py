"""A machine's proven left-right difference: taken from text, and remembered from its last job."""

from pathlib import Path

from logger import events as ev
from logger.errors import BadInput
from logger.trail.file import is_there
from logger.trail.read import read
from logger.units import parse_quantity

HOW = "Give its value, its standard uncertainty and how it was proven: --side-offset VALUE U HOW."


def side_offset_of(value: str, u: str, how: str) -> ev.SideOffset:
    """Return a proven difference, left minus right reading with the axle square; BadInput where it says nothing."""
    for text, least in ((value, None), (u, 0)):
        amount = parse_quantity(text)
        if amount.kind != "length":
            raise BadInput(f"A side offset of {amount} is no length.", HOW)
        if least is not None and amount.value < least:
            raise BadInput(f"An uncertainty of {amount} is negative.", HOW)
    if not how.strip():
        raise BadInput("A side offset counts only when it was proven.", HOW)
    return ev.SideOffset(value=value, u=u, how=how.strip())


def last_side_offset(path: Path, machine: str) -> ev.SideOffset | None:
    """Return what the newest job of a machine on a trail allowed for, or None."""
    found: ev.SideOffset | None = None
    for stored in read(path) if is_there(path) else ():
        if b'"job_opened"' in stored.bytes:  # most rows are not, and are not worth parsing
            event = ev.Record.model_validate_json(stored.bytes).event
            if isinstance(event, ev.JobOpened) and event.machine == machine:
                found = event.side_offset
    return found
