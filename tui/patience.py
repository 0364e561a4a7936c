"""Keys that come too soon: a prompt nobody can have read yet, and what asks for a second press."""

from drivers.reading import Clock

READ_NS = 700_000_000
"""A prompt younger than this is not answered: a key that bounces or is held must not answer what nobody has read."""
AGAIN_NS = 3_000_000_000
"""A second press counts within this long of the first."""


class Patience:
    """Knows when the prompt changed and what was pressed once; `prompt` is the one in sight from the beginning."""

    def __init__(self, clock: Clock, prompt: str, read_ns: int = READ_NS) -> None:
        self._clock = clock
        self._read_ns = read_ns
        self._prompt = prompt
        self._since = clock.now().mono_ns - read_ns
        self._pressed: dict[str, int] = {}

    def prompted(self, prompt: str) -> None:
        """Note which prompt is in sight now."""
        if prompt != self._prompt:
            self._prompt, self._since = prompt, self._clock.now().mono_ns

    def unread(self) -> bool:
        """Whether the prompt is too new to have been read."""
        return self._clock.now().mono_ns - self._since < self._read_ns

    def again(self, what: str) -> bool:
        """Whether this press is the second in time; the first one is remembered."""
        now = self._clock.now().mono_ns
        first = self._pressed.pop(what, None)
        if first is not None and now - first <= AGAIN_NS:
            return True
        self._pressed[what] = now
        return False
