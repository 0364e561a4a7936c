"""A job played by typed lines on a bench of its own, for tests that need one on the trail."""

from collections.abc import AsyncIterator, Iterable
from dataclasses import dataclass
from pathlib import Path

from drivers.reading import Stamp
from logger.bench.bench import Bench, Opening
from logger.sheets.store import open_sheet
from logger.trail.trail import Trail
from tui.plain import Plain

BY = "Robin"
AS_FOUND = ("note 12480", "note fleet 7, rattles", "done", "done", "101.8 mm", "done")
SLACK_HIGH = ("100 mm", "145.0 mm", "100 mm", "147.0 mm")
SIDES_UNEVEN = ("36.2 mm", "36.8 mm", "36.2 mm", "36.8 mm")
"""So near the limit that each side is asked for once more."""
ADJUSTED = ("loosened", "turned", "done", "100.0 mm", "132.0 mm", "36.9 mm", "36.8 mm")
TORQUED = ("98 N·m", "21 N.m", "21 Nm", "100 mm", "131.5 mm", "100 mm", "133.0 mm", "36.9 mm", "36.8 mm")
LAST = ("done", "done", "done", "close")
WHOLE = (*AS_FOUND, *SLACK_HIGH, *SIDES_UNEVEN, *ADJUSTED, *TORQUED, *LAST)
"""The whole job on the shipped sheet: slack high and sides uneven as found, one adjustment, all inside after it."""


@dataclass(slots=True)
class Ticking:
    """A clock that goes one second on at each look, from 2026-01-05T23:30:00Z."""

    ns: int = 1_767_655_800 * 10**9

    def now(self) -> Stamp:
        """Return the next second."""
        self.ns += 10**9
        return Stamp(self.ns, self.ns - 1_767_655_800 * 10**9)


async def lines_of(script: Iterable[str]) -> AsyncIterator[str]:
    """Give a script as typed lines."""
    for line in script:
        yield line


async def play(
    path: Path, script: Iterable[str], *, offset: str = "+00:00", resume: str = "", sheet: str = "courier-chain"
) -> list[str]:
    """Play a script on a new job (or on the one to resume) of the trail at `path`; return all that was said."""
    said: list[str] = []
    clock = Ticking()
    with Trail.open(path) as trail:
        if resume:
            bench = await Bench.resume(trail, clock, resume)
        else:
            bench = await Bench.open(trail, clock, Opening(open_sheet(sheet), "Depot 7", BY, offset=offset))
        await Plain(bench, clock, BY, said.append).run(lines_of(script))
    return said
