"""What a command is given: where data lives, and the doors to stdout and stderr; it prints nothing itself."""

from collections.abc import Callable
from dataclasses import dataclass

from logger.settings.settings import Home

Out = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Shell:
    """The doors of one run."""

    home: Home
    out: Out
    """A line of data on stdout; outside text in it is made safe."""
    write: Out
    """Data on stdout exactly as it is: it must be free of control characters already."""
    say: Out
    """A line of talk on stderr; outside text in it is made safe."""
    has_screen: bool
    """Whether stdin, stdout and stderr (the screen is drawn on it) are all a terminal."""
