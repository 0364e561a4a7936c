"""The replay on the screen, by its keys: what a reviewer sees, and what is on the trail after a comment."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot

from drivers.clock import SystemClock
from drivers.reading import Link, Stamp
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.bench.comment import add_comment
from logger.job.job import fold
from logger.settings.settings import Home
from logger.sheets.store import open_sheet
from logger.shelf.shelf import begin, job_records
from logger.trail.trail import Trail
from simulators.clock import SimClock
from simulators.demo import Demo, Handover
from tests.played import WHOLE, play
from tests.tui.hand import CALIPER, Hand, StillClock
from tests.tui.hostile import HOSTILE
from tests.tui.stage import Size, seen, types
from tui.apps.replayer import ReplayApp
from tui.entry.actions import key_name
from tui.entry.keymap import Keymap
from tui.replay.haste import OPENED_NS
from tui.replay.replaying import Mark
from tui.screens.commenting import CommentDialog
from tui.screens.replay import KEYS, View
from tui.widgets.field import Field


class Slow(StillClock):
    """A clock by which a hand presses a key each tenth of a second, however quickly a test does."""

    def now(self) -> Stamp:
        """Go on, and return the moment."""
        self.ms += 100
        return super().now()


@pytest.fixture
async def home(tmp_path: Path) -> Home:
    """A home with a whole job on its trail."""
    found = Home(tmp_path)
    await play(found.trail, WHOLE)
    return found


@asynccontextmanager
async def replaying(
    home: Home, size: Size = (80, 24), records: tuple[ev.Record, ...] = (), **more: object
) -> AsyncIterator[Pilot[int]]:
    """Run the replay of a job as the command does, with dialogs that can be read at once."""
    found = records or job_records(home.trail, "j1")

    async def append(event: ev.Commented) -> ev.Record:
        return await add_comment(home, SystemClock(), fold(begin(found[0]), found[1:]), event)

    options: dict[str, Any] = {"opened_ns": 0, "clock": Slow(), **more}
    app = ReplayApp(found, append, environment={}, **options)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        yield pilot


def _app(pilot: Pilot[int]) -> ReplayApp:
    assert isinstance(pilot.app, ReplayApp)
    return pilot.app


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 40)], ids=lambda size: f"{size[0]}x{size[1]}")
async def test_a_warning_is_shown_as_the_person_saw_it(home: Home, size: Size) -> None:
    async with replaying(home, size) as pilot:
        await pilot.press("f3")
        await pilot.pause()
        text = seen(pilot)
        assert "opposite: taut down" in text
        assert "45.0 mm" in text
        assert "▲ HIGH" in text
        assert "‖ paused" in text
        assert "F2 Play" in text
        assert "F12 Leave" in text
        if size[0] > 40:
            assert "all as recorded" in text
            assert "▲ high" in text
            assert "2026-01-05 23:" in text


async def test_keys_step_jump_and_change_the_speed(home: Home) -> None:
    async with replaying(home) as pilot:
        app = _app(pilot)
        last = len(app.frames) - 1
        await pilot.press("right", "right", "left")
        assert app.player.at == 1
        await pilot.press("end")
        assert app.player.at == last
        await pilot.press("right", "up", "up", "down")
        assert (app.player.at, app.player.speed) == (last, Fraction(2))
        await pilot.press("home", "f4")
        assert isinstance(app.frames[app.player.at].moment.record.event, ev.Turned)
        await pilot.press("f5")
        await pilot.pause()
        assert "There is no override in this job." in seen(pilot)


async def test_keys_jump_back_too(home: Home) -> None:
    async with replaying(home) as pilot:
        app = _app(pilot)
        await pilot.press("f3")
        first = app.player.at
        await pilot.press("f3", "f9")
        assert app.player.at == first
        await pilot.press("end", "f10")
        assert isinstance(app.frames[app.player.at].moment.record.event, ev.Turned)
        await pilot.press("f11")
        await pilot.pause()
        assert "There is no override in this job." in seen(pilot)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=lambda size: f"{size[0]}x{size[1]}")
async def test_every_key_is_in_the_footer(home: Home, size: Size) -> None:
    async with replaying(home, size) as pilot:
        foot = "\n".join(seen(pilot).split("\n")[-2:])
        assert all(f"{key_name(action.key)} {action.label}".strip() in foot for action in KEYS)


async def test_where_the_footer_is_narrow_the_other_keys_come_one_after_the_other(home: Home) -> None:
    async with replaying(home, (40, 12)) as pilot:
        found = []
        for _ in KEYS:
            await pilot.pause()
            found.append(seen(pilot).split("\n")[-1])
            await pilot.press("f1")
        assert all("F12 Leave" in foot and "F1 More" in foot for foot in found)
        assert all(any(key_name(action.key) in foot for foot in found) for action in KEYS)


async def test_keys_that_were_given_a_meaning_do_the_same_here_and_stand_in_the_footer(home: Home) -> None:
    keymap = Keymap({"confirm": "pagedown", "take_back": "pageup", "override": "shift+f8"})
    async with replaying(home, (120, 40), keymap=keymap) as pilot:
        app, foot = _app(pilot), seen(pilot)
        assert "PgDn Play" in foot
        assert "PgUp ! Warning" in foot
        assert "Shift+F8 Sign off" in foot
        await pilot.press("pageup")
        assert Mark.WARNING in app.frames[app.player.at].marks
        await pilot.press("pagedown")
        assert app.player.playing
        await pilot.press("shift+f8")
        await pilot.pause()
        assert "PgDn Sign off" in seen(pilot)
        await pilot.press("pagedown")
        await pilot.pause()
        assert "The comment has no name." in seen(pilot)


async def test_the_tools_stand_as_they_were_at_that_event(tmp_path: Path) -> None:
    home, clock = Home(tmp_path), StillClock()
    with Trail.open(home.trail) as trail:
        hand = Hand(await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", "Robin")), clock)
        await hand.links(CALIPER, "caliper", Link.READY, 87)
        await hand.links(CALIPER, "caliper", Link.LOST, message="Out of reach.")
    async with replaying(home) as pilot:
        assert "caliper" not in seen(pilot)
        await pilot.press("right")
        await pilot.pause()
        assert f"● caliper ready 87 % {CALIPER}" in seen(pilot)
        await pilot.press("end")
        await pilot.pause()
        assert "✕ caliper lost: Out of reach." in seen(pilot)


async def test_of_a_job_without_links_no_tool_is_shown(home: Home) -> None:
    async with replaying(home) as pilot:
        await pilot.press("end")
        await pilot.pause()
        assert "No tool" not in seen(pilot)


async def test_it_plays_until_the_end_and_pauses(home: Home) -> None:
    async with replaying(home) as pilot:
        app = _app(pilot)
        app.action_play()
        await pilot.pause()
        assert "▶ playing ×1" in seen(pilot)
        assert "F2 Pause" in seen(pilot)
        await pilot.press("space")
        await pilot.pause()
        assert "‖ paused" in seen(pilot)
        await pilot.press("end", "left", "space")
        while app.player.at < len(app.frames) - 1:
            await pilot.pause()
        assert not app.player.playing


async def test_the_adjustment_stands_expected_beside_measured(home: Home) -> None:
    async with replaying(home, (120, 40)) as pilot:
        await pilot.press("f4")
        await pilot.pause()
        assert "not measured yet" in seen(pilot)
        await pilot.press("end")
        await pilot.press(*["f6"] * list(View).index(View.TURNINGS))
        await pilot.pause()
        text = seen(pilot)
        assert "1: left 5 flats tighter, right 1 flat tighter" in text
        assert "slack: expected" in text
        assert "measured 32.0 mm" in text
        assert "■ as expected" in text


async def test_the_trace_of_a_pull_with_its_window_and_peak(tmp_path: Path) -> None:
    home, demo = Home(tmp_path), Demo(7, pace=SimClock())
    with Trail.open(home.trail) as trail:
        opening = Opening(open_sheet("courier-chain"), "Depot 7", "Robin", simulated=True)
        bench = await Bench.open(trail, demo.clock, opening)
        await demo.run(bench, Handover())
    async with replaying(home, (120, 40)) as pilot:
        app = _app(pilot)
        at = next(n for n, frame in enumerate(app.frames) if isinstance(frame.moment.record.event, ev.PullTaken))
        app.action_step(at)
        await pilot.pause()
        text = seen(pilot)
        assert "PULL  Axle nut" in text
        assert "By the wrench" in text
        assert "106 ──" in text
        assert " 90 ──" in text
        assert text.count("◆") == 2  # in the plot, and beside the figure


async def test_what_differs_from_the_record_is_marked(home: Home) -> None:
    records = job_records(home.trail, "j1")
    at = next(n for n, record in enumerate(records) if record.shown.verdicts.get("wear") == "inside")
    shown = records[at].shown.model_copy(update={"verdicts": {"wear": "high"}, "prompt": "note:machine"})
    changed = (*records[:at], records[at].model_copy(update={"shown": shown}), *records[at + 1 :])
    async with replaying(home, records=changed) as pilot:
        _app(pilot).action_step(at)
        await pilot.pause()
        text = seen(pilot)
        assert "≠ 1 differ" in text
        assert "≠ Chain wear over 8 pitches" in text
        assert "was ▲ high, now ■ inside" in text
        assert "≠ the prompt was note:machine" in text


# --- comments -------------------------------------------------------------------------------------------------------


async def _comments(home: Home) -> list[ev.Commented]:
    events = (record.event for record in job_records(home.trail, "j1"))
    return [event for event in events if isinstance(event, ev.Commented)]


async def test_a_comment_is_on_the_trail_and_in_sight(home: Home) -> None:
    async with replaying(home) as pilot:
        await pilot.press("f3", "f7")
        await types(pilot, "Sam Viewer")
        await pilot.press("f3")
        await types(pilot, "seen")
        await pilot.press("f2")
        await pilot.pause()
        app = _app(pilot)
        (comment,) = await _comments(home)
        seq = app.frames[app.player.at].moment.record.seq
        assert comment == ev.Commented(at=seq, name="Sam Viewer", text="seen", signs=False)
        assert not isinstance(pilot.app.screen, CommentDialog)
        await pilot.press("end")
        await pilot.pause()
        assert "COMMENTS  1, 0 signed off" in seen(pilot)
        assert f"¶ on no. {seq}  Sam Viewer" in seen(pilot)


async def test_the_sign_off_needs_a_name_and_words(home: Home) -> None:
    async with replaying(home) as pilot:
        await pilot.press("f8", "f2")
        await pilot.pause()
        assert "The comment has no name." in seen(pilot)
        await types(pilot, "Sam\r")  # Enter answers nothing
        await pilot.press("f2")
        await pilot.pause()
        assert "The comment says nothing." in seen(pilot)
        assert await _comments(home) == []
        await pilot.press("f3")
        await types(pilot, "agreed")
        await pilot.press("f2")
        await pilot.pause()
        assert [(each.text, each.signs) for each in await _comments(home)] == [("agreed", True)]
        assert "Signed off: number" in seen(pilot)


async def test_keys_that_ran_on_into_the_dialog_do_not_fill_it(home: Home) -> None:
    clock = StillClock()
    async with replaying(home, clock=clock, opened_ns=OPENED_NS) as pilot:
        await pilot.press("f8", *"Sam", "f3", *"agreed", "f2")
        await pilot.pause()
        assert isinstance(pilot.app.screen, CommentDialog)
        assert [field.value for field in pilot.app.screen.query(Field)] == ["", ""]
        assert "they were left out" in seen(pilot)
        clock.ms += OPENED_NS // 1_000_000
        await types(pilot, "Sam")
        assert [field.value for field in pilot.app.screen.query(Field)] == ["Sam", ""]
        await pilot.press("escape")
        assert len(pilot.app.screen_stack) == 2
    assert await _comments(home) == []


@pytest.mark.parametrize(("sent", "gap_ms"), [("36.20 mm\r", 100), ("DC-1 36,20\r", 0), ("98 Nm\t", 0)])
async def test_what_a_tool_types_answers_nothing_and_stays_in_no_field(home: Home, sent: str, gap_ms: int) -> None:
    clock = Slow() if gap_ms else StillClock()
    async with replaying(home, clock=clock) as pilot:
        await pilot.press("f7")
        await pilot.pause()
        await types(pilot, sent)
        await pilot.pause()
        assert isinstance(pilot.app.screen, CommentDialog)
        assert [field.value for field in pilot.app.screen.query(Field)] == ["", ""]
        assert "A tool typed this" in seen(pilot)
    assert await _comments(home) == []


async def test_a_paste_is_refused(home: Home) -> None:
    async with replaying(home) as pilot:
        await pilot.press("f7")
        await pilot.pause()
        pilot.app.post_message(events.Paste("Sam"))
        await pilot.pause()
        assert [field.value for field in pilot.app.screen.query(Field)] == ["", ""]
        assert "Pasting is not taken" in seen(pilot)


async def test_while_a_job_is_played_the_refusal_is_shown_and_the_dialog_stays(home: Home) -> None:
    with Trail.open(home.trail):
        async with replaying(home) as pilot:
            await pilot.press("f7")
            await types(pilot, "Sam")
            await pilot.press("f3")
            await types(pilot, "seen")
            await pilot.press("f2")
            await pilot.pause()
            assert isinstance(pilot.app.screen, CommentDialog)
            assert await _comments(home) == []


@pytest.mark.parametrize("payload", HOSTILE)
async def test_nothing_hostile_gets_through(home: Home, payload: str) -> None:
    records = job_records(home.trail, "j1")
    text = (payload.encode("utf-8", "replace").decode() or "x")[:300]
    event = ev.Commented(at=1, name=f"n{text}"[:64], text=f"t{text}"[:300])
    last = records[-1].model_copy(update={"event": event, "seq": records[-1].seq + 1})
    async with replaying(home, records=(*records, last)) as pilot:
        await pilot.press("end")
        await pilot.pause()
        shown = seen(pilot)
        assert "COMMENTS  1" in shown
        assert all(character.isprintable() or character == "\n" for character in shown)
