"""Dialogs that ask for words: a note, a reason, the name and the note of an override."""

from collections.abc import Awaitable, Callable, Iterable, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget

from logger.bench.moment import Moment
from logger.job.named import check_title
from logger.job.verdictwords import GROUNDED, settle
from tui.entry.actions import Action
from tui.look import verdict_word
from tui.safe import safe_text
from tui.widgets.field import Field, Untype
from tui.widgets.painted import Painted, padded

from .dialog import CANCEL, NEXT_FIELD, Dialog, Submit

MOST_WORDS = 300
MOST_NAME = 64
IN_WORDS = "In your words"


class WordsDialog(Dialog):
    """Asks for one line of text."""

    def __init__(self, title: str, lines: Iterable[str], submit: Submit, label: str = IN_WORDS) -> None:
        super().__init__(title, lines)
        self._submit, self._label = submit, label

    def parts(self) -> Iterable[Widget]:
        """One field."""
        return (Field("words", self._label, MOST_WORDS),)

    def on_mount(self) -> None:
        """Let the person type at once."""
        self.query_one(Field).focus()

    def untype(self, text: str) -> None:
        """Take what a tool typed out of the field."""
        self.query_one(Field).post_message(Untype(text))

    async def action_accept(self) -> None:
        """Submit the text; a refusal is shown and the dialog stays."""
        await self._submitted(self._submit(self.query_one(Field).value))


REASONS = (
    "measured at the wrong place",
    "tool slipped or was held askew",
    "pressed by mistake",
    "tool not zeroed",
    "wheel or chain was not in position",
)
OTHER_REASON = Action("other", "f3", "Other reason")
OWN_WORDS = Action("own", "f7", "In my own words")


class ReasonDialog(Dialog):
    """Asks why the last reading is taken back: one of the usual reasons, or one's own words."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "other", show=False),
        Binding("up", "choose(-1)", show=False),
        Binding("down", "choose(1)", show=False),
        Binding("f7", "own", show=False),
    ]
    ACCEPT = "Take it back"

    def __init__(self, what: str, submit: Submit) -> None:
        super().__init__("Take back the last reading: why?", (what, "It stays on the trail as withdrawn.", ""))
        self._submit = submit

    def parts(self) -> Iterable[Widget]:
        """The reasons, the first marked."""
        return (Listed(REASONS, 0),)

    def keys(self) -> tuple[Action, ...]:
        """Accept, another reason, own words, back: by the keys that confirm and take back, a pedal does it all."""
        return Action("accept", "f2", self.ACCEPT), OTHER_REASON, OWN_WORDS, CANCEL

    def action_choose(self, by: int) -> None:
        """Mark another reason."""
        self.query_one(Listed).move(by)

    def action_other(self) -> None:
        """Mark the next reason, after the last the first."""
        listed = self.query_one(Listed)
        listed.move(1 if listed.chosen < len(REASONS) - 1 else -len(REASONS))

    async def action_accept(self) -> None:
        """Take back for the reason that is marked."""
        await self._submitted(self._submit(REASONS[self.query_one(Listed).chosen]))

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
    """Asks which open check to let pass, by whom and why; the note is never filled in beforehand."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(NEXT_FIELD.key, NEXT_FIELD.name, show=False),
        Binding("up", "choose(-1)", show=False),
        Binding("down", "choose(1)", show=False),
    ]
    ACCEPT = "Let it pass"

    def __init__(self, moment: Moment, by: str, submit: Override) -> None:
        lines = ("The check passes as it is, with your name and note in plain sight on the record.",)
        super().__init__("Override an open check", lines)
        self._job, self._by = moment.job, by or moment.job.by
        self._open = tuple(judged for judged in moment.verdicts.values() if not judged.passes)
        now = (at for at, judged in enumerate(self._open) if judged.check.partition(".")[0] == moment.prompt.step)
        self._first = next(now, 0)
        self._submit = submit

    def parts(self) -> Iterable[Widget]:
        """The open checks, a name and a note."""
        told = [f"{verdict_word(judged.verdict)}  {check_title(self._job, judged.check)}" for judged in self._open]
        yield Listed(told, self._first)
        yield Field("name", "Your name", MOST_NAME, self._by)
        yield Field("note", "Why it may pass", MOST_WORDS)

    def keys(self) -> tuple[Action, ...]:
        """Override, next field, choose, back."""
        accept = Action("accept", "f2", self.ACCEPT)
        return accept, NEXT_FIELD, Action("choose", "down", "Other check"), CANCEL

    def on_mount(self) -> None:
        """Begin with the note: who plays the job is known; warn where a life hangs on the check."""
        self.query_one("#note", Field).focus()
        self.tell(self._grave(self._first))

    def action_choose(self, by: int) -> None:
        """Choose another check, and say what would settle it."""
        listed = self.query_one(Listed)
        listed.move(by)
        self.tell(f"{self._grave(listed.chosen)}{settle(self._job, self._open[listed.chosen])}")

    def _grave(self, at: int) -> str:
        """What letting a check pass means where a life hangs on it."""
        vital = at < len(self._open) and self._job.sheet.is_vital(self._open[at].check)
        return f"If let pass, {GROUNDED}. " if vital else ""

    async def action_accept(self) -> None:
        """Override the chosen check; a refusal is shown and the dialog stays."""
        name, note = (self.query_one(f"#{field}", Field).value for field in ("name", "note"))
        await self._submitted(self._submit(self._open[self.query_one(Listed).chosen].check, name, note))
