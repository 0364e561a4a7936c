"""What a profile says of readings that a tool took before it came in reach, and sends from its memory."""

from pydantic import Field

from .fields import Bits, Strict


class Backlog(Strict):
    """What a tool does with readings taken while it was out of reach."""

    kept: bool = True
    """Whether it keeps them; where not, what it sends as soon as it is linked is the press that woke it."""
    stored: Bits | None = None
    """Bits that are so in a frame from its memory; where they are named, they alone decide."""
    settle_ms: int = Field(default=0, ge=0, le=60_000)
    """What comes this soon after the tool was told to be ready comes from its memory, in milliseconds."""
    press_ms: int = Field(default=150, ge=0, le=2000)
    """What follows an old reading sooner than a person can press again is old too, in milliseconds."""


USUAL = Backlog()
"""For a profile that states nothing."""
