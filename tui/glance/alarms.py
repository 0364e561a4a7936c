"""What a person has to hear of at once, whatever they look at; pure, and owns no rule."""

from logger import events as ev
from logger.bench.moment import Moment
from logger.job.judged import LOUD
from tui import lines

from .pulling import is_re_hit


def alarming(moment: Moment) -> bool:
    """Whether the event is one to be warned of: out of a window, uneven, unsteady, a re-hit, not counted, a tool lost.

    A reading that fails is told each time, not only when it changed the verdict.
    """
    match moment.record.event:
        case ev.ReadingTaken() | ev.PullTaken() as event if event.set_aside:
            return True
        case ev.PullTaken(invalid=invalid) if invalid:
            return True
        case ev.ToolSeen(link=link):
            return link == "lost"
        case ev.Suspected() | ev.CloseRefused() | ev.FaultTold():
            return True
        case _:
            return _fails(moment)


def banner(event: ev.Event) -> str:
    """Return what stands as a banner until it is taken away: a fault of the program or the radio; else empty text."""
    match event:
        case ev.FaultTold(said=said):
            return said
        case ev.ToolSeen(tool_kind="radio", link="lost", message=message):
            return message
        case _:
            return ""


def _fails(moment: Moment) -> bool:
    mine = lines.about(moment)
    loud = any(moment.verdicts[check].verdict in LOUD for check in mine)
    return loud or any(is_re_hit(moment, check) for check in mine)
