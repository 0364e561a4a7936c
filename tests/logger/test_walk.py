"""Random mechanics and machines walk three sheets: a job ends, closes on nothing stale, replays as it happened."""

import dataclasses
import functools
import os
from random import Random

import pytest

from logger import events as ev
from logger.job.job import apply, opened
from logger.job.prompt import next_prompt
from logger.job.rules import judge

from .lookback import check_closed
from .mechanic import Mechanic
from .walk import SMALL, Walk, bolted, described, sheet_of, shipped

SEEDS = range(int(os.environ.get("EVENHAND_WALKS", "18")))
"""How many walks of each kind; more by the environment, as EVENHAND_WALKS=500."""
NAMES = ("shipped", "small", "bolted")
WALKS = [pytest.param(name, seed, id=f"{name}-{seed}") for name in NAMES for seed in SEEDS]


def _bolted(seed: int) -> str:
    """A sheet with passes, an adapter and a guarded decision, each or none."""
    rng = Random(f"sheet {seed}")
    return bolted(
        fasteners=rng.randint(1, 4),
        passes=rng.randint(0, 2),
        adapter=rng.choice(("", "400 mm, 40 mm, 0", "400 mm, 40 mm, 45", "300 mm, 25 mm, 135")),
        decision=rng.choice(("simple", "guarded")),
    )


def _begun(name: str, seed: int) -> Walk:
    if name == "bolted":
        caliper = described("C1", "caliper", accuracy="0.02 mm", resolution="0.01 mm")
        return Walk(sheet_of(_bolted(seed))).say(described()).say(caliper)
    return Walk(shipped() if name == "shipped" else sheet_of(SMALL))


@functools.cache
def _walked(name: str, seed: int) -> Mechanic:
    walk = _begun(name, seed)
    mechanic = Mechanic(walk, seed)
    mechanic.work()
    return mechanic


@pytest.mark.parametrize(("name", "seed"), WALKS)
def test_any_walk_ends_clean_and_replays(name: str, seed: int) -> None:
    mechanic = _walked(name, seed)
    walk = mechanic.walk
    assert walk.job.closed, f"still at {walk.key} after {len(walk.records)} events"
    check_closed(walk)
    assert mechanic.torque_asked_while_failing == []
    assert mechanic.broken_runs == []
    assert mechanic.passes_begun_early == []


@pytest.mark.parametrize(("name", "seed"), WALKS[::9])
def test_replay_from_the_recorded_bytes_is_the_same_at_every_prefix(name: str, seed: int) -> None:
    walk = _walked(name, seed).walk
    live = Walk(walk.sheet)
    job = opened(walk.records[0], walk.sheet)
    for record in walk.records[1:]:
        stored = ev.Record.model_validate_json(record.model_dump_json())
        assert stored == record
        job, live = apply(job, stored), live.say(record.event)
        assert job == dataclasses.replace(live.job, seq=record.seq)
        assert next_prompt(job) == live.prompt
    assert job == walk.job


@pytest.mark.parametrize(("name", "seed"), WALKS[::6])
def test_taking_back_never_undoes_an_act(name: str, seed: int) -> None:
    """What is disturbed, loosened, turned or pulled never grows younger or fewer, whatever is taken back."""
    walk = _walked(name, seed).walk
    job = opened(walk.records[0], walk.sheet)
    for record in walk.records[1:]:
        after = apply(job, record)
        if isinstance(record.event, ev.TakenBack):
            assert (after.disturbed, after.turns, after.loosened) == (job.disturbed, job.turns, job.loosened)
            assert {p: len(f.pulls) for p, f in after.fasteners.items()} == {
                p: len(f.pulls) for p, f in job.fasteners.items()
            }
        assert all(after.disturbed[step] >= seq for step, seq in job.disturbed.items())
        job = after


def test_the_walks_meet_what_they_are_meant_to_meet() -> None:
    """The random mechanics do reach the corners; without this the properties above could hold for want of trying."""
    wanted = {"taken_back", "overridden", "close_refused", "untouched", "turned", "loosened", "pull_taken"}
    wanted |= {"high", "low", "stale", "uneven", "done", "slacken", "seat", "loosen"}
    for seed in range(60):
        walk = _walked(NAMES[seed % len(NAMES)], seed).walk
        wanted -= {record.event.kind for record in walk.records}
        job = opened(walk.records[0], walk.sheet)
        for record in walk.records[1:]:
            job = apply(job, record)
            wanted -= {judged.verdict for judged in judge(job).values()} | {next_prompt(job).kind}
        if not wanted:
            break
    assert not wanted
