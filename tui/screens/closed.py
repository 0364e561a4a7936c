"""The closed page: where the record is, what is due, and what was overridden."""

from collections.abc import Iterator

from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from logger.bench import Moment
from logger.record import warnings_of
from logger.words import check_title, verdict_line
from tui.actions import LEAVE
from tui.safe import safe_text
from tui.widgets.foot import Keys, Said
from tui.widgets.painted import plain
from tui.widgets.top import Head, TopBar
from tui.widgets.value import verdict_word


class ClosedScreen(Screen[None]):
    """Stays until a key that no tool can type."""

    AUTO_FOCUS = ""
    takes_text = False

    def __init__(self, moment: Moment, trail: str) -> None:
        super().__init__()
        self._moment = moment
        self._trail = trail
        self._said = Said()

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield TopBar()
        yield Head()
        yield Static(Content("\n").join(list(self._lines())), id="page")
        yield self._said
        yield Keys((LEAVE,), LEAVE)

    def on_mount(self) -> None:
        """Say that the job is closed."""
        self.query_one(TopBar).show(self._moment.job)
        grounded = warnings_of(self._moment.job, self._moment.verdicts)[1]
        said = "Closed: not to be ridden or run" if grounded else "Job closed"
        self.query_one(Head).show(said, "Not to be ridden or run" if grounded else said)

    def on_key(self, event: events.Key) -> None:
        """Leave; what a tool types never comes here."""
        event.stop()
        self.app.exit_closed()  # type: ignore[attr-defined]

    def tell(self, text: str) -> None:
        """Show a hint."""
        self._said.tell(text)

    def untype(self, text: str) -> None:
        """Nothing to do: no field is on this screen."""

    def _lines(self) -> Iterator[Content]:
        job, verdicts = self._moment.job, self._moment.verdicts
        for warning in warnings_of(job, verdicts)[0]:
            yield plain(f"! {safe_text(warning)}", "$off bold")
        yield from self._overridden()
        counted = ", ".join(
            f"{sum(each.verdict == word for each in verdicts.values())} {word}"
            for word in dict.fromkeys(judged.verdict for judged in verdicts.values())
        )
        yield plain(f"{len(verdicts)} checks: {counted}.", "bold")
        for judged in verdicts.values():
            if judged.unit and judged.verdict != "overridden":
                yield plain(f"  {safe_text(verdict_line(job, judged))}")
        yield plain("")
        yield plain("The record:", "bold")
        yield plain(f"  evenhand record {safe_text(job.id)} --format json", "$primary bold")
        yield plain(f"  The trail is {safe_text(self._trail)}", "$quiet")
        yield plain("")
        for due in job.sheet.due:
            yield plain(f"Due: {safe_text(due.what)}, after {safe_text(due.after)}", "bold")

    def _overridden(self) -> Iterator[Content]:
        for check, judged in self._moment.verdicts.items():
            if judged.verdict == "overridden":
                name = safe_text(check_title(self._moment.job, check))
                yield plain(f"{verdict_word(judged.verdict)}  {name}: {safe_text(judged.reason)}", "$let bold")
