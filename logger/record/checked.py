"""What a record says of a check: how it stands, what its value is worth, who let it pass."""

from logger.confined import Confined
from logger.events import Verdict


class Standing(Confined):
    """A check at one time: its verdict, and the value it rested on, in digits as received and their unit."""

    verdict: Verdict
    value: str
    unit: str


class WorthPart(Confined):
    """What the value of a check is worth and how it was decided; figures in the unit of the value, as decimal text."""

    u: str
    """Combined standard uncertainty."""
    expanded: str
    """U = k u."""
    chance_inside: str
    """Probability, 0 to 1, that the truth lies inside the window; empty where nothing is known of the uncertainty."""
    acceptance: tuple[str | None, str | None] | None
    """The window drawn in by the guard band, limits included; None when nothing is left of it."""
    guard: str
    assumed: str
    unknown: tuple[str, ...]
    """What nobody stated, and which therefore counts as nothing."""


class OverridePart(Confined):
    """Who let a check pass as it was, why, and when."""

    name: str
    note: str
    was: str
    seq: int
    utc: str


class CheckPart(Confined):
    """One check at the moment of the record."""

    check: str
    title: str
    kind: str
    window: tuple[str, str] | None
    """Lowest and highest value that pass, limits included, as the sheet wrote them; of a zero check, worked out."""
    aim: str | None
    """Of a zero check, what the tool should read."""
    within: str | None
    """Of a zero check, how far from that it may read."""
    agree_within: str | None
    value: str
    unit: str
    margin: str
    """Room left to the nearest limit, with its unit; negative outside, rounded away from zero; empty without one."""
    verdict: Verdict
    reason: str
    warnings: tuple[str, ...]
    worth: WorthPart | None
    attempts: int
    """How many were taken, the one it rests on included."""
    passes: bool
    as_found: Standing | None
    """As it stood before anything on the machine was changed; None where it was not read by then."""
    override: OverridePart | None
    settle: str
    """What would settle it; empty when it passes."""


class LetPassPart(Confined):
    """Every override that was made, also one that ended since; `stands` says whether it holds at the record."""

    seq: int
    utc: str
    check: str
    title: str
    name: str
    note: str
    was: str
    stands: bool
