"""What can be in sight on the job screen: a window, a value, two sides, the advice, a pull; plain values."""

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from logger import events as ev


class Zone(NamedTuple):
    """What passes under a guarded rule; both None where nothing does, one None where that limit is not guarded."""

    low: Fraction | None
    high: Fraction | None


@dataclass(frozen=True, slots=True)
class Bar:
    """A window with a value, all in one unit; the texts are what a person reads at each mark."""

    low: Fraction
    high: Fraction
    low_text: str
    high_text: str
    aim: Fraction | None = None
    aim_text: str = ""
    value: Fraction | None = None
    held: Fraction | None = None
    """The largest value of a pull in progress; the bar then starts at zero and fills up to the value."""
    spread: Fraction | None = None
    """The expanded uncertainty of the value."""
    zone: Zone | None = None

    @property
    def climbs(self) -> bool:
        """Whether this is the bar of a pull in progress."""
        return self.held is not None


@dataclass(frozen=True, slots=True)
class Value:
    """One value with its verdict and its window."""

    title: str
    text: str
    unit: str
    verdict: ev.Verdict | None = None
    """None where there is nothing to judge: half of a difference, or a look."""
    reason: str = ""
    worth: tuple[str, ...] = ()
    """Margin, uncertainty and chance of being inside, what matters most first."""
    beside: str = ""
    """What was expected of it, after an adjustment; with an adapter, what the wrench read."""
    bar: Bar | None = None
    notes: tuple[str, ...] = ()
    """What changes no verdict but should be known, a sentence each."""
    flag: str = ""
    """What else is to be seen beside the verdict, such as a pull on a fastener that was inside already."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two sides and their difference."""

    title: str
    sides: tuple[Value, Value]
    difference: Value


@dataclass(frozen=True, slots=True)
class Turning:
    """How far one adjuster is turned, in words short enough to be big, and as a part of a turn."""

    said: str
    turn: str = ""
    """The same as a part of whole turns, "1/6 turn"."""
    flats: Fraction = Fraction(0)
    way: str = ""
    """"clockwise" or "anticlockwise", as seen from where the sheet says; empty where the sheet does not say."""


@dataclass(frozen=True, slots=True)
class Advice:
    """How far to turn each side, with what goes with it; or why nothing is to be turned."""

    left: Turning | None
    right: Turning | None
    lines: tuple[str, ...]
    flag: str = ""
    """That the last turning did not come out as expected; empty where it did, or where there was none."""
    stop: str = ""
    """What to do instead, in a few words; empty where something is advised."""


@dataclass(frozen=True, slots=True)
class Live:
    """A pull in progress."""

    title: str
    text: str
    held: str
    """The largest value so far."""
    unit: str
    word: str
    verdict: ev.Verdict
    """For its style only: no rule has judged it yet."""
    bar: Bar | None
    warns: bool = False
    """Whether it is past its aim, or was not asked for."""


Shown = Value | Pair | Advice | None
