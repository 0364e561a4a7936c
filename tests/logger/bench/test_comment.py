"""A reviewer's comment: appended with name and time, signed, and nothing of the job is another after it."""

from pathlib import Path

import pytest

from drivers.clock import SystemClock
from logger.bench.comment import add_comment, commented
from logger.bench.replay import differences, moments
from logger.errors import BadInput, TrailBusy
from logger.job.happened import happened
from logger.job.rules import judge
from logger.record.record import make_record
from logger.settings.settings import Home
from logger.shelf.shelf import load_job
from logger.trail.read import verify
from logger.trail.seal import check_signatures
from logger.trail.trail import Trail
from tests.played import LAST, WHOLE, play


async def test_a_closed_job_stays_as_it_was_and_carries_the_comments(tmp_path: Path) -> None:
    home = Home(tmp_path)
    await play(home.trail, WHOLE)
    job, records = load_job(home.trail, "j1")
    for text, signs in (("the pin is new", False), ("seen and agreed", True)):
        event = commented(records, 3, " R. Viewer ", text, signs=signs)
        stored = await add_comment(home, SystemClock(), job, event)
    after, longer = load_job(home.trail, "j1")
    assert judge(after) == judge(job)
    assert (after.closed, after.overrides, after.attempts) == (True, job.overrides, job.attempts)
    assert longer[: len(records)] == records
    first, second = longer[len(records) :]
    assert second == stored
    assert happened(after, first.event) == "Comment by R. Viewer on number 3: the pin is new"
    assert happened(after, second.event) == "Signed off by R. Viewer: seen and agreed"
    assert verify(home.trail).sound
    assert check_signatures(home.trail).last == second.seq
    assert make_record(home.trail, "j1", None) is not None
    told = list(moments(longer))
    assert differences(told[-2], told[-1]) == ()


async def test_an_open_job_goes_on_at_the_same_prompt(tmp_path: Path) -> None:
    home = Home(tmp_path)
    await play(home.trail, WHOLE[: -len(LAST)])
    job, records = load_job(home.trail, "j1")
    await add_comment(home, SystemClock(), job, commented(records, records[-1].seq, "Sam", "go on", signs=False))
    await play(home.trail, LAST, resume="j1")
    assert load_job(home.trail, "j1")[0].closed


async def test_while_a_job_is_played_there_is_no_comment(tmp_path: Path) -> None:
    home = Home(tmp_path)
    await play(home.trail, WHOLE)
    job, records = load_job(home.trail, "j1")
    with Trail.open(home.trail), pytest.raises(TrailBusy):
        await add_comment(home, SystemClock(), job, commented(records, 1, "Sam", "seen", signs=True))
    assert len(load_job(home.trail, "j1")[1]) == len(records)


@pytest.mark.parametrize(
    ("at", "name", "text"),
    [
        (99, "Sam", "seen"),
        (1, " ", "seen"),
        (1, "S" * 65, "seen"),
        (1, "Sam\x1b[2J", "seen"),
        (1, "Sam", "  "),
        (1, "Sam", "x" * 301),
        (1, "Sam", "two\nlines"),
    ],
)
async def test_what_is_no_comment_is_refused(tmp_path: Path, at: int, name: str, text: str) -> None:
    home = Home(tmp_path)
    await play(home.trail, ())
    records = load_job(home.trail, "j1")[1]
    with pytest.raises(BadInput):
        commented(records, at, name, text, signs=False)
