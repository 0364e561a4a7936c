"""What all dialogs share: a title, what is asked, a row for what is refused, and the keys that answer it.

A dialog is answered by function keys and Escape only: nothing that a tool types can answer it.
"""

from collections.abc import Awaitable, Callable, Iterable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Static

from tui.entry.actions import Action
from tui.safe import safe, safe_text
from tui.widgets.field import Field, Untype
from tui.widgets.foot import Keys, Said

Submit = Callable[[str], Awaitable[str]]
"""Takes what was entered; returns why it is refused, or nothing when it was taken."""

CANCEL = Action("cancel", "escape", "Back")
NEXT_FIELD = Action("next", "f3", "Next field")


class Dialog(ModalScreen[None]):
    """One question over the job screen; the job goes on under it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "accept", show=False),
        Binding("escape", "cancel", show=False),
    ]
    AUTO_FOCUS = ""
    ACCEPT: ClassVar[str] = "Take it"

    def __init__(self, title: str, lines: Iterable[str] = ()) -> None:
        super().__init__()
        self._title = title
        self._lines = tuple(lines)
        self._said = Said()

    def compose(self) -> ComposeResult:
        """Lay the dialog out."""
        with Vertical(id="dialog"):
            yield Static(safe(self._title), id="title")
            yield Static(Content("\n").join([safe(line) for line in self._lines]), id="lines")
            yield from self.parts()
            yield self._said
            yield Keys(self.keys(), self.keys()[0])

    def on_screen_resume(self) -> None:
        """Note that the question comes into sight; the app of a replay has its own watch."""
        if (in_sight := getattr(self.app, "in_sight", None)) is not None:
            in_sight()

    def on_resize(self) -> None:
        """Give a field its focus back that a window too small for it took from it."""
        self.call_after_refresh(self._refocus)

    def _refocus(self) -> None:
        if self.focused is None and (fields := self.query(Field)):
            field = next((each for each in fields if not each.value), fields.last())
            field.select_on_focus = False  # what was typed before goes on, it is not replaced
            field.focus()

    def parts(self) -> Iterable[Widget]:
        """Return what stands between the question and its keys."""
        return ()

    def keys(self) -> tuple[Action, ...]:
        """Return the keys that answer, the first marked."""
        return Action("accept", "f2", self.ACCEPT), CANCEL

    @property
    def takes_text(self) -> bool:
        """Whether a person may type text here."""
        return bool(self.query(Field))

    def tell(self, text: str) -> None:
        """Show why an answer is refused."""
        self._said.tell(text)

    def happened(self, text: str) -> None:
        """Show what happened at the bench meanwhile."""
        if text:
            self._said.happened(safe_text(text))

    def untype(self, text: str) -> None:
        """Take what a tool typed out of the field that has it."""
        for field in self.query(Field):
            if field.has_focus:
                field.post_message(Untype(text))

    def action_next(self) -> None:
        """Go to the other field, where there are two."""
        next(field for field in self.query(Field) if not field.has_focus).focus()

    async def action_accept(self) -> None:
        """Answer the question."""
        self.dismiss()

    def action_cancel(self) -> None:
        """Go back without an answer."""
        self.dismiss()

    async def _submitted(self, answer: Awaitable[str]) -> None:
        refusal = await answer
        if refusal:
            self.tell(safe_text(refusal))
        elif self.is_current:
            self.dismiss()
