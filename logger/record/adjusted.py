"""What a record says of the work on the machine: the drive, rounds of adjustment, turns, wear and other acts."""

from typing import Literal

from logger.confined import Confined
from logger.events import Figures


class DrivePart(Confined):
    """What the adjustment goes by, in mm: the window and the aim of the slack, how far the sides may differ."""

    slack: str
    slack_title: str
    governs: str
    """The place that the rounds follow; empty where there is one only."""
    low_mm: str | None
    high_mm: str | None
    aim_mm: str | None
    sides: str
    sides_title: str
    agree_mm: str | None


class RoundPart(Confined):
    """What was read in one round of adjustment, in mm, each with its standard uncertainty; None where nothing was."""

    after: int
    """How many turnings came before: 0 is as found."""
    tight: bool
    """Whether the nut was tightened by then."""
    slack: str | None
    slack_u: str | None
    difference: str | None
    """Left minus right."""
    difference_u: str | None


class TurnPart(Confined):
    """One turning of the adjusters, in flats, positive tightens; what was read before and expected after, in mm."""

    seq: int
    utc: str
    step: str
    left: str
    right: str
    advised_left: str | None
    advised_right: str | None
    before: Figures | None
    expected: Figures | None


class WearPart(Confined):
    """What a wear check says of the chain; shares as decimal text, 0.01 is 1 %."""

    step: str
    pitches: int
    pitch_mm: str
    length_mm: str
    elongation: str
    limit: str | None


class ActPart(Confined):
    """Something else a person did or confirmed: `what` is the tag of its event."""

    seq: int
    utc: str
    what: Literal["loosened", "seated", "confirmed", "untouched"]
    names: tuple[str, ...]
    items: tuple[str, ...]
