"""A stored job of another, played: whatever its events hold, every frame can be drawn, or the job is refused."""

import json
from collections.abc import Sequence
from functools import reduce

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from drivers.reading import Link
from logger import events as ev
from logger.errors import EvenhandError
from tests.forged import DIGITS, UNITS, Tree, alike, edged, played
from tests.fuzz import ends, fuzzed
from tui.glance.glance import glance
from tui.replay.linked import linked
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
from tui.replay.traced import last_pull, plot_of
from tui.replay.turned import OUTCOMES, turnings

SEEN: Tree = {
    "kind": "tool_seen",
    "tool": "TW-1",
    "tool_kind": "torque wrench",
    "link": "ready",
    "battery": 40,
    "address": "A1",
    "serial": "TW-1",
    "model": "",
    "firmware": "",
    "message": "",
    "profile": "wrench",
}
PASSED: Tree = {"kind": "overridden", "check": "chain", "name": "Robin", "note": "seen twice", "was": "waiting"}


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> list[Tree]:
    """A whole job of which a wrench was heard and a check let pass, too."""
    records = played(tmp_path_factory.mktemp("played") / "trail.sqlite")
    more = [records[2] | {"event": event, "shown": records[1]["shown"]} for event in (SEEN, PASSED)]
    return [*records[:2], *more, *records[2:]]


def taken(records: Sequence[Tree]) -> tuple[ev.Record, ...]:
    """Return records as a trail gives them; none where a model refuses one, which is for whoever reads the trail."""
    try:
        return tuple(ev.Record.model_validate_json(json.dumps(each | {"seq": n})) for n, each in enumerate(records, 1))
    except ValidationError:
        return ()


def framed(records: Sequence[Tree]) -> tuple[Frame, ...]:
    """Return the frames of a job; none where it is refused."""
    try:
        return frames(taken(records))
    except EvenhandError:
        return ()


def drawn(found: Sequence[Frame]) -> None:
    """Make all that stands beside the screen, of each frame: no event may keep a job from being looked at."""
    for at, frame in enumerate(found):
        assert LEAST_MS <= frame.wait_ms <= MOST_MS
        assert glance(frame.moment, frame.slot).big
        assert {each.check for each in beside(frame)} == {*frame.moment.verdicts, *frame.then}
        assert other_prompt(frame) in ("", frame.moment.record.shown.prompt)
        pulled = last_pull(found, at)
        plot = None if pulled is None else plot_of(pulled.moment)
        assert (plot is None) is (pulled is None)
        if plot is not None and plot.points:
            assert plot.points[plot.most][1] == max(torque for _, torque in plot.points)
    if found:
        told = turnings(found, len(found) - 1)
        assert len(told) == len(found[-1].moment.job.turns)
        assert {how for each in told for *_, how in each.figures} <= {"", *OUTCOMES.values()}


@fuzzed(20)
@given(st.data())
def test_fuzz_every_frame_of_a_job_of_another_can_be_drawn(job: list[Tree], data: st.DataObject) -> None:
    records = data.draw(edged(job))
    for _ in range(data.draw(st.integers(0, 2))):
        at, to = (data.draw(st.integers(1, len(records) - 1)) for _ in range(2))
        records.insert(to, records[at] if data.draw(st.booleans()) else records.pop(at))
    with ends():
        drawn(framed(records))


@pytest.mark.parametrize(
    ("digits", "unit"), [*((digits, "N·m") for digits in DIGITS), *(("98.1", unit) for unit in UNITS)]
)
def test_a_pull_of_any_digits_and_unit_can_be_drawn(job: list[Tree], digits: str, unit: str) -> None:
    at = next(n for n, each in enumerate(job) if each["event"]["kind"] == "pull_taken")
    trace = [[0, digits], [2**53 - 1, "90"], [5, digits], [1 - 2**53, "0"]]
    changed = {"unit": unit, "trace": trace, "own_peak": digits, "host_peak": digits}
    with ends():
        found = framed([*job[:at], job[at] | {"event": job[at]["event"] | changed}])
        drawn(found)
    assert len(found) == at + 1
    plot = plot_of(found[-1].moment)
    assert plot is not None
    assert (plot.low is None) is (unit not in ("N·m", "lbf·ft"))


MOVES = st.one_of(
    st.tuples(st.just("toggled")),
    st.tuples(st.just("ticked"), st.integers(0, 10**9)),
    st.tuples(st.just("gone"), st.integers(-(10**9), 10**9)),
    st.tuples(st.just("stepped"), st.integers(-(10**9), 10**9)),
    st.tuples(st.just("jumped"), st.sampled_from(Mark), st.booleans()),
    st.tuples(st.just("sped"), st.integers(-99, 99)),
)


def moved(player: Player, of: Sequence[Frame], move: tuple[object, ...]) -> Player:
    """Return a player after one key, or after some time."""
    match move:
        case ("ticked", int(ms)):
            return ticked(player, of, ms)
        case ("gone", int(at)):
            return gone(player, of, at)
        case ("stepped", int(by)):
            return stepped(player, of, by)
        case ("jumped", Mark() as mark, bool(back)):
            return jumped(player, of, mark, back=back) or player
        case ("sped", int(by)):
            return sped(player, by)
        case _:
            return toggled(player, of)


@fuzzed(20)
@given(st.data())
def test_fuzz_any_keys_keep_a_player_within_a_job_of_another(job: list[Tree], data: st.DataObject) -> None:
    length = data.draw(st.integers(1, len(job)))
    found = framed(data.draw(edged(job[:length])))
    player = Player()
    for move in data.draw(st.lists(MOVES, max_size=20)) if found else ():
        with ends():
            player = moved(player, found, move)
        assert 0 <= player.at < len(found)
        assert player.speed in SPEEDS
        assert player.waited_ms >= 0
        assert not (player.playing and player.at == len(found) - 1)


@st.composite
def heard(draw: st.DrawFn) -> list[ev.Event]:
    """Draw what may stand on a trail of tools that come, go and are named anew, and of whoever takes the job up."""
    found: list[ev.Event] = []
    for _ in range(draw(st.integers(1, 12))):
        few = {key: draw(st.sampled_from(("", "A1", "B2"))) for key in ("tool", "address")}
        odd = {key: draw(alike(SEEN[key])) for key in draw(st.sets(st.sampled_from(sorted({*SEEN} - {"kind"}))))}
        link = {"link": draw(st.sampled_from([*(each.value for each in Link), "entangled"]))}
        try:
            found.append(ev.ToolSeen.model_validate_json(json.dumps(SEEN | few | link | odd)))
        except ValidationError:
            found.append(ev.JobResumed(by="Robin"))
    return found


@fuzzed(60)
@given(heard())
def test_fuzz_no_two_links_are_of_one_tool(events: list[ev.Event]) -> None:
    tools = reduce(linked, events, linked({}, ev.JobResumed(by="Robin")))
    assert all(name == state.tool for name, state in tools.items())
    addresses = [state.address for state in tools.values() if state.address]
    assert len(addresses) == len(set(addresses))
    last = events[-1]
    if isinstance(last, ev.ToolSeen) and last.link in set(Link):
        assert tools[last.tool].link == last.link
    elif isinstance(last, ev.JobResumed):
        assert not tools
