"""Keys that no hand presses: those that run into a dialog just opened, and lines that a tool types into its fields."""

from drivers.reading import Clock
from drivers.typed import TypedError, read_typed
from logger.units import unit_of
from tui.entry.keys import Collector, Line

OPENED_NS = 250_000_000
"""A dialog that is younger than this was not seen yet."""
HAND_MS = 30
"""Keys that come quicker than this one after the other come from no hand."""
_MS = 1_000_000


class Haste:
    """Watches the keys of one dialog after the other; `opened_ns` is how long nobody can have seen one."""

    def __init__(self, clock: Clock, opened_ns: int = OPENED_NS) -> None:
        self._clock = clock
        self._opened_ns = opened_ns
        self._until_ns = 0
        self._typed = Collector(clock)

    def opened(self) -> None:
        """A dialog has just opened: what runs on into it is not meant for it."""
        self._until_ns = self._clock.now().mono_ns + self._opened_ns
        self._typed.drop()

    def ran_in(self) -> bool:
        """Whether a key came before the dialog was seen, or in one burst with such a key."""
        now = self._clock.now().mono_ns
        early = now < self._until_ns
        if early:
            self._until_ns = max(self._until_ns, now + HAND_MS * _MS)
        return early

    def typed(self, character: str) -> None:
        """Note a character that goes to a field."""
        self._typed.add(character)

    def answered(self) -> None:
        """Note that a key of the dialog was pressed: what was typed stays in its field."""
        self._typed.drop()

    def erased(self) -> None:
        """Note that a character was taken back."""
        self._typed.erase()

    def ended(self) -> str:
        """Return the line that ends now, where a tool typed it; nothing for that of a hand."""
        lines = (piece for piece in self._typed.end() if isinstance(piece, Line))
        return next((line.text for line in lines if self._of_a_tool(line)), "")

    def _of_a_tool(self, line: Line) -> bool:
        if line.gap_ms is not None and line.gap_ms < HAND_MS:
            return True
        try:
            read_typed(line.text, self._clock.now(), unit_of, line.gap_ms)
        except TypedError:
            return False
        return True
