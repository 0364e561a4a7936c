"""What events are made of: the words of a verdict, and the small values that several events carry.

A part is stored inside its event, so what `events` says of decimals and instants holds here too.
"""

from typing import Literal

from pydantic import Field

from .confined import Confined, Digits, Id, Line

Verdict = Literal[
    "overridden",
    "waiting",
    "stale",
    "unsteady",
    "low",
    "high",
    "uneven",
    "unsure",
    "inside",
    "done",
]
"""What the rules say of a check now."""

SetAside = Literal[
    "", "unprompted", "look", "duplicate", "wrong tool", "other tool", "wrong unit", "knock", "job closed", "old"
]
"""Why a reading or a pull does not count; empty when it answers a prompt."""


class Slot(Confined):
    """What a reading or pull answers: a step, a place or fastener of it, and the part of a difference."""

    step: Id
    place: str = ""
    part: str = ""
    more: bool = False
    """A further repeat, asked for because the value lies within its uncertainty of a limit."""


class Received(Confined):
    """When the host received it: wall clock (UTC) and monotonic clock in microseconds."""

    utc: str
    mono_us: int


class SideOffset(Confined):
    """A machine's proven difference, left minus right, when its axle is square: lengths as text with their unit."""

    value: str
    u: str
    """Its standard uncertainty."""
    how: Line
    """How and when it was proven."""


class PullFigures(Confined):
    """When a pull begins and ends, as decimal text in N·m and whole milliseconds; None is the program's own figure."""

    start: Digits | None = None
    rest: Digits | None = None
    noise: Digits | None = None
    """Standard deviation at rest, which a click has to stand out from."""
    click_ms: int | None = None
    release_ms: int | None = None
    gap_ms: int | None = None


class Pick(Confined):
    """One tool, and the steps that it was picked for."""

    tool: str
    tool_kind: str
    steps: tuple[Id, ...]


class Adapter(Confined):
    """A torque adapter on the wrench: lengths as text with their unit, degrees from straight out."""

    wrench: str
    extension: str
    angle: int = 0


class Verdicts(Confined):
    """The verdict of one check as it was and as it would be."""

    check: str
    was: Verdict
    now: Verdict


class Figures(Confined):
    """Slack by place and left minus right, in mm, as decimal text: as read before turns, or as expected after."""

    slack: dict[str, Digits] = Field(default_factory=dict)
    difference: Digits | None = None
    taut: tuple[str, ...] = ()
    """Places where the chain is expected to run taut, so that there is no slack to tell."""


class OpenCheck(Confined):
    """A check that keeps the job open, and what would settle it."""

    check: str
    verdict: Verdict
    settle: str
