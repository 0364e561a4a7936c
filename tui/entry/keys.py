"""Keys of a tool that acts as a keyboard, cut into lines; the one collector stands before every screen.

A line ends at CR, LF or Tab, at once and in the order of the keys, so that a burst never runs together.
"""

from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median

from drivers.reading import Clock

EXPIRES_NS = 2_000_000_000
"""A line without its end is thrown away, and told, this long after its last key."""
LONGEST = 200
"""Characters kept of one line; what is longer than any reading is refused as a whole."""

ENDS = frozenset({"enter", "ctrl+m", "ctrl+j", "tab", "ctrl+i"})
"""Names of the keys that end a line: CR, LF and Tab."""


@dataclass(frozen=True, slots=True)
class Line:
    """A whole line, without its end."""

    text: str
    gap_ms: int | None = field(default=None, compare=False)
    """The median time between its keys: evidence of a tool or a hand, and no proof."""


@dataclass(frozen=True, slots=True)
class Half:
    """A line whose end never came."""

    text: str


Cut = Line | Half


class Collector:
    """Collects keys; two keyboards typing at once give a line that is refused, never a wrong reading."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._last_ns = 0
        self._keys_ns: list[int] = []
        self.text = ""
        """What was typed since the last end of a line."""

    def add(self, character: str) -> tuple[Cut, ...]:
        """Take one printable character; a half line that had expired comes back first."""
        expired = self.expire()
        self._last_ns = self._clock.now().mono_ns
        if len(self.text) < LONGEST:
            self.text += character
            self._keys_ns.append(self._last_ns)
        return expired

    def end(self) -> tuple[Cut, ...]:
        """Take the end of a line; an empty line is nothing."""
        expired = self.expire()
        gap_ms = self._gap_ms()
        text = self.drop()
        return (*expired, Line(text, gap_ms)) if text.strip() else expired

    def _gap_ms(self) -> int | None:
        gaps = [later - earlier for earlier, later in pairwise(self._keys_ns)]
        return round(median(gaps) / 1_000_000) if gaps else None

    def erase(self) -> None:
        """Take back one character; only a person does that."""
        self.text = self.text[:-1]
        del self._keys_ns[-1:]
        self._last_ns = self._clock.now().mono_ns

    def drop(self) -> str:
        """Forget the line being typed and return it."""
        self._keys_ns.clear()
        text, self.text = self.text, ""
        return text

    def expire(self) -> tuple[Cut, ...]:
        """Return the half line whose time is up, if there is one."""
        if not self.text or self._clock.now().mono_ns - self._last_ns < EXPIRES_NS:
            return ()
        return (Half(self.drop()),)
