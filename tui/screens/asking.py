"""Dialogs that ask for words: a note, a reason, the name and the note of an override."""

from collections.abc import Awaitable, Callable, Iterable, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget

from logger.job import Job
from logger.rules import Judged
from logger.words import check_title, settle
from tui.actions import Action, key_name
from tui.keymap import shown_by
from tui.safe import safe_text
from tui.widgets.field import Field, Untype
from tui.widgets.painted import Painted, padded
from tui.widgets.value import verdict_word

from .dialog import CANCEL, Dialog, Submit

MOST_WORDS = 300
MOST_NAME = 64


class WordsDialog(Dialog):
    """Asks for one line of text."""

    def __init__(self, title: str, lines: Iterable[str], submit: Submit) -> None:
        super().__init__(title, lines)
        self._submit = submit

    def parts(self) -> Iterable[Widget]:
        """One field."""
        return (Field("words", "In your words", MOST_WORDS),)

    def on_mount(self) -> None:
        """Let the person type at once."""
        self.query_one(Field).focus()

    def untype(self, text: str) -> None:
        """Take what a tool typed out of the field."""
        self.query_one(Field).post_message(Untype(text))

    async def action_accept(self) -> None:
        """Submit the text; a refusal is shown and the dialog stays."""
        await self._submitted(self._submit(self.query_one(Field).value))


REASONS: tuple[tuple[str, str], ...] = (
    ("f2", "measured at the wrong place"),
    ("f3", "tool slipped or was held askew"),
    ("f4", "pressed by mistake"),
    ("f5", "tool not zeroed"),
    ("f6", "wheel or chain was not in position"),
)
OWN_WORDS = Action("own", "f7", "In my own words")


class ReasonDialog(Dialog):
    """Asks why the last reading is taken back: a reason by its key, or one's own words."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(key, f"reason('{key}')", show=False) for key, _ in REASONS),
        Binding("f7", "own", show=False),
        Binding("escape", "cancel", show=False),
    ]

    def __init__(self, what: str, submit: Submit) -> None:
        super().__init__("Take back the last reading: why?", (what, "It stays on the trail as withdrawn.", ""))
        self._submit = submit

    def parts(self) -> Iterable[Widget]:
        """The reasons, each with its key."""
        return (Listed([f"{key_name(shown_by(self.app, key))}  {reason}" for key, reason in REASONS]),)

    def keys(self) -> tuple[Action, ...]:
        """Own words, or back; the reasons stand above."""
        return OWN_WORDS, CANCEL

    async def action_reason(self, key: str) -> None:
        """Take back for one of the reasons."""
        await self._submitted(self._submit(dict(REASONS)[key]))

    def action_own(self) -> None:
        """Ask for a reason in words."""
        self.app.switch_screen(WordsDialog("Take back the last reading: why?", (), self._submit))


class Listed(Painted):
    """Lines of which one may be chosen."""

    def __init__(self, lines: Sequence[str], chosen: int = -1) -> None:
        super().__init__(id="listed")
        self._lines = tuple(lines)
        self.chosen = chosen

    def move(self, by: int) -> None:
        """Choose another line."""
        self.chosen = min(max(self.chosen + by, 0), len(self._lines) - 1)
        self.refresh()

    def get_content_height(self, *_: object) -> int:
        """Return one row a line."""
        return len(self._lines)

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the stretch around the chosen line."""
        start = min(max(self.chosen - height // 2, 0), max(len(self._lines) - height, 0))
        for at in range(start, min(start + height, len(self._lines))):
            mark = "▸ " if at == self.chosen else "  "
            yield padded(f"{mark}{safe_text(self._lines[at])}", width, "bold reverse" if at == self.chosen else "")


Override = Callable[[str, str, str], Awaitable[str]]
"""Takes check, name and note."""


class OverrideDialog(Dialog):
    """Asks which open check to let pass, by whom and why; nothing is filled in beforehand."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "next", show=False),
        Binding("up", "choose(-1)", show=False),
        Binding("down", "choose(1)", show=False),
    ]
    ACCEPT = "Let it pass"

    def __init__(self, job: Job, still_open: Sequence[Judged], submit: Override) -> None:
        lines = ("The check passes as it is, with your name and note in plain sight on the record.",)
        super().__init__("Override an open check", lines)
        self._job = job
        self._open = tuple(still_open)
        self._submit = submit

    def parts(self) -> Iterable[Widget]:
        """The open checks, a name and a note."""
        told = [f"{verdict_word(judged.verdict)}  {check_title(self._job, judged.check)}" for judged in self._open]
        yield Listed(told, 0)
        yield Field("name", "Your name", MOST_NAME)
        yield Field("note", "Why it may pass", MOST_WORDS)

    def keys(self) -> tuple[Action, ...]:
        """Override, next field, choose, back."""
        accept = Action("accept", "f2", self.ACCEPT)
        return accept, Action("next", "f3", "Next field"), Action("choose", "down", "Other check"), CANCEL

    def on_mount(self) -> None:
        """Begin with the name."""
        self.query_one("#name", Field).focus()

    def action_next(self) -> None:
        """Go to the other field."""
        other = "#note" if self.query_one("#name").has_focus else "#name"
        self.query_one(other).focus()

    def action_choose(self, by: int) -> None:
        """Choose another check, and say what would settle it."""
        listed = self.query_one(Listed)
        listed.move(by)
        self.tell(settle(self._job, self._open[listed.chosen]))

    def untype(self, text: str) -> None:
        """Take what a tool typed out of the field that has it."""
        for field in self.query(Field):
            if field.has_focus:
                field.post_message(Untype(text))

    async def action_accept(self) -> None:
        """Override the chosen check; a refusal is shown and the dialog stays."""
        name, note = (self.query_one(f"#{field}", Field).value for field in ("name", "note"))
        await self._submitted(self._submit(self._open[self.query_one(Listed).chosen].check, name, note))
