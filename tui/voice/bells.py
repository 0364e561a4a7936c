"""What a moment sounds like where nothing can speak: a rhythm of the terminal's bell for each kind of news; pure."""

from enum import Enum

from logger import events as ev
from logger.bench.moment import Moment
from logger.job.judged import FAILS
from tui import lines
from tui.glance.alarms import alarming


class Sound(Enum):
    """A kind of news, each with a rhythm of its own."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    WARNING = "warning"
    LOST = "lost"

    @property
    def waits(self) -> tuple[float, ...]:
        """The seconds to wait before each ring after the first."""
        return _RHYTHMS[self]

    @property
    def urgent(self) -> bool:
        """Whether it is an alarm."""
        return self is not Sound.INSIDE


def sound_of(moment: Moment) -> Sound | None:
    """Return what a moment sounds like; None where a person need not look up."""
    match moment.record.event:
        case ev.ToolSeen(link="lost"):
            return Sound.LOST
        case ev.ReadingTaken(set_aside="") | ev.PullTaken(set_aside="") if _of(moment, FAILS):
            return Sound.OUTSIDE
        case _ if alarming(moment):
            return Sound.WARNING
        case ev.ReadingTaken(set_aside="") | ev.PullTaken(set_aside="") if _of(moment, frozenset({"inside"})):
            return Sound.INSIDE
        case _:
            return None


def _of(moment: Moment, words: frozenset[ev.Verdict]) -> bool:
    return any(moment.verdicts[check].verdict in words for check in lines.about(moment))


_RHYTHMS: dict[Sound, tuple[float, ...]] = {
    Sound.INSIDE: (),
    Sound.OUTSIDE: (0.25,),
    Sound.WARNING: (0.25, 0.25),
    Sound.LOST: (0.7, 0.7),
}
"""One ring; two; three; three slowly: far enough apart for terminals that make one ring of several."""
