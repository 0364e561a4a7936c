"""How a replay is played: position, speed and jumps, and verdicts recorded beside those worked out now; pure."""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger import events as ev
from logger.shelf.shelf import job_records
from tests.played import WHOLE, play
from tui.replay.replaying import (
    LEAST_MS,
    MOST_MS,
    SPEEDS,
    Frame,
    Mark,
    Player,
    beside,
    frames,
    gone,
    jumped,
    other_prompt,
    sped,
    stepped,
    ticked,
    toggled,
)


@pytest.fixture
async def records(tmp_path: Path) -> tuple[ev.Record, ...]:
    """The records of a whole job, with an override before its close."""
    path = tmp_path / "trail.sqlite"
    await play(path, (*WHOLE[:6], "override sides.agreement the gauge is new", *WHOLE[6:]))
    return job_records(path, "j1")


def _kinds(of: Sequence[Frame], mark: Mark) -> list[str]:
    return [frame.moment.record.event.kind for frame in of if mark in frame.marks]


async def test_a_frame_for_each_event_with_its_marks(records: tuple[ev.Record, ...]) -> None:
    found = frames(records)
    assert [frame.moment.record for frame in found] == list(records)
    assert _kinds(found, Mark.ADJUSTMENT) == ["turned"]
    assert _kinds(found, Mark.OVERRIDE) == ["overridden"]
    warned = [frame.moment.record.event for frame in found if Mark.WARNING in frame.marks]
    values = [(event.value, event.set_aside) for event in warned if isinstance(event, ev.ReadingTaken)]
    # slack is high at both places; the sides are overridden, so that their readings are looks
    assert values == [("145.0", ""), ("147.0", ""), *[(size, "look") for size in ("36.2", "36.8") * 2]]
    assert len(warned) == len(values)
    assert {frame.passed_ms % 1000 for frame in found} == {0}  # the clock of the script goes by whole seconds


async def test_verdicts_as_recorded_are_those_worked_out_now(records: tuple[ev.Record, ...]) -> None:
    for frame in frames(records):
        assert [each.check for each in beside(frame) if each.differs] == []
        assert other_prompt(frame) == ""


async def test_a_difference_stays_until_it_is_recorded_alike(records: tuple[ev.Record, ...]) -> None:
    """One verdict and one prompt of the trail are changed: they are told where they were, and the verdict after it."""
    at = next(n for n, record in enumerate(records) if record.shown.verdicts.get("wear") == "inside")
    shown = ev.Shown(verdicts={**records[at].shown.verdicts, "wear": "high"}, prompt="torque:axle_nut")
    changed = (*records[:at], records[at].model_copy(update={"shown": shown}), *records[at + 1 :])
    found = frames(changed)
    for number, frame in enumerate(found):
        differ = {each.check: (each.then, each.now) for each in beside(frame) if each.differs}
        assert differ == ({} if number < at else {"wear": ("high", "inside")})
        assert other_prompt(frame) == ("torque:axle_nut" if number == at else "")


async def test_a_check_that_is_gone_differs_too(records: tuple[ev.Record, ...]) -> None:
    shown = records[0].shown.model_copy(update={"verdicts": {**records[0].shown.verdicts, "horn": "waiting"}})
    (first, *_) = frames((records[0].model_copy(update={"shown": shown}), *records[1:]))
    (differing,) = [each for each in beside(first) if each.differs]
    assert (differing.check, differing.then, differing.now) == ("horn", "waiting", None)


# --- playing --------------------------------------------------------------------------------------------------------


async def test_it_plays_at_the_pace_of_the_job_and_stops_at_the_end(records: tuple[ev.Record, ...]) -> None:
    found = frames(records)
    player = toggled(Player(), found)
    assert player.playing
    before = ticked(player, found, found[1].wait_ms - 1)
    assert before.at == 0
    assert ticked(before, found, 1).at == 1
    end = ticked(player, found, sum(frame.wait_ms for frame in found[1:]))
    assert (end.at, end.playing) == (len(found) - 1, False)
    assert toggled(end, found) == Player(0, playing=True)
    assert ticked(Player(), found, 10**9) == Player()  # paused


async def test_faster_is_the_same_sooner(records: tuple[ev.Record, ...]) -> None:
    found = frames(records)
    fast = sped(sped(toggled(Player(), found), 1), 1)
    assert fast.speed == 4
    slow = ticked(toggled(Player(), found), found, 8000)
    assert ticked(fast, found, 2000).at == slow.at
    assert sped(Player(speed=SPEEDS[-1]), 1).speed == SPEEDS[-1]
    assert sped(Player(speed=SPEEDS[0]), -1).speed == SPEEDS[0] == Fraction(1, 4)


async def test_jumps_go_to_the_next_and_round_by_the_beginning(records: tuple[ev.Record, ...]) -> None:
    found = frames(records)
    places = [at for at, frame in enumerate(found) if Mark.WARNING in frame.marks]
    seen, player = [], Player(playing=True)
    for _ in range(len(places) + 1):
        moved = jumped(player, found, Mark.WARNING)
        assert moved is not None
        assert not moved.playing
        seen.append(moved.at)
        player = moved
    assert seen == [*places, places[0]]
    assert jumped(player, found, Mark.COMMENT) is None


async def test_jumps_back_go_to_the_one_before_and_round_by_the_end(records: tuple[ev.Record, ...]) -> None:
    found = frames(records)
    places = [at for at, frame in enumerate(found) if Mark.WARNING in frame.marks]
    stops: list[int] = []
    player = Player(places[-1] + 1, playing=True)
    for _ in range(len(places) + 1):
        there = jumped(player, found, Mark.WARNING, back=True)
        assert there is not None
        assert not there.playing
        stops, player = [*stops, there.at], there
    assert stops == [*reversed(places), places[-1]]
    assert jumped(player, found, Mark.COMMENT, back=True) is None


async def test_a_long_wait_is_shortened_and_a_short_one_can_be_seen(records: tuple[ev.Record, ...]) -> None:
    plain = frames(records)[1]
    waits = [Frame(plain.moment, None, ms, frozenset(), {}) for ms in (0, LEAST_MS, 1000, MOST_MS, 10**9)]
    assert [frame.wait_ms for frame in waits] == [LEAST_MS, LEAST_MS, 1000, MOST_MS, MOST_MS]
    assert [frame.shortened for frame in waits] == [False] * 4 + [True]


_MOVES = st.sampled_from(["on", "back", "play", "tick", "fast", "slow", "jump", "far"])


@given(st.lists(_MOVES, max_size=40), st.integers(1, 6))
def test_it_never_leaves_the_job(moves: list[str], count: int) -> None:
    of = [Frame(None, None, 700, frozenset({Mark.WARNING} if n % 3 == 1 else ()), {}) for n in range(count)]  # type: ignore[arg-type]
    player = Player()
    for move in moves:
        match move:
            case "on" | "back":
                player = stepped(player, of, 1 if move == "on" else -1)
            case "play":
                player = toggled(player, of)
            case "tick":
                player = ticked(player, of, 500)
            case "fast" | "slow":
                player = sped(player, 1 if move == "fast" else -1)
            case "jump":
                player = jumped(player, of, Mark.WARNING) or player
            case _:
                player = gone(player, of, 99)
        assert 0 <= player.at < count
        assert not (player.playing and player.at == count - 1)
