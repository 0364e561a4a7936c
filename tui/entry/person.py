"""Who plays a job on the screen, with the keys and the pedal that are theirs."""

from dataclasses import dataclass, field

from .keymap import Keymap
from .pedal import Pedal


@dataclass(frozen=True, slots=True)
class Person:
    """One person before one job."""

    by: str = ""
    """Their name, where it is not the person who opened the job."""
    keymap: Keymap = field(default_factory=Keymap)
    pedal: Pedal | None = None
