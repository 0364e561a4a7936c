"""The dialog for a reviewer's comment or sign-off: a name and words, nothing filled in beforehand."""

from collections.abc import Awaitable, Callable, Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from logger.bench.decide import MOST_NAME, MOST_TEXT
from tui.entry.actions import Action
from tui.widgets.field import Field

from .dialog import CANCEL, NEXT_FIELD, Dialog

Keep = Callable[[str, str], Awaitable[str]]
"""Takes a name and a text; returns why they are refused, or nothing when they are on the trail."""


class CommentDialog(Dialog):
    """Asks for a comment on one event, or on the whole job with the sign-off."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding(NEXT_FIELD.key, NEXT_FIELD.name, show=False)]

    def __init__(self, on: str, keep: Keep, *, signs: bool) -> None:
        kept = "It is added to the trail with name and time; the job stays as it is."
        super().__init__("Sign the job off" if signs else "Comment", (on, kept))
        self._keep, self._accept = keep, "Sign off" if signs else "Add it"

    def parts(self) -> Iterable[Widget]:
        """A name and words."""
        yield Field("name", "Your name", MOST_NAME)
        yield Field("words", "In your words", MOST_TEXT)

    def keys(self) -> tuple[Action, ...]:
        """Accept, next field, back."""
        return Action("accept", "f2", self._accept), NEXT_FIELD, CANCEL

    def on_mount(self) -> None:
        """Begin with the name."""
        self.query_one("#name", Field).focus()

    async def action_accept(self) -> None:
        """Keep it; a refusal is shown and the dialog stays."""
        name, text = (self.query_one(f"#{field}", Field).value for field in ("name", "words"))
        await self._submitted(self._keep(name, text))
