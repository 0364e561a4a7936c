"""One question before a job begins: offers by arrow keys, or a field; answered by function keys only."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from tui.choice import Page
from tui.entry.actions import LEAVE, Action
from tui.safe import safe_text
from tui.widgets.field import Field
from tui.widgets.foot import Keys, Said
from tui.widgets.how import How
from tui.widgets.top import Head

from .asking import MOST_NAME, Listed

BACK = Action("back", "escape", "Back")
OTHER = Action("choose", "down", "Another")


class ChoosingScreen(Screen[str | None]):
    """Asks one page; its result is what was chosen, or None to go back."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "accept", show=False),
        Binding("escape", "back", show=False),
        Binding("up", "choose(-1)", show=False),
        Binding("down", "choose(1)", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self, page: Page) -> None:
        super().__init__()
        self._page = page
        self._listed = Listed([offer.title for offer in page.offers], 0 if page.offers else -1)
        self._how, self._said = How(), Said()
        self._field = Field("other", page.field, MOST_NAME) if page.field else None

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield Static(Content(" EVENHAND"), id="top")
        yield Head()
        yield self._listed
        if self._field is not None:
            yield self._field
        yield self._how
        yield self._said
        accept = Action("accept", "f2", self._page.accept)
        more = (OTHER,) if len(self._page.offers) > 1 else ()
        yield Keys((accept, *more, BACK, LEAVE), accept)

    def on_mount(self) -> None:
        """Show the question; where there is only a field, let the person type at once."""
        self.query_one(Head).show(self._page.title, self._page.title)
        self._listed.display = bool(self._page.offers)
        self._show()
        if self._field is not None:
            self._field.focus()

    def on_screen_resume(self) -> None:
        """Note that the question comes into sight."""
        self._in_sight()

    def _in_sight(self) -> None:
        self.app.in_sight((self, self._how.read_to))  # type: ignore[attr-defined]

    def _unread(self) -> bool:
        words = not self._page.offers and not self._page.field
        unread = self.app.unread((self, self._how.read_to), words=words)  # type: ignore[attr-defined]
        return bool(unread)

    def _show(self) -> None:
        offers = self._page.offers
        self._how.show((*self._page.lines, *(offers[self._listed.chosen].more if offers else ())))

    def tell(self, text: str) -> None:
        """Show why something is refused."""
        self._said.tell(safe_text(text, 400))

    def on_input_changed(self) -> None:
        """What was told of the field is told no longer once somebody types."""
        self.tell("")

    def action_choose(self, by: int) -> None:
        """Choose another offer, and show what is known of it."""
        if self._page.offers:
            self._listed.move(by)
            self._show()
            self._in_sight()  # what was read of the last offer is not read of this one

    def action_page(self, pages: int) -> None:
        """Show what did not fit."""
        self._how.page(pages)
        self._in_sight()

    def action_accept(self) -> None:
        """Take what was typed, else the offer that is marked; what is to be read is shown to its end first."""
        if self._unread():
            self.tell("Read it first, then press it.")
            return
        if self._page.lines and self._how.unseen:
            self.action_page(1)
            return
        typed = "" if self._field is None else self._field.value.strip()
        offers = self._page.offers
        if typed or offers or not self._page.field:
            self.dismiss(typed or (offers[self._listed.chosen].value if offers else "read"))
        else:
            self.tell("Type a name first.")

    def action_back(self) -> None:
        """Go one question back."""
        self.dismiss(None)
