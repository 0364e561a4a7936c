"""The closed page: whether the machine may be ridden, where the record is, what is due, and what was left."""

from collections.abc import Iterator
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from logger.bench.moment import Moment
from logger.job.verdictwords import verdict_line
from logger.job.words import record_command
from logger.record.warned import warnings_of
from tui.entry.actions import LEAVE, Action
from tui.look import style_of
from tui.safe import safe_text
from tui.widgets.foot import Keys, Said
from tui.widgets.painted import plain
from tui.widgets.top import Head, TopBar

_PAGING = {"pageup", "pagedown"}
_MORE = Action("more", "pagedown", "More")
_DONE = Action("done", "f2", "Done")


class ClosedScreen(Screen[None]):
    """Stays until a key that no tool can type."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
    ]
    AUTO_FOCUS = ""
    takes_text = False

    def __init__(self, moment: Moment, trail: str) -> None:
        super().__init__()
        self._moment = moment
        self._trail = trail
        self._said, self._keys = Said(), Keys((_DONE, LEAVE), _DONE)

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield TopBar()
        yield Head()
        with VerticalScroll(id="page", can_focus=False):
            yield Static(Content("\n").join(list(self._lines())))
        yield self._said
        yield self._keys

    def on_mount(self) -> None:
        """Say that the job is closed, and before that where the machine is not to be ridden."""
        self.query_one(TopBar).show(self._moment.job)
        grounded = warnings_of(self._moment.job, self._moment.verdicts)[1]
        said = "Closed: not to be ridden or run" if grounded else "Job closed"
        self.query_one(Head).show(said, "Not to be ridden or run" if grounded else said)

    def on_screen_resume(self) -> None:
        """Note that the page comes into sight, and whether there is more of it."""
        self.app.in_sight()  # type: ignore[attr-defined]
        self.call_after_refresh(self._name_keys)

    def on_resize(self) -> None:
        """See anew whether all of it fits."""
        self.call_after_refresh(self._name_keys)

    def _name_keys(self) -> None:
        page = self.query_one(VerticalScroll)
        more = (_MORE,) if page.scroll_target_y < page.max_scroll_y else ()
        self._keys.show((_DONE, *more, LEAVE), _DONE)

    def on_key(self, event: events.Key) -> None:
        """Leave by any key but those that page; what a tool types never comes here."""
        if event.key not in _PAGING:
            event.stop()
            self.app.exit_closed()  # type: ignore[attr-defined]

    def action_page(self, pages: int) -> None:
        """Show what did not fit."""
        page = self.query_one(VerticalScroll)
        page.scroll_relative(y=pages * max(page.size.height - 1, 1), animate=False)
        self.call_after_refresh(self._name_keys)

    def tell(self, text: str) -> None:
        """Show a hint."""
        self._said.tell(text)

    def untype(self, text: str) -> None:
        """Nothing to do: no field is on this screen."""

    def _lines(self) -> Iterator[Content]:
        job, verdicts = self._moment.job, self._moment.verdicts
        warnings, grounded = warnings_of(job, verdicts)
        for warning in warnings[:1] if grounded else ():
            yield plain(f"! {safe_text(warning)}", "$off bold")
        yield plain("The record:", "bold")
        yield plain(f"  {safe_text(record_command(job))}", "$primary bold")
        for due in job.sheet.due:
            yield plain(f"Due: {safe_text(due.what)}, after {safe_text(due.after)}", "bold")
        words = dict.fromkeys(judged.verdict for judged in verdicts.values())
        counts = (f"{sum(each.verdict == word for each in verdicts.values())} {word}" for word in words)
        yield plain(f"{len(verdicts)} checks: {', '.join(counts)}.", "bold")
        yield plain(f"The trail is {safe_text(self._trail)}", "$quiet")
        told = sorted(verdicts.values(), key=lambda judged: judged.verdict != "overridden")
        for judged in told:
            yield plain(f"  {safe_text(verdict_line(job, judged))}", style_of(judged.verdict))
