"""The replay screen: the job screen as it was at one event, under its timeline, and beside it what a reviewer asks."""

from collections.abc import Iterable, Sequence
from enum import Enum
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.content import Content
from textual.screen import Screen

from logger import events as ev
from logger.bench.replay import local_time
from tui.entry.actions import LEAVE, MORE, Action
from tui.glance.glance import glance
from tui.lines import cautions, told
from tui.replay.replaying import Beside, Frame, Mark, Player, beside, other_prompt
from tui.replay.traced import Plot, last_pull, plot_of
from tui.replay.turned import Turning, turnings
from tui.widgets.beside import comment_rows, turning_rows, verdict_rows
from tui.widgets.checks import Tools
from tui.widgets.foot import Keys, Said
from tui.widgets.how import How
from tui.widgets.painted import Painted
from tui.widgets.timeline import Timeline
from tui.widgets.top import Head, TooSmall, TopBar
from tui.widgets.trace import plot_rows
from tui.widgets.value import Sight


class View(Enum):
    """What stands beside the screen as it was."""

    FITTING = "What fits"
    VERDICTS = "Verdicts"
    PULL = "Pull"
    TURNINGS = "Adjustments"
    COMMENTS = "Comments"


PLAY = Action("play", "f2", "Play")
BACK = Action("step(-1)", "left", "")
ON = Action("step(1)", "right", "Step")
FASTER = Action("speed(1)", "up", "")
SLOWER = Action("speed(-1)", "down", "Speed")
TO_WARNING = Action("jump('WARNING')", "f3", f"{Mark.WARNING.value} Warning")
TO_TURNING = Action("jump('ADJUSTMENT')", "f4", f"{Mark.ADJUSTMENT.value} Adjustment")
TO_OVERRIDE = Action("jump('OVERRIDE')", "f5", f"{Mark.OVERRIDE.value} Override")
BACK_TO_WARNING = Action("jump('WARNING', True)", "f9", f"‹{Mark.WARNING.value}")
BACK_TO_TURNING = Action("jump('ADJUSTMENT', True)", "f10", f"‹{Mark.ADJUSTMENT.value}")
BACK_TO_OVERRIDE = Action("jump('OVERRIDE', True)", "f11", f"‹{Mark.OVERRIDE.value}")
VIEW = Action("view", "f6", "See")
COMMENT = Action("comment", "f7", "Comment")
SIGN = Action("sign", "f8", "Sign off")
FIRST = Action("go(0)", "home", "")
LAST = Action("go(-1)", "end", "")
MORE_KEYS = Action("more_keys", "f1", MORE.label)
JUMPS = (TO_WARNING, TO_TURNING, TO_OVERRIDE, BACK_TO_WARNING, BACK_TO_TURNING, BACK_TO_OVERRIDE)
KEYS = (PLAY, BACK, ON, FASTER, SLOWER, *JUMPS, VIEW, COMMENT, SIGN)


class Panel(Painted):
    """One view beside the screen as it was."""

    def __init__(self, name: str) -> None:
        super().__init__(id=name)
        self.view = View.VERDICTS
        self._checks: tuple[Beside, ...] = ()
        self._prompt = ""
        self._plot: Plot | None = None
        self._turnings: tuple[Turning, ...] = ()
        self._comments: tuple[tuple[ev.Commented, str], ...] = ()

    def show(self, view: View, frames: Sequence[Frame], at: int, offset: str) -> None:
        """Show a view of one frame."""
        self.view, frame = view, frames[at]
        match view:
            case View.PULL:
                pulled = last_pull(frames, at)
                self._plot = None if pulled is None else plot_of(pulled.moment)
            case View.TURNINGS:
                self._turnings = turnings(frames, at)
            case View.COMMENTS:
                self._comments = _comments(frames, offset)
            case _:
                self._checks, self._prompt = beside(frame), other_prompt(frame)
        self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the view."""
        match self.view:
            case View.PULL:
                return plot_rows(self._plot, width, height)
            case View.TURNINGS:
                return turning_rows(self._turnings, width, height)
            case View.COMMENTS:
                return comment_rows(self._comments, width, height)
            case _:
                return verdict_rows(self._checks, self._prompt, width, height)


def _comments(frames: Sequence[Frame], offset: str) -> tuple[tuple[ev.Commented, str], ...]:
    """Every comment on the job, also those after the event in sight: they are about it, not in it."""
    records = (frame.moment.record for frame in frames)
    return tuple(
        (record.event, local_time(record.utc, offset)[:16])
        for record in records
        if isinstance(record.event, ev.Commented)
    )


def fitting(frame: Frame) -> View:
    """Return the view that belongs to what happened at a frame."""
    match frame.moment.record.event:
        case ev.PullTaken():
            return View.PULL
        case ev.Turned() | ev.Seated():
            return View.TURNINGS
        case ev.Commented():
            return View.COMMENTS
        case _:
            return View.TURNINGS if frame.moment.prompt.kind == "turn" else View.VERDICTS


class ReplayScreen(Screen[None]):
    """Draws frames; every key is an action of the app."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(action.key, f"app.{action.name}", show=False) for action in (*KEYS, FIRST, LAST)),
        Binding("space", f"app.{PLAY.name}", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
        Binding(MORE_KEYS.key, MORE_KEYS.name, show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self.pinned = View.FITTING
        self._top, self._timeline, self._head, self._how = TopBar(), Timeline(), Head(), How()
        self._sight, self._first, self._second = Sight(), Panel("panel"), Panel("second")
        self._tools, self._said, self._keys = Tools(), Said(), Keys(more=MORE_KEYS)
        self._tools.display = False

    def compose(self) -> ComposeResult:
        """Lay the screen out."""
        yield TooSmall()
        yield self._top
        yield self._timeline
        yield self._head
        yield self._how
        with Container(id="work"):
            yield self._sight
            with Vertical(id="lists"):
                yield self._first
                yield self._second
                yield self._tools
        yield self._said
        yield self._keys

    def show(self, frames: Sequence[Frame], player: Player, offset: str) -> None:
        """Draw the frame that a player stands at."""
        frame = frames[player.at]
        moment = frame.moment
        look = glance(moment, frame.slot)
        self._top.show(moment.job, "REPLAY")
        self._timeline.show(frames, player, local_time(moment.record.utc, offset))
        self._head.show(look.small, look.big)
        self._how.show(look.how)
        self._sight.show(look.shown, cautions(moment))
        view = fitting(frame) if self.pinned is View.FITTING else self.pinned
        self._first.show(view, frames, player.at, offset)
        self._second.show(View.PULL if view is View.VERDICTS else View.VERDICTS, frames, player.at, offset)
        self._tools.show(frame.tools)
        self._tools.display = bool(frame.tools)
        self._said.happened(told(moment), alarm=Mark.WARNING in frame.marks)
        play = Action(PLAY.name, PLAY.key, "Pause" if player.playing else PLAY.label)
        beside_ = Action(VIEW.name, VIEW.key, f"{VIEW.label}: {self.pinned.value}")
        self._keys.show((play, *(beside_ if key is VIEW else key for key in KEYS[1:]), LEAVE), play)
        self.set_class(self.pinned is not View.FITTING, "-pinned")

    def pin(self) -> None:
        """Keep the next view beside the screen."""
        order = list(View)
        self.pinned = order[(order.index(self.pinned) + 1) % len(order)]

    def tell(self, text: str) -> None:
        """Show a hint."""
        self._said.tell(text)

    def action_more_keys(self) -> None:
        """Show the keys that did not fit."""
        self._keys.turn()

    def action_page(self, pages: int) -> None:
        """Show the instructions that did not fit."""
        self._how.page(pages)
        self._sight.page(pages)
