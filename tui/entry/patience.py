"""Keys that come too soon: a prompt nobody can have read yet, and what asks for a second press.

What counts is when a key was read from the terminal, against when what it answers was painted there: a program that
stalls while somebody presses twice gets both keys at once, and the second must not answer what came after the first.
"""

from drivers.reading import Clock

READ_NS = 700_000_000
"""A prompt younger than this is not answered: a key that bounces or is held must not answer what nobody has read."""
OPENED_NS = 250_000_000
"""A dialog, which somebody asked for, is answered from this age on."""
AGAIN_NS = 3_000_000_000
"""A second press counts within this long of the first."""


class Patience:
    """Knows what was painted last and since when, when the present key was read, and what was pressed once."""

    def __init__(self, clock: Clock, read_ns: int = READ_NS) -> None:
        self._clock = clock
        self._read_ns = read_ns
        self._sight: object = None
        self._since = self._key = 0
        self._pressed: dict[str, int] = {}

    def painted(self, sight: object) -> None:
        """Note what can be read on the terminal from now on."""
        if sight != self._sight:
            self._sight, self._since = sight, self._clock.now().mono_ns

    def key(self, age_ns: int) -> None:
        """Note that a key is answered now which was read so long ago."""
        self._key = self._clock.now().mono_ns - age_ns

    def unread(self, sight: object, wait_ns: int = READ_NS) -> bool:
        """Whether this is not what is painted, or was not for long enough when the key was read."""
        return sight != self._sight or self._within(self._since, wait_ns)

    def _within(self, since: int, wait_ns: int) -> bool:
        """Whether the present key came sooner than that; never where nothing is waited for."""
        wait = min(wait_ns, self._read_ns)
        return wait > 0 and self._key - since < wait

    def again(self, what: str, soonest_ns: int = 0) -> bool:
        """Whether this press is the second in time, and no bounce of the first, which is remembered."""
        first = self._pressed.get(what)
        if first is not None and self._within(first, soonest_ns):
            return False
        if first is not None and self._key - first <= AGAIN_NS:
            del self._pressed[what]
            return True
        self._pressed[what] = self._key
        return False

    def bounced(self, what: str) -> bool:
        """Whether this press comes too soon after the last to be another one; it is remembered where it does not."""
        last = self._pressed.get(what)
        if last is not None and self._within(last, READ_NS):
            return True
        self._pressed[what] = self._key
        return False
