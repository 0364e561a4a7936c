"""Dialogs that show or count: a refused closing, and adjusters turned otherwise than advised."""

from collections.abc import Awaitable, Callable, Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget

from logger import events as ev
from logger.job.job import Job
from logger.job.named import check_title
from tui.entry.actions import OVERRIDE, Action
from tui.glance.glance import big_flats
from tui.look import style_of, verdict_word
from tui.safe import safe_text
from tui.widgets.blocks import big
from tui.widgets.painted import Painted, padded, plain, wrapped

from .dialog import CANCEL, Dialog


class OpenChecks(Painted):
    """Each check that keeps the job open: its verdict, and what would settle it."""

    def __init__(self, job: Job, still_open: tuple[ev.OpenCheck, ...]) -> None:
        super().__init__(id="open")
        self._job = job
        self._open = still_open
        self._from = 0

    def page(self, pages: int) -> None:
        """Show the checks that did not fit."""
        self._from = min(max(self._from + pages, 0), len(self._open) - 1)
        self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint as many checks as fit whole, and say how many are left."""
        painted: list[Content] = []
        for at in range(self._from, len(self._open)):
            one = list(self._one(self._open[at], width))
            if painted and len(painted) + len(one) > height - 1:
                painted.append(plain(f"… {len(self._open) - at} more: PageDown", "$quiet"))
                break
            painted += one
        return painted

    def _one(self, check: ev.OpenCheck, width: int) -> Iterator[Content]:
        word, name = verdict_word(check.verdict), safe_text(check_title(self._job, check.check))
        yield plain(f"{word}  ", style_of(check.verdict)) + padded(name, max(width - len(word) - 2, 1), "bold")
        yield from (plain(f"   {row}") for row in wrapped(check.settle, width - 3))


class RefusedDialog(Dialog):
    """Closing was refused: what is open, and what would settle it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f8", "override", show=False),
        Binding("pageup", "page(-5)", show=False),
        Binding("pagedown", "page(5)", show=False),
    ]

    def __init__(self, job: Job, refused: ev.CloseRefused, override: Callable[[], None]) -> None:
        count = len(refused.open)
        super().__init__(f"Closing refused: {count} {'check is' if count == 1 else 'checks are'} open")
        self._job = job
        self._refused = refused
        self._override = override

    def parts(self) -> Iterable[Widget]:
        """The open checks."""
        return (OpenChecks(self._job, self._refused.open),)

    def keys(self) -> tuple[Action, ...]:
        """Back to the job, or override one."""
        return Action("cancel", "escape", "Back to the job"), OVERRIDE

    def action_page(self, by: int) -> None:
        """Show the checks that did not fit."""
        self.query_one(OpenChecks).page(by)

    def action_override(self) -> None:
        """Go on to an override."""
        self.dismiss()
        self._override()


Turned = Callable[[Decimal, Decimal], Awaitable[str]]


class Turns(Painted):
    """Flats for each side in words, the side being counted marked."""

    def __init__(self, left: Decimal, right: Decimal) -> None:
        super().__init__(id="turns")
        self.flats = [left, right]
        self.side = 0

    def turn(self, by: Decimal) -> None:
        """Count on the marked side."""
        self.flats[self.side] += by
        self.refresh()

    def choose(self, side: int) -> None:
        """Mark a side."""
        self.side = side
        self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint both sides, as big as they fit."""
        for at, name in enumerate(("LEFT", "RIGHT")):
            style = "$primary bold" if at == self.side else "$quiet"
            said = big_flats(Fraction(self.flats[at]))
            yield padded(f"{'▸' if at == self.side else ' '} {name}: {said}", width, style)
            for row in big(said, width - 2, height // 2 - 1) or ():
                yield padded(f"  {row}", width, style)


class TurnedDialog(Dialog):
    """Asks how far each adjuster was turned, by arrow keys; it begins with what was advised."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "side(0)", show=False),
        Binding("right", "side(1)", show=False),
        Binding("up", "turn('1')", show=False),
        Binding("down", "turn('-1')", show=False),
        Binding("pageup", "turn('0.5')", show=False),
        Binding("pagedown", "turn('-0.5')", show=False),
    ]
    ACCEPT = "Turned so"

    def __init__(self, advised: tuple[Decimal, Decimal], submit: Turned) -> None:
        super().__init__("How far was each adjuster turned?", ("Sides as seen from the saddle; tighter moves back.",))
        self._advised = advised
        self._submit = submit

    def parts(self) -> Iterable[Widget]:
        """Both sides."""
        return (Turns(*self._advised),)

    def keys(self) -> tuple[Action, ...]:
        """Accept, side, flats, half flats, back."""
        accept = Action("accept", "f2", self.ACCEPT)
        side, one, half = ("left", "Left"), ("up", "1 flat tighter"), ("pageup", "½ flat tighter")
        right, less = ("right", "Right"), ("down", "1 flat looser")
        return accept, *(Action("", key, label) for key, label in (side, right, one, less, half)), CANCEL

    def action_side(self, side: int) -> None:
        """Count on this side."""
        self.query_one(Turns).choose(side)

    def action_turn(self, by: str) -> None:
        """Count flats on the marked side."""
        self.query_one(Turns).turn(Decimal(by))

    async def action_accept(self) -> None:
        """Report the turns; a refusal is shown and the dialog stays."""
        await self._submitted(self._submit(*self.query_one(Turns).flats))
