"""The screens before a job: one question after another, until a job can begin or be taken up."""

from collections.abc import Callable, Mapping

from textual import events, work

from drivers.clock import SystemClock
from logger.errors import BadInput
from tui.choice import Asks, Choice, Depot, back, chosen, next_page
from tui.entry.actions import CONFIRM, LEAVING, key_name
from tui.entry.keymap import Keymap
from tui.entry.keys import ENDS
from tui.entry.patience import OPENED_NS, READ_NS, Patience
from tui.screens.choosing import ChoosingScreen

from .eyes import age_ns
from .ourapp import OurApp

FIRST = "This is the first question."
Check = Callable[[Asks, str], object]
"""Raises BadInput for what cannot be taken."""


class ChooserApp(OurApp[Choice]):
    """Its result is the whole choice; None when the person left.

    Nothing here is answered by what a tool types: Enter and Tab do nothing, and a line of text only fills a field.
    """

    CSS_PATH = "evenhand.tcss"

    def __init__(
        self,
        depot: Depot,
        given: Choice,
        check: Check,
        environment: Mapping[str, str] | None = None,
        *,
        keymap: Keymap | None = None,
        read_ns: int = READ_NS,
    ) -> None:
        super().__init__(environment, keymap)
        self._patience = Patience(SystemClock(), read_ns)
        self._depot, self._given, self._check = depot, given, check

    def on_mount(self) -> None:
        """Begin to ask."""
        self._ask()

    @work
    async def _ask(self) -> None:
        choice, refusal = self._given, ""
        while (page := next_page(choice, self._depot)) is not None:
            screen = ChoosingScreen(page)
            if refusal:
                self.call_after_refresh(screen.tell, refusal)
            answer = await self.push_screen_wait(screen)
            refusal = "" if answer is None else self._refused(page.asks, answer)
            if answer is None:
                before, choice = choice, back(choice, self._given, self._depot)
                refusal = FIRST if choice == before else ""
            elif not refusal:
                choice = chosen(choice, page, answer)
        self.exit(choice)

    def in_sight(self, shown: object) -> None:
        """Note that this can be read once it is painted."""
        self.when_painted(lambda: self._patience.painted(shown))

    def unread(self, shown: object, *, words: bool) -> bool:
        """Whether this could not be looked at, or its words not be read, before the present key was pressed."""
        return self._patience.unread(shown, READ_NS if words else OPENED_NS)

    def _refused(self, asks: Asks, answer: str) -> str:
        try:
            self._check(asks, answer)
        except BadInput as error:
            return str(error)
        return ""

    async def on_event(self, event: events.Event) -> None:
        """Let no key past that a tool ends a line with, no paste, and leave by the keys that leave everywhere."""
        if isinstance(event, events.Key):
            self._patience.key(age_ns(event))
        if isinstance(event, events.Paste) and not event.is_forwarded:
            return
        if isinstance(event, events.Key) and not event.is_forwarded:
            key = self.meant(event)
            if key in LEAVING:
                self.exit(None)
                return
            if key in ENDS or key in ("shift+tab", "ctrl+z"):
                if isinstance(self.screen, ChoosingScreen):
                    self.screen.tell(
                        f"{key_name(self.keys.shown(CONFIRM.key))} takes it, so that no tool can by its Enter."
                    )
                return
        await super().on_event(event)
