"""What a tool measured before it came in reach and sends from its memory: which readings are old, decided purely.

An old reading is offered with its flag and never answers a prompt: nobody can tell what it was measured at.
"""

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


def is_old(rule: Backlog, payload: bytes, since_ready_ns: int | None, since_old_ns: int | None) -> bool:
    """Say whether a reading is from a tool's memory.

    `since_ready_ns` is None for what came before the tool was told to be ready: nobody could have answered a prompt
    with it. `since_old_ns` is None where no reading of this link was old.
    """
    if rule.stored is not None:
        return rule.stored.hold(payload)
    if not rule.kept:
        return False
    if since_ready_ns is None or since_ready_ns < rule.settle_ms * 1_000_000:
        return True
    return since_old_ns is not None and since_old_ns < rule.press_ms * 1_000_000
