"""What a person can have read when a key was pressed: what is asked, once it was painted for long enough."""

from textual import events
from textual.message import Message

from logger.bench.bench import Bench
from logger.bench.moment import Moment
from logger.job.words import detail
from tui.entry.actions import CONFIRM, LEAVE
from tui.entry.patience import OPENED_NS, Patience
from tui.screens.closed import ClosedScreen
from tui.screens.dialog import Dialog
from tui.screens.job import JobScreen

from .ourapp import OurApp


def age_ns(event: events.Key) -> int:
    """Return how long ago a key was read from the terminal, in ns."""
    return round((Message().time - event.time) * 1e9)


class Eyes:
    """Watches what is painted on the job screen and over it, and holds each key against it."""

    def __init__(self, app: OurApp[int], bench: Bench, work: JobScreen, patience: Patience) -> None:
        self._app, self._bench, self._work, self._patience = app, bench, work, patience
        self.drawn = bench.moment
        """The moment that the job screen shows, or will at its next painting."""

    def open(self) -> None:
        """Note what can be read once it is painted."""
        self._app.when_painted(self._painted)

    def _painted(self) -> None:
        screen = self._app.screen
        self._patience.painted(self._asked(self.drawn) if screen is self._work else screen)

    def _asked(self, moment: Moment) -> object:
        """What a key answers: the prompt with all its words and numbers, and how far they were read."""
        return moment.prompt, moment.plan, detail(moment.job, moment.prompt), self._work.read_to

    def unread(self) -> bool:
        """Whether what the bench asks now could not be read before the present key was pressed."""
        return self._patience.unread(self._asked(self._bench.moment))

    def too_soon(self, event: events.Key) -> bool:
        """Note a key as the present one; whether it would answer a dialog or a page that nobody can have seen."""
        self._patience.key(age_ns(event))
        screen = self._app.screen
        asks = event.is_forwarded and event.key == CONFIRM.key and isinstance(screen, Dialog)
        leaves = not event.is_forwarded and event.key != LEAVE.key and isinstance(screen, ClosedScreen)
        return (asks or leaves) and self._patience.unread(screen, OPENED_NS)
