"""Which readings come from a tool's memory: the table."""

import pytest

from drivers.hearing.old import is_old
from drivers.profile.backlog import USUAL, Backlog
from drivers.profile.fields import Bits

MS = 1_000_000
STORED = Backlog(stored=Bits(at=1, mask=0x80, equals=0x80))
SETTLES = Backlog(settle_ms=500)
FRESH, KEPT = b"\x01\x00", b"\x01\x80"


@pytest.mark.parametrize(
    ("rule", "payload", "since_ready_ms", "since_old_ms", "old"),
    [
        (USUAL, FRESH, None, None, True),  # before anybody was told that the tool is ready
        (USUAL, FRESH, 0, None, False),
        (USUAL, FRESH, 5000, None, False),
        (USUAL, FRESH, 10, 149, True),  # the memory goes on, faster than a person presses
        (USUAL, FRESH, 10, 150, False),
        (SETTLES, FRESH, 499, None, True),
        (SETTLES, FRESH, 500, None, False),
        (SETTLES, FRESH, 900, 100, True),
        (Backlog(kept=False), FRESH, None, None, False),  # the press that woke it
        (Backlog(kept=False), FRESH, 3, 3, False),
        (STORED, KEPT, 60_000, None, True),  # the tool says so itself
        (STORED, FRESH, None, None, False),
        (STORED, FRESH, 1, 1, False),
        (STORED, b"\x01", None, None, False),  # too short to say so
        (Backlog(press_ms=0), FRESH, 1, 0, False),
    ],
)
def test_what_is_old(
    rule: Backlog, payload: bytes, since_ready_ms: int | None, since_old_ms: int | None, old: bool
) -> None:
    ready = None if since_ready_ms is None else since_ready_ms * MS
    before = None if since_old_ms is None else since_old_ms * MS
    assert is_old(rule, payload, ready, before) is old
