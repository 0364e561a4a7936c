"""A typed line becomes a reading: as the tool that was named types it, else by the one strict grammar; pure."""

from collections.abc import Callable

from drivers.profile.values import TypedValue
from drivers.reading import Stamp, ToolReading
from drivers.typed import TypedError, read_typed, read_typed_by
from logger.job.facts import Job
from logger.job.picked import types_at
from logger.units import unit_of

TypedBy = Callable[[str], TypedValue | None]
"""A tool -> how it types its readings, where it acts as a keyboard and has a profile that says so."""


def no_keyboard(_tool: str) -> TypedValue | None:
    """Know no tool that types."""
    return None


def read_line(
    job: Job, typed_by: TypedBy, line: str, at: Stamp, key_gap_ms: int | None = None, *, step: str = ""
) -> ToolReading:
    """Read one typed line, at a step; TypedError says why it is no reading.

    The tool that typed readings come from may act as a keyboard: its lines are read as its profile says and never
    otherwise, since a line that lost a key may still look like a number. What measures something else is a person's.
    """
    said = types_at(job, step)
    value = None if said is None else typed_by(said.tool)
    if said is None or value is None:
        return read_typed(line, at, unit_of, key_gap_ms)
    try:
        return read_typed_by(value, line, at, key_gap_ms)
    except TypedError as error:
        by_hand = _by_hand(line, at, key_gap_ms)
        if by_hand is not None and by_hand.quantity != value.quantity:
            return by_hand
        raise TypedError(f"{error} It is read as {said.tool} types it; to type by hand say: with off") from None


def _by_hand(line: str, at: Stamp, key_gap_ms: int | None) -> ToolReading | None:
    try:
        return read_typed(line, at, unit_of, key_gap_ms)
    except TypedError:
        return None
