"""What one message says, or that it is a message of another kind."""

from dataclasses import dataclass

from drivers.gatt import plain
from drivers.octets import FrameError, Number, Special
from drivers.reading import Quantity


class AsideError(FrameError):
    """A message of another kind: it holds no reading, and nothing is wrong with it."""


@dataclass(frozen=True, slots=True)
class Said:
    """What one message says: an exact value, or what was sent in its place, in the unit that was sent."""

    value: Number
    unit: str
    quantity: Quantity
    mode: str = ""
    """The mode that the tool says it is in, where the profile can tell."""

    def __str__(self) -> str:
        return str(self.value) if isinstance(self.value, Special) else f"{plain(self.value)} {self.unit}"
