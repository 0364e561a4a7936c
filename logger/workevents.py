"""What a person does to the machine, and says of a reading or a check, as events."""

from typing import Literal

from .confined import Confined, Digits, Id, Line, Name
from .eventparts import Figures, Verdict


class Confirmed(Confined):
    """A person confirmed every item of a confirm step."""

    kind: Literal["confirmed"] = "confirmed"
    step: Id
    items: tuple[Line, ...]


class Untouched(Confined):
    """A person confirmed that a fastener was not loosened and its witness mark is in line."""

    kind: Literal["untouched"] = "untouched"
    step: Id
    place: str = ""


class Noted(Confined):
    """A note: the answer to a note step, or a free one (`step` empty)."""

    kind: Literal["noted"] = "noted"
    step: str = ""
    text: Line


class Loosened(Confined):
    """An act: fasteners were loosened, each as `step` or `step.place`."""

    kind: Literal["loosened"] = "loosened"
    step: str = ""
    """The adjust or torque step that asked for it, or empty when a person reported it unasked."""
    fasteners: tuple[str, ...]


class Turned(Confined):
    """An act: adjusters were turned; flats as decimal text, positive tightens (axle rearward)."""

    kind: Literal["turned"] = "turned"
    step: Id
    left: Digits
    right: Digits
    advised_left: Digits | None = None
    advised_right: Digits | None = None
    before: Figures | None = None
    expected: Figures | None = None


class Seated(Confined):
    """An act: the axle was seated against its adjusters and the nut snugged, as the adjust step says."""

    kind: Literal["seated"] = "seated"
    step: Id
    items: tuple[Line, ...]


class TakenBack(Confined):
    """A reading or a pull was withdrawn; it stays on the trail. What it disturbed stays disturbed."""

    kind: Literal["taken_back"] = "taken_back"
    of: int
    """Number of the event that is taken back."""
    why: Line


class Overridden(Confined):
    """A person lets one check pass as it is."""

    kind: Literal["overridden"] = "overridden"
    check: str
    name: Name
    note: Line
    was: Verdict
