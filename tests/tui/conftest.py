"""A bench on a trail of its own, with the shipped sheet, and a hand that works at it."""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from logger.bench.bench import Bench, Opening
from logger.sheets.store import open_sheet
from logger.trail.trail import Trail

from .hand import Hand, StillClock


@pytest.fixture
def clock() -> StillClock:
    """A clock that stands until it is moved."""
    return StillClock()


@pytest.fixture
async def hand(tmp_path: Path, clock: StillClock) -> AsyncIterator[Hand]:
    """A hand at a new job on the shipped sheet."""
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        opening = Opening(open_sheet("courier-chain"), "Depot motorcycle 7", "A. Mechanic", simulated=True)
        yield Hand(await Bench.open(trail, clock, opening), clock)
