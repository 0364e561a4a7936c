"""A clock that is put back, or a host that slept, in the middle of a job: told at once, and nothing else changes."""

import asyncio
from pathlib import Path

import pytest

from drivers.reading import Stamp
from logger.bench.bench import Bench, Opening
from logger.events import FaultTold
from logger.sheets.store import open_sheet
from logger.shelf.shelf import load_job, records
from logger.trail.proof import prove
from logger.trail.trail import Trail
from tests.played import BY, WHOLE, Ticking, lines_of
from tui.host.clockwatch import watch_the_clock
from tui.plain import Plain

HOUR_NS = 3600 * 10**9


class Stepping(Ticking):
    """A ticking clock whose wall time can be put elsewhere."""

    by = 0

    def now(self) -> Stamp:
        """Return the next second, shifted."""
        stamp = super().now()
        return Stamp(stamp.utc_ns + self.by, stamp.mono_ns)


class Workplace:
    """What the watch is given."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.warned: list[str] = []

    def warn(self, text: str) -> None:
        """Keep it."""
        self.warned.append(text)


BACK = "Between events 2 and 3 the host's clock was put back, by 1 h: go by the numbers"
AHEAD = "Between events 2 and 3 the host slept, or its clock was put forward, by 8 h. What was prompted before still"


@pytest.mark.parametrize(("hours", "says"), [(-1, BACK), (8, AHEAD)])
async def test_a_jump_is_told_at_once_and_on_a_check_and_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, hours: int, says: str
) -> None:
    monkeypatch.setattr("logger.bench.envelope._BOOT", "this-boot")
    path, clock = tmp_path / "trail.sqlite", Stepping()
    with Trail.open(path) as trail:
        bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", BY))
        workplace = Workplace(bench)
        async with asyncio.TaskGroup() as group:
            watch = group.create_task(watch_the_clock(workplace))
            await asyncio.sleep(0)
            await bench.note("12480")
            assert workplace.warned == []
            clock.by = hours * HOUR_NS
            prompt = bench.moment.prompt
            told = asyncio.Event()
            bench.listeners.append(lambda moment: told.set() if moment.record.event.kind == "fault_told" else None)
            await bench.note("fleet 7")
            await told.wait()
            await bench.note("rattles")
            watch.cancel()
    assert workplace.warned == []
    found = list(records(path, "j1"))
    assert [each.event.kind for each in found] == ["job_opened", "noted", "noted", "fault_told", "noted"]
    assert isinstance(found[3].event, FaultTold)
    assert (found[3].event.what, found[3].event.said[: len(says)]) == ("clock", says)
    assert prove(path).told == (found[3].event.said,)
    assert (found[2].utc < found[1].utc) is (hours < 0)
    assert found[1].shown.prompt == prompt.key
    assert len(bench.listeners) == 1


async def test_a_jump_at_the_very_end_of_a_session_is_told_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logger.bench.envelope._BOOT", "this-boot")
    clock = Stepping()
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", BY))
        workplace = Workplace(bench)
        async with asyncio.TaskGroup() as group:
            watch = group.create_task(watch_the_clock(workplace))
            await asyncio.sleep(0)
            clock.by = -HOUR_NS
            await bench.note("12480")
            watch.cancel()
    assert prove(tmp_path / "trail.sqlite").told[0] in [*workplace.warned, *_said(tmp_path / "trail.sqlite")]


def _said(path: Path) -> list[str]:
    return [each.event.said for each in records(path, "j1") if isinstance(each.event, FaultTold)]


async def test_a_job_whose_clock_went_back_closes_all_the_same(tmp_path: Path) -> None:
    path, clock = tmp_path / "trail.sqlite", Stepping()
    with Trail.open(path) as trail:
        bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", BY))
        await Plain(bench, clock, BY, lambda _: None).run(lines_of(WHOLE[:12]))
        clock.by = -HOUR_NS
        bench = await Bench.resume(trail, clock, "j1")
        await Plain(bench, clock, BY, lambda _: None).run(lines_of(WHOLE[12:]))
    assert load_job(path, "j1")[0].closed
