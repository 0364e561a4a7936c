"""The screen at the moments that matter as text files; run as a module it makes them anew.

.venv/bin/python -m tests.tui.goldens          # then read the difference
"""

import asyncio
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

from logger.bench.bench import Bench, Opening
from logger.sheets.file import load_sheet
from logger.trail.trail import Trail
from tui.apps.chooser import ChooserApp
from tui.choice import Choice
from tui.session.choosing import check

from .hand import Hand, StillClock
from .moments import DEPOT, FIGURES, Asked, Moment, moments, questions
from .replayed import Replayed, records_of, replay_shown, replays
from .stage import Size, on_stage, seen

Golden = Moment | Asked | Replayed
FOLDER = Path(__file__).with_name("goldens")
SIZES: tuple[Size, ...] = ((40, 12), (80, 24), (120, 40))


class _Placed(Bench):
    """A bench whose trail is said to be always in the same place."""

    @property
    def path(self) -> Path:
        return Path("/home/depot/trail.sqlite")


async def picture(moment: Moment, size: Size, folder: Path) -> str:
    """Play a moment on a trail of its own and return what the screen shows, framed."""
    clock = StillClock()
    with Trail.open(folder / f"{moment.name}-{size[0]}.sqlite") as trail:
        loaded = load_sheet(moment.sheet, moment.name)
        hand = Hand(await _Placed.open(trail, clock, Opening(loaded, moment.machine, "A. Mechanic")), clock)
        hand.bench.describe = lambda tool, _kind, _profile: FIGURES.get(tool)
        async with on_stage(hand, size) as pilot:
            await moment.play(hand, pilot)
            await pilot.pause()
            return framed(seen(pilot), size)


def framed(text: str, size: Size) -> str:
    """Return a screen in a frame, so that its edges and its empty rows can be seen."""
    rows = [f"│{row}" for row in text.split("\n")]
    return "\n".join([f"┌{f' {size[0]}x{size[1]} ':─^{size[0]}}", *rows, f"└{'─' * size[0]}"])


async def question(choice: Choice, size: Size) -> str:
    """Return what the screen asks before a job."""
    app = ChooserApp(DEPOT, choice, check, environment={}, read_ns=0)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        return framed(seen(pilot), size)


async def golden(moment: Golden, folder: Path) -> str:
    """Return a moment, a question before a job, or a replay, at every size."""
    if isinstance(moment, Replayed):
        records = await records_of(moment, folder)
        shown = [framed(await replay_shown(moment, records, size, folder), size) for size in SIZES]
        return "\n".join(shown) + "\n"
    if isinstance(moment, Asked):
        return "\n".join([await question(moment.choice, size) for size in SIZES]) + "\n"
    return "\n".join([await picture(moment, size, folder) for size in SIZES]) + "\n"


def path_of(moment: Golden) -> Path:
    """Return where the text of a moment is kept."""
    return FOLDER / f"{moment.name}.txt"


def everything() -> Iterable[Golden]:
    """Give the questions before a job, every moment of one, then those of its replay."""
    return (*questions(), *moments(), *replays())


async def renew(names: Iterable[str] = ()) -> None:
    """Write the moments anew (all, or those whose name holds one of these words), and take away what is none."""
    wanted = tuple(names)
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        for moment in everything():
            if not wanted or any(name in moment.name for name in wanted):
                path_of(moment).write_text(await golden(moment, Path(folder)), encoding="utf-8")
    known = {path_of(moment) for moment in everything()}
    for path in set(FOLDER.glob("*.txt")) - known:
        path.unlink()


if __name__ == "__main__":
    asyncio.run(renew(sys.argv[1:]))
