"""The rows under the work: what happened last or is being typed, banners, and the keys."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from rich.cells import cell_len
from textual.content import Content
from textual.geometry import Size

from tui.entry.actions import Action, key_name
from tui.entry.keymap import shown_by
from tui.safe import safe_text

from .painted import Fitted, padded, plain, wrapped

_USUAL = 22
"""Rows of a terminal from which on an alarm may take a second row."""
_ROOMY = 34
"""Rows of a terminal from which on everything said may take a second row."""


class Said(Fitted):
    """A line being typed, else what is to be told, else what happened last; one row, more where it needs them."""

    def __init__(self) -> None:
        super().__init__(id="said")
        self._said = self._told = self._typed = ""
        self._alarm = False

    def happened(self, text: str, *, alarm: bool = False) -> None:
        """Show what happened last, an alarm so that it stands out; it takes the place of what was told before."""
        self._said, self._told, self._alarm = text, "", alarm
        self.changed()

    def tell(self, text: str) -> None:
        """Show a refusal or a hint, until something happens."""
        self._told = text
        self.changed()

    def typing(self, text: str) -> None:
        """Show the line being typed; empty when there is none."""
        if text != self._typed:
            self._typed = text
            self.changed()

    @property
    def text(self) -> str:
        """What it says now."""
        return f"typing: {self._typed}▏" if self._typed else self._told or self._said

    def needed(self, viewport: Size, width: int) -> int:
        """Return the rows that a refusal needs; what happened is cut to one row where the screen is small."""
        whole = self._told or viewport.height >= (_USUAL if self._alarm else _ROOMY)
        return len(self._lines(width)) if whole else 1

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the rows that fit."""
        style = "$pending bold" if self._typed else "$off bold" if self._told else "bold"
        if self._alarm and not self._typed and not self._told:
            style = "$off bold reverse"
        lines = self._lines(width)
        if len(lines) > height:
            lines = [*lines[: height - 1], " ".join(lines[height - 1 :])]
        return [padded(line, width, style) for line in lines]

    def _lines(self, width: int) -> list[str]:
        mark = "⌨ " if self._typed else "! " if self._told or self._alarm else "» "
        return wrapped(mark + self.text, width) if self.text else []


class Banner(Fitted):
    """What went wrong beside the screen, the first first; each stays until Escape, and none takes no room."""

    def __init__(self) -> None:
        super().__init__(id="banner")
        self._warnings: list[str] = []
        self.display = False

    @property
    def text(self) -> str:
        """What it says now: the first warning, and how many wait behind it."""
        return self._warnings[0] + self._how() if self._warnings else ""

    def warn(self, text: str) -> None:
        """Show a fault behind those that nobody took away yet; the same one only once."""
        if not text or text in self._warnings:
            return
        self._warnings.append(text)
        self._changed()

    def unwarn(self) -> None:
        """Take away what is in sight of the first one, and with its end itself."""
        rows, height = self._rows(self.size.width), self.size.height
        if self._warnings and 0 < height < len(rows):
            unread = " ".join(rows[max(height - 1, 1) :])  # the last row in sight was cut for the key
            self._warnings[0] = unread.removesuffix(self._how())
        else:
            del self._warnings[:1]
        self._changed()

    def _how(self) -> str:
        """How the next one comes, or none."""
        behind = len(self._warnings) - 1
        return f" (Esc: {behind} more)" if behind else " (Esc)"

    def _rows(self, width: int) -> list[str]:
        return wrapped(f"! {self.text}", width)

    def _changed(self) -> None:
        self.display = bool(self._warnings)
        self.refresh(layout=True)

    def needed(self, viewport: Size, width: int) -> int:
        """Return the rows that the text needs."""
        return len(self._rows(width))

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the fault, or as much of it as fits and the key that shows the rest."""
        rows = self._rows(width)
        for at, row in enumerate(rows[:height]):
            more = at == height - 1 and len(rows) > height
            yield padded(f"{row[: max(width - 6, 0)]} … Esc" if more else row, width, "$off bold reverse")


class Keys(Fitted):
    """The keys that make sense now with what they do, the one that the prompt asks for first and marked."""

    def __init__(
        self, actions: Sequence[Action] = (), marked: Action | None = None, *, more: Action | None = None
    ) -> None:
        super().__init__(id="keys")
        self._actions, self._marked = tuple(actions), marked
        self._more, self._page = more or Action("", "…", ""), 0

    def show(self, actions: Sequence[Action], marked: Action | None) -> None:
        """Show these keys."""
        if (tuple(actions), marked) != (self._actions, self._marked):
            self._actions, self._marked, self._page = tuple(actions), marked, 0
            self.changed()

    def turn(self) -> None:
        """Show the keys that did not fit, and after the last of them the first again."""
        pages = len(self._pages(self.size.width, self.size.height))
        self._page = (self._page + 1) % pages
        self.refresh()

    def needed(self, viewport: Size, width: int) -> int:
        """Return the rows that all keys need."""
        return len(self._broken(tuple(map(self._shown, self._actions)), width))

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the keys that fit; leaving is always among them, and that there are more."""
        pages = self._pages(width, height)
        for line in pages[min(self._page, len(pages) - 1)]:
            yield Content("  ").join([self._one(action) for action in line])

    def _pages(self, width: int, height: int) -> list[list[list[Action]]]:
        """All keys in rows, where they do not fit page by page: each ends with how to see more, and leaving."""
        every = tuple(map(self._shown, self._actions))
        whole = self._broken(every, width)
        if len(whole) <= height or not every:
            return [whole]
        *rest, last = every
        more, pages = self._shown(self._more), []
        while rest:
            ends = (n for n in range(len(rest), 1, -1) if rest[n - 1].label)  # a key without words goes with the next
            count = next((n for n in ends if self._fit((*rest[:n], more, last), width, height)), 1)
            if not self._fit((*rest[:count], more, last), width, height):
                more = replace(more, label="…" if more.label else "")
            pages.append(self._broken((*rest[:count], more, last), width)[:height])
            rest = rest[count:]
        return pages

    def _fit(self, actions: Sequence[Action], width: int, height: int) -> bool:
        return len(self._broken(actions, width)) <= height

    def _shown(self, action: Action) -> Action:
        """An action with the key that a person gave it, where they did."""
        also = shown_by(self.app, action.also) if action.also else ""
        return replace(action, key=shown_by(self.app, action.key), also=also)

    def _is_marked(self, action: Action) -> bool:
        return self._marked is not None and action == self._shown(self._marked)

    def _one(self, action: Action) -> Content:
        if self._is_marked(action):
            return plain(f" {_label(action)} ", "$background on $primary bold")
        label = f" {safe_text(action.label)}" if action.label else ""
        return plain(_keys(action), "$primary bold") + plain(label)

    def _width(self, action: Action) -> int:
        return cell_len(_label(action)) + 2 + (2 if self._is_marked(action) else 0)

    def _broken(self, actions: Sequence[Action], width: int) -> list[list[Action]]:
        lines: list[list[Action]] = [[]]
        room = width + 2
        for action in actions:
            room -= self._width(action)
            if room < 0 and lines[-1]:
                lines.append([])
                room = width + 2 - self._width(action)
            lines[-1].append(action)
        return lines


def _keys(action: Action) -> str:
    return "/".join(key_name(key) for key in (action.key, action.also) if key)


def _label(action: Action) -> str:
    return f"{_keys(action)} {safe_text(action.label)}".rstrip()
