"""What is known of a job: its readings and attempts, pulls and fasteners, turns and overrides. Plain frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import TypeVar

from logger import events as ev
from logger.sheets.sheet import Sheet

K = TypeVar("K")
V = TypeVar("V")

Place = tuple[str, str]
"""A step and a place or fastener of it; the second is empty where the step has only one."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One counted reading."""

    seq: int
    part: str
    value: Decimal
    text: str
    unit: str
    tool: str
    tool_kind: str
    source: str
    withdrawn: bool = False
    battery: int | None = None
    """The battery of its tool then, in percent, where it told."""
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Attempt:
    """The readings that together make one value: repeats, or the halves of a difference."""

    number: int
    taken: tuple[Taken, ...]

    @property
    def live(self) -> tuple[Taken, ...]:
        """The readings that were not withdrawn."""
        return tuple(each for each in self.taken if not each.withdrawn)

    @property
    def since(self) -> int:
        """Sequence of the oldest live reading; an act after it makes the whole attempt stale."""
        return min((each.seq for each in self.live), default=0)

    @property
    def units(self) -> frozenset[str]:
        """The units of its live readings; more than one and it gives no verdict."""
        return frozenset(each.unit for each in self.live)


@dataclass(frozen=True, slots=True)
class Pull:
    """One clockwise pull on one fastener; `peak` decides, `most` is the largest value seen at any instant.

    Both are None when the pull told no torque that can be judged.
    """

    seq: int
    peak: Decimal | None
    most: Decimal | None
    text: str
    """The peak as it is shown: as received, without zeros that nobody counts."""
    unit: str
    tool: str
    asked: bool
    """Whether a prompt asked for this fastener."""
    invalid: str = ""
    withdrawn: bool = False
    how: str = "measured"
    adapter: ev.Adapter | None = None
    """What was on the wrench; the torques here are as the wrench read them."""
    number: int = 1
    """The pass it was made in."""
    battery: int | None = None
    """The battery of its tool then, in percent, where it told."""
    under_read: Decimal | None = None
    """How far the true peak may lie above `peak`, where that is the largest sample."""
    set_aside: str = ""
    """Why it answers nothing, in the word of its event; empty where it answers."""


@dataclass(frozen=True, slots=True)
class Fastener:
    """What happened to one fastener of a torque step."""

    loosened: int = 0
    """Sequence of the last time a person said that it is loose."""
    undone: int = 0
    """Sequence of the last anticlockwise pull: it may have moved, but nobody said that it is loose."""
    turned: int = 0
    """Sequence of the last turning of the adjusters that this fastener should have been loosened for."""
    untouched: int = 0
    pulls: tuple[Pull, ...] = ()

    @property
    def pulled(self) -> int:
        """Sequence of the last pull, 0 before any."""
        return self.pulls[-1].seq if self.pulls else 0

    @property
    def is_loose(self) -> bool:
        """Loosened, and not pulled since."""
        return self.loosened > self.pulled

    @property
    def since_loose(self) -> tuple[Pull, ...]:
        """The pulls after the last loosening; all of them when nobody loosened it."""
        return tuple(pull for pull in self.pulls if pull.seq > self.loosened)


@dataclass(frozen=True, slots=True)
class Turn:
    """One turning of the adjusters, with what was expected of it."""

    seq: int
    step: str
    left: Decimal
    right: Decimal
    as_advised: bool
    before: ev.Figures | None
    expected: ev.Figures | None


@dataclass(frozen=True, slots=True)
class Override:
    """A check that a person let pass."""

    seq: int
    name: str
    note: str
    was: str


@dataclass(frozen=True, slots=True)
class Basis:
    """What was stale and what was overridden just before something was loosened.

    Loosening makes the readings stale that called for an adjustment; the adjustment is worked out from them all the
    same, as long as nothing was turned, pulled or read since.
    """

    disturbed: Mapping[str, int]
    overrides: Mapping[str, Override]


def _empty() -> Mapping[K, V]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Job:
    """Everything known of one job after its events so far."""

    id: str
    sheet: Sheet
    machine: str
    by: str
    simulated: bool
    opened_utc: str
    seq: int
    """Sequence of the last event folded in."""
    attempts: Mapping[Place, tuple[Attempt, ...]] = field(default_factory=_empty)
    fasteners: Mapping[Place, Fastener] = field(default_factory=_empty)
    confirmed: Mapping[str, int] = field(default_factory=_empty)
    notes: Mapping[str, tuple[int, str]] = field(default_factory=_empty)
    free_notes: tuple[tuple[int, str], ...] = ()
    disturbed: Mapping[str, int] = field(default_factory=_empty)
    """Sequence of the last act that disturbed each step."""
    turns: tuple[Turn, ...] = ()
    seated: Mapping[str, int] = field(default_factory=_empty)
    loosened: int = 0
    """Sequence of the last loosening of anything."""
    basis: Basis | None = None
    """What an adjustment still to come rests on, once something was loosened for it."""
    overrides: Mapping[str, Override] = field(default_factory=_empty)
    last_pulled: Place | None = None
    last_counted: int = 0
    """Sequence of the last reading or pull that counts and was not withdrawn: what `back` takes back."""
    due: tuple[str, ...] = ()
    """What was opened as becoming due."""
    closed: bool = False
    tools: Mapping[str, ev.ToolDescribed] = field(default_factory=_empty)
    """What is stated of each tool that took part."""
    batteries: Mapping[str, int] = field(default_factory=_empty)
    typed_with: ev.ToolDeclared | None = None
    """The tool that typed readings come from, where a person said one."""
    picked: tuple[ev.Pick, ...] = ()
    """The tools that a person picked for this job, where several would do."""
    adapters: Mapping[str, ev.Adapter | None] = field(default_factory=_empty)
    """Adapters declared during the job, by torque step; None where one of the sheet was taken off."""
    suspect: Mapping[int, int] = field(default_factory=_empty)
    """Readings that a failed zero check made suspect, each with the reading that failed the check."""
    side_offset: ev.SideOffset | None = None

    def fastener(self, place: Place) -> Fastener:
        """What happened to one fastener; a fresh one when nothing did."""
        return self.fasteners.get(place, Fastener())

    def is_disturbed(self, step: str, since: int) -> bool:
        """Whether an act disturbed a step after an event, given by its sequence."""
        return self.disturbed.get(step, 0) > since

    def turned(self, step: str) -> int:
        """Sequence of the last turning of an adjust step, 0 before any."""
        return max((turn.seq for turn in self.turns if turn.step == step), default=0)

    def turns_before(self, seq: int) -> int:
        """How many turnings came before an event."""
        return sum(turn.seq < seq for turn in self.turns)

    @property
    def last_turned(self) -> int:
        """Sequence of the last turning of anything, 0 before any."""
        return self.turns[-1].seq if self.turns else 0
