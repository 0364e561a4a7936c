"""What a simulated mechanic works with: habits of error, the slips that came of them, the tools and the machine."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, Protocol

from .clock import Pace
from .machine import Machine
from .tools import SimCaliper, SimWrench

Slipped = Literal[
    "pressed twice",
    "pressed again",
    "wrong side",
    "miscounted flats",
    "forgot to seat",
    "pulled early",
    "pulled too far",
    "dirty jaws",
]


@dataclass(frozen=True, slots=True)
class Habits:
    """How often each slip happens when it could, as a share."""

    pressed_twice: float = 0.05
    pressed_again: float = 0.02
    wrong_side: float = 0.03
    miscounted_flats: float = 0.06
    forgot_to_seat: float = 0.08
    pulled_early: float = 0.12
    pulled_too_far: float = 0.04
    dirty_jaws: float = 0.08
    notices: float = 0.8
    """How often a wrong reading is noticed at once on the screen, and taken back."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One human error: what, and the sequence of the last event before it."""

    what: Slipped
    after: int


class SentHomeError(Exception):
    """A person has taken over: what was about to be done is not done."""


class Control(Protocol):
    """Whether the simulated mechanic may go on."""

    async def may_go_on(self) -> bool:
        """Wait while paused; False once a person has taken over."""
        ...


@dataclass(slots=True)
class GaugeJaws:
    """What lies between the jaws of the simulated caliper just now, in mm."""

    mm: Decimal = Decimal(0)

    def __call__(self) -> Decimal:
        """Return it."""
        return self.mm


@dataclass(slots=True)
class Workshop:
    """The machine in its stand, the tools in reach and the time they live in."""

    machine: Machine
    jaws: GaugeJaws
    caliper: SimCaliper
    wrench: SimWrench
    clock: Pace
