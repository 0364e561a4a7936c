"""What a bench shows the shop of its job: in the words that stand on the bench's own screen, and no reading."""

import asyncio
from pathlib import Path
from typing import cast

import pytest

from logger.bench.bench import Bench, Opening
from logger.errors import BadInput
from logger.sheets.store import open_sheet
from logger.shop.now import job_now, sharing
from logger.shop.outbox import Outbox
from logger.trail.trail import Trail
from tests.played import BY, WHOLE, Ticking, lines_of
from tui.plain import Plain


async def test_a_job_is_told_in_words_from_its_first_prompt_to_its_closing(tmp_path: Path) -> None:
    clock, shown = Ticking(), []
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", BY))
        first = job_now(bench.moment)
        bench.listeners.append(lambda moment: shown.append(job_now(moment)))
        await Plain(bench, clock, BY, lambda _: None).run(lines_of(WHOLE))
    titles = [step.title for step in bench.moment.job.sheet.by_id.values()]
    assert (first.by, first.machine, first.closed) == (BY, "Depot 7", False)
    assert all(any(each.prompt.startswith(title) for title in titles) for each in [first, *shown[:20]])
    assert (shown[-1].prompt, shown[-1].closed) == ("Job closed", True)
    assert set(shown[-1].verdicts) <= {"inside", "done", "overridden"}


async def test_an_override_is_told_by_the_title_of_its_check(tmp_path: Path) -> None:
    with Trail.open(tmp_path / "trail.sqlite") as trail:
        bench = await Bench.open(trail, Ticking(), Opening(open_sheet("courier-chain"), "Depot 7", BY))
        check = next(check for check in bench.moment.verdicts if bench.moment.job.sheet.by_id[check.split(".")[0]])
        await bench.override(check, BY, "as the owner asked")
    told = job_now(bench.moment)
    title = bench.moment.job.sheet.by_id[check.split(".")[0]].title
    assert [each.startswith(title) for each in told.overrides] == [True]
    assert told.last.startswith(title)
    assert told.last.endswith(": overridden")


class Slow:
    """An outbox whose last event is on its way when the session ends."""

    def __init__(self) -> None:
        self.did: list[str] = []

    async def run(self) -> None:
        """Send until it is cancelled."""
        try:
            await asyncio.Event().wait()
        finally:
            self.did.append("took leave")

    async def until_kept(self) -> None:
        """Be done only after a turn of the loop."""
        await asyncio.sleep(0)
        self.did.append("the last was kept")


def test_a_session_ends_after_its_last_event_was_kept() -> None:
    slow = Slow()
    with sharing(lambda: cast("Outbox", slow)):
        assert slow.did == []
    assert slow.did == ["the last was kept", "took leave"]


def test_what_keeps_the_outbox_from_being_made_is_raised_and_nobody_waits() -> None:
    def wrong() -> Outbox:
        raise BadInput("The certificate cannot be used.", "Name a PEM file.")

    with pytest.raises(BadInput, match="certificate"), sharing(wrong):
        pytest.fail("there is nothing to offer to")
