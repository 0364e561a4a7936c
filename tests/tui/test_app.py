"""The screen by its keys and by what arrives: what a person sees, and what is on the trail after it."""

import asyncio

import pytest
from textual import events

from drivers.reading import Link
from logger import events as ev
from logger.errors import NotStored
from logger.sheets.sheet import ConfirmStep
from logger.shelf.shelf import records
from logger.trail.trail import Trail
from tui.app import EvenhandApp
from tui.exits import Exit
from tui.screens.asking import OverrideDialog, ReasonDialog, WordsDialog
from tui.screens.closed import ClosedScreen
from tui.screens.job import JobScreen
from tui.screens.showing import RefusedDialog, TurnedDialog
from tui.services import Host
from tui.widgets.field import Field

from .hand import CALIPER, WRENCH, Hand, at
from .stage import on_stage, seen, types

_SLACK = ("300.0", "345.0", "300.0", "348.0")


def _kinds(hand: Hand) -> list[str]:
    return [record.event.kind for record in records(hand.bench.path)]


def _last(hand: Hand) -> ev.Event:
    return list(records(hand.bench.path))[-1].event


# --- readings -------------------------------------------------------------------------------------------------------


async def test_an_uneven_pair_is_read_and_shown(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(at("sides", "right"), slack=_SLACK)
        await pilot.pause()
        assert "LEFT 36.20 mm" in seen(pilot)
        await hand.reads("36.95")
        await pilot.pause()
        text = seen(pilot)
        assert "RIGHT 36.95 mm" in text
        assert "◆ UNEVEN" in text
        assert "left minus right -0.75 mm" in text
        assert "SIMULATED" in text


async def test_typed_lines_are_readings_whatever_has_the_focus(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        pilot.app.set_focus(None)
        await types(pilot, "101.8 mm\r")
        event = _last(hand)
        assert isinstance(event, ev.ReadingTaken)
        assert (event.value, event.unit, event.source, event.raw) == ("101.8", "mm", "typed", "101.8 mm")
        assert hand.bench.moment.verdicts["wear"].verdict == "inside"
        assert "■ INSIDE" in seen(pilot)


@pytest.mark.parametrize("end", ["\r", "\n", "\t"])
async def test_a_line_ends_at_cr_lf_or_tab(hand: Hand, end: str) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        await types(pilot, f"101.8 mm{end}")
        assert hand.bench.moment.verdicts["wear"].verdict == "inside"


async def test_a_line_is_shown_while_it_is_typed(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await types(pilot, "36.")
        assert "typing: 36." in seen(pilot)
        await pilot.press("backspace")
        await pilot.pause()
        assert "typing: 36▏" in seen(pilot)


async def test_a_refused_line_says_why_and_is_kept(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await types(pilot, "12,5 mm\r")
        assert "write 12.5, not 12,5" in " ".join(seen(pilot).split())
        event = _last(hand)
        assert isinstance(event, ev.FrameUndecoded)
        assert bytes.fromhex(event.raw).decode() == "12,5 mm"


async def test_a_half_line_expires_and_is_told(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await types(pilot, "12.")
        hand.clock.ms += 2000
        app = pilot.app
        assert isinstance(app, EvenhandApp)
        await app._door.tick()
        await pilot.pause()
        assert "typing" not in seen(pilot)
        assert "the end of the line never came" in seen(pilot)
        assert isinstance(_last(hand), ev.FrameUndecoded)


async def test_a_paste_is_refused(hand: Hand) -> None:
    await hand.until(at("wear"))
    before = len(_kinds(hand))
    async with on_stage(hand) as pilot:
        pilot.app.post_message(events.Paste("101.8 mm\r101.9 mm\r"))
        await pilot.pause()
        assert "Pasting is not taken" in seen(pilot)
    assert "reading_taken" not in _kinds(hand)[before:]


async def test_a_look_at_the_adjust_prompt_is_shown_and_counts_for_nothing(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
        await hand.reads("36.50")
        await pilot.pause()
        assert "36.50 mm  Does not count" in seen(pilot)
        assert hand.bench.moment.prompt.kind == "turn"


async def test_a_pull_climbs_on_the_screen(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    async with on_stage(hand) as pilot:
        for text in ("0", "20", "60", "95", "99"):
            await hand.samples(text)
            hand.clock.ms += 50
        app = pilot.app
        assert isinstance(app, EvenhandApp)
        app._paint_pull()
        await pilot.pause()
        text = seen(pilot)
        assert "! PAST THE AIM: stop" in text
        assert "most 99 N·m  aim 98 N·m" in text
        assert "█" in text


async def test_a_pull_past_its_aim_rings_before_the_limit_once_and_again_past_it(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    async with on_stage(hand) as pilot:
        app, rung = pilot.app, list[str]()
        assert isinstance(app, EvenhandApp)
        monkeypatch.setattr(app, "bell", lambda: rung.append("bell"))
        for text, bells in (("0", 0), ("60", 0), ("95", 0), ("99", 1), ("100", 1), ("107", 2), ("108", 2)):
            await hand.samples(text)
            hand.clock.ms += 50
            app._paint_pull()
            assert len(rung) == bells, text


async def test_what_fails_rings_each_time(hand: Hand, monkeypatch: pytest.MonkeyPatch) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        rung: list[str] = []
        monkeypatch.setattr(pilot.app, "bell", lambda: rung.append("bell"))
        for count, text in enumerate(("102.95", "102.97", "102.96"), 1):
            await hand.reads(text)
            await pilot.pause()
            assert len(rung) == count
        await hand.reads("101.80")
        await pilot.pause()
        assert len(rung) == 3


async def test_banners_wait_behind_each_other_until_escape(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        app = pilot.app
        assert isinstance(app, EvenhandApp)
        for text in ("The wrench cannot decide.", "The clock was put back.", "The clock was put back."):
            app.warn(text)
        await pilot.pause()
        assert "The wrench cannot decide. (Esc: 1 more)" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert "The clock was put back. (Esc)" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert "(Esc" not in seen(pilot)


async def test_a_banner_that_does_not_fit_is_read_to_its_end(hand: Hand) -> None:
    sentences = [f"Sentence number {number} of what the tools cannot decide." for number in range(12)]
    async with on_stage(hand, (40, 12)) as pilot:
        app = pilot.app
        assert isinstance(app, EvenhandApp)
        app.warn(" ".join(sentences))
        told = ""
        for _ in range(12):
            await pilot.pause()
            told += " " + " ".join(seen(pilot).split())
            await pilot.press("escape")
        await pilot.pause()
        assert all(f"number {number}" in told for number in range(12))
        assert "tools cannot decide. (Esc)" in told
        assert "Sentence" not in seen(pilot)


async def test_the_advice_that_does_not_fit_is_paged(hand: Hand) -> None:
    async with on_stage(hand, (40, 12)) as pilot:
        await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
        await pilot.pause()
        assert "Now: slack" not in seen(pilot)
        await pilot.press("pagedown")
        await pilot.pause()
        assert "Now: slack" in seen(pilot)


async def test_tools_show_link_and_battery_as_words(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.links(CALIPER, "caliper", Link.READY, 87)
        await hand.links(WRENCH, "torque wrench", Link.LOST, message="Gone: bring it nearer.")
        await pilot.pause()
        text = seen(pilot)
        assert "● caliper ready 87 %" in text
        assert "✕ torque wrench lost: Gone" in text


# --- keys -----------------------------------------------------------------------------------------------------------


async def test_confirm_and_a_note_by_their_keys(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f4")
        assert isinstance(pilot.app.screen, WordsDialog)
        await types(pilot, "12480")
        await pilot.press("f2")
        await pilot.pause()
        assert isinstance(pilot.app.screen, JobScreen)
        assert hand.bench.moment.job.notes["mileage"][1] == "12480"
        await hand.until(at("ready"))
        await pilot.press("f2")
        await pilot.pause()
        assert hand.bench.moment.verdicts["ready"].verdict == "done"


async def test_a_note_that_is_refused_stays_open_and_says_why(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f4")
        await types(pilot, "many")
        await pilot.press("f2")
        await pilot.pause()
        assert isinstance(pilot.app.screen, WordsDialog)
        assert '"many" is not a number' in seen(pilot)
        await pilot.press("escape")
        assert isinstance(pilot.app.screen, JobScreen)
        assert "noted" not in _kinds(hand)


async def test_what_cannot_be_done_now_says_why(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f2")
        await pilot.pause()
        assert "Nothing to confirm now" in seen(pilot)


async def test_take_back_asks_why(hand: Hand) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    async with on_stage(hand) as pilot:
        await pilot.press("f3")
        assert isinstance(pilot.app.screen, ReasonDialog)
        assert "300.0 mm for Chain slack" in seen(pilot)
        await pilot.press("f3", "down", "f2")
        await pilot.pause()
        event = _last(hand)
        assert isinstance(event, ev.TakenBack)
        assert event.why == "pressed by mistake"
        assert hand.bench.moment.prompt.part == "taut down"


async def test_take_back_in_own_words(hand: Hand) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    async with on_stage(hand) as pilot:
        await pilot.press("f3", "f7")
        await pilot.pause()
        await types(pilot, "slipped")
        await pilot.press("f2")
        await pilot.pause()
        event = _last(hand)
        assert isinstance(event, ev.TakenBack)
        assert event.why == "slipped"


async def test_nothing_to_take_back_is_said(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f3")
        await pilot.pause()
        assert "There is no reading to take back" in seen(pilot)


async def test_the_advice_is_shown_and_turned_as_advised(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "loosen", slack=_SLACK, sides=("36.20", "36.95") * 2)
        await pilot.press("f7")
        await pilot.pause()
        text = seen(pilot)
        assert "LEFT: 5 flats tighter" in text
        assert "RIGHT: leave it" in text
        assert "Tighter is clockwise" in text
        assert "Expected after: slack tightest" in text
        await pilot.press("f5")
        await pilot.pause()
        event = _last(hand)
        assert isinstance(event, ev.Turned)
        assert (event.left, event.right) == ("5", "0") == (event.advised_left, event.advised_right)


async def test_turned_otherwise_is_counted_by_arrows(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
        await pilot.press("f6")
        assert isinstance(pilot.app.screen, TurnedDialog)
        await pilot.press("up", "right", "down", "pageup", "f2")
        await pilot.pause()
        event = _last(hand)
        assert isinstance(event, ev.Turned)
        assert (event.left, event.right, event.advised_left) == ("6", "-0.5", "5")


async def test_a_refused_closing_lists_what_is_open_and_what_settles_it(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand, (80, 40)) as pilot:
        await pilot.press("f9")
        await pilot.pause()
        assert isinstance(pilot.app.screen, RefusedDialog)
        text = seen(pilot)
        assert "Closing refused: 11 checks are open" in text
        assert "○ WAITING  Axle nut" in text
        assert "Measure Chain wear over 8 pitches" in text
        await pilot.press("escape")
        assert isinstance(pilot.app.screen, JobScreen)
    assert "close_refused" in _kinds(hand)


async def test_more_open_checks_than_fit_can_be_paged(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f9")
        await pilot.pause()
        assert "more: PageDown" in seen(pilot)
        for _ in range(4):
            await pilot.press("pagedown")
        await pilot.pause()
        assert "Lubricated, guard on, tools in" in seen(pilot)


# --- overrides ------------------------------------------------------------------------------------------------------


async def test_an_override_needs_name_and_note_and_is_on_the_trail(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f8")
        assert isinstance(pilot.app.screen, OverrideDialog)
        await pilot.press("f2")
        await pilot.pause()
        assert "needs a name and a note" in seen(pilot)
        await pilot.press("down")
        await types(pilot, "plate lost")
        await pilot.press("f3")
        await types(pilot, "Jo")
        await pilot.press("f2")
        await pilot.pause()
        event = _last(hand)
        assert isinstance(event, ev.Overridden)
        assert (event.check, event.name, event.note) == ("identity", "Jo", "plate lost")
        assert "⚑ overridden" in seen(pilot)


async def test_the_override_begins_at_the_check_that_is_asked_for(hand: Hand) -> None:
    await hand.until(at("slack", "opposite"), slack=_SLACK)
    async with on_stage(hand, (80, 40)) as pilot:
        await pilot.press("f8")
        await pilot.pause()
        assert "▸ ▲ HIGH  Chain slack, middle of lower run, tightest" in seen(pilot)


async def test_no_dialog_is_answered_by_what_a_tool_types(hand: Hand) -> None:
    await hand.until(at("wear"))
    before = len(_kinds(hand))
    async with on_stage(hand) as pilot:
        for key in ("f8", "f4", "f9"):
            await pilot.press(key)
            await pilot.pause()
            dialog = pilot.app.screen
            await types(pilot, "12.01\r9.50\r-0.02\t+1,5\n N·m mm\r")
            assert pilot.app.screen is dialog, key
            await pilot.press("escape")
            await pilot.pause()
    assert "overridden" not in _kinds(hand)[before:]
    assert "noted" not in _kinds(hand)[before:]


async def test_a_reading_typed_into_a_field_goes_to_the_bench(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        await pilot.press("f4")
        await types(pilot, "worn ")
        hand.clock.ms += 2500
        await types(pilot, "101.8 mm\r")
        await pilot.pause()
        assert pilot.app.screen.query_one(Field).value == "worn "
        assert hand.bench.moment.verdicts["wear"].verdict == "inside"


async def test_a_radio_reading_counts_while_a_dialog_is_open(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        await pilot.press("f8")
        await hand.reads("101.8")
        await pilot.pause()
        assert isinstance(pilot.app.screen, OverrideDialog)
        assert hand.bench.moment.verdicts["wear"].verdict == "inside"
        assert "Taken: 101.8 mm" in seen(pilot)


# --- leaving --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["f12", "ctrl+c", "ctrl+q"])
async def test_leaving_asks_twice_and_leaves_the_job_open(hand: Hand, key: str) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press(key)
        await pilot.pause()
        assert "evenhand resume j1" in seen(pilot)
        assert "interrupted" not in _kinds(hand)
        await pilot.press(key)
        await pilot.pause(0.05)
    assert pilot.app.return_value == Exit.LEFT_OPEN
    assert _kinds(hand)[-1] == "interrupted"


async def test_a_second_press_that_comes_late_only_asks_again(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f12")
        hand.clock.ms += 3001
        await pilot.press("f12")
        await pilot.pause()
        assert "interrupted" not in _kinds(hand)
        assert pilot.app.return_value is None


async def test_leaving_is_asked_for_in_a_dialog_too(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f8", "f12")
        await pilot.pause()
        assert "evenhand resume j1" in seen(pilot)


@pytest.mark.parametrize("key", ["ctrl+z", "ctrl+p", "escape", "enter", "tab"])
async def test_no_other_key_leaves_or_suspends(hand: Hand, key: str) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press(key, key)
        await pilot.pause()
        assert isinstance(pilot.app.screen, JobScreen)
        assert pilot.app.return_value is None


async def test_the_closed_page_says_where_the_record_is_and_waits_for_a_key(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "close")
        await pilot.press("f9")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ClosedScreen)
        text = seen(pilot)
        assert "evenhand record j1 --format html --out j1.html" in text
        assert "Due: Check chain slack again, after 300 km" in text
        await types(pilot, "12.34\r")
        assert pilot.app.return_value is None, "a tool's keys do not leave it"
        await pilot.press("escape")
        await pilot.pause(0.05)
    assert pilot.app.return_value == Exit.DONE


async def test_a_torque_let_pass_stands_in_large_type_on_the_closed_page(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
        await hand.torques("108")
        await hand.bench.override("axle_nut", "Jo", "no other nut here")
        await hand.until(lambda prompt: prompt.kind == "closed")
        await pilot.pause()
        text = seen(pilot)
        assert "Closed: not to be ridden or run" in text
        assert "NOT TO BE RIDDEN OR RUN: Axle nut" in text
        assert "⚑ overridden Axle nut" in text


# --- what goes wrong ------------------------------------------------------------------------------------------------


async def test_a_service_that_fails_is_a_banner_and_the_screen_lives(hand: Hand) -> None:
    async def radio(_: Host) -> None:
        raise ValueError("\x1b[2J[bold]boom")

    async with on_stage(hand, services=[radio]) as pilot:
        await pilot.pause(0.05)
        assert "! radio stopped: ValueError: ␛[2J[bold]boom" in seen(pilot)
        await types(pilot, "12")
        assert "typing: 12" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert "(Esc)" not in seen(pilot)
    assert isinstance(_last(hand), ev.FaultTold)


async def test_an_exception_nobody_waits_for_is_a_banner(hand: Hand) -> None:
    def astray() -> None:
        raise ValueError("astray")

    async with on_stage(hand) as pilot:
        asyncio.get_running_loop().call_soon(astray)
        await pilot.pause()
        assert "astray" in seen(pilot)


async def test_what_is_not_stored_is_told_and_decides_the_exit_code(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise NotStored("The disk is full.", "Make room.")

    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        monkeypatch.setattr(Trail, "append", full)
        await types(pilot, "101.8 mm\r")
        assert "NOT STORED. The disk is full. Make room." in seen(pilot)
        assert hand.bench.moment.verdicts["wear"].verdict == "waiting"
        await pilot.press("f12", "f12")
        await pilot.pause(0.05)
    assert pilot.app.return_value == Exit.NOT_STORED


class _Reins:
    """The reins of a mechanic, as the demo has them."""

    def __init__(self) -> None:
        self.paused = False
        self.gone = False

    def toggle(self) -> None:
        self.paused = not self.paused

    def take_over(self) -> None:
        self.gone = True


async def test_the_mechanic_of_a_demo_is_paused_and_sent_home(hand: Hand) -> None:
    reins = _Reins()
    async with on_stage(hand, demo=reins) as pilot:
        await pilot.press("f10")
        await pilot.pause()
        assert reins.paused
        assert "SIMULATED · paused" in seen(pilot)
        assert "F10 Go on" in seen(pilot)
        await pilot.press("f11")
        await pilot.pause()
        assert reins.gone
        assert "by hand" in seen(pilot)
        assert "F10" not in seen(pilot)


# --- slips of the hand ----------------------------------------------------------------------------------------------


async def test_what_did_not_fit_is_shown_before_it_can_be_confirmed(hand: Hand) -> None:
    await hand.until(at("ready"))
    async with on_stage(hand, (40, 12)) as pilot:
        shown = seen(pilot)
        for _ in range(10):
            await pilot.press("f2")
            await pilot.pause()
            if hand.bench.moment.prompt.step != "ready":
                break
            shown += seen(pilot)
            assert "There was more to read" in seen(pilot)
        step = hand.bench.moment.job.sheet.by_id["ready"]
        assert isinstance(step, ConfirmStep)
        read = " ".join(shown.replace("│", " ").split())
        assert all(item.split()[-1] in read for item in step.items)
        assert hand.bench.moment.verdicts["ready"].verdict == "done"


async def test_keys_that_do_not_fit_are_a_key_away(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand, (40, 12)) as pilot:
        assert "→ More" in seen(pilot)
        assert "F8 Override" not in seen(pilot)
        shown = ""
        for _ in range(4):
            await pilot.press("right")
            await pilot.pause()
            assert seen(pilot).rstrip().endswith("→ More  F12 Leave")
            shown += seen(pilot)
        assert all(word in shown for word in ("F8 Override", "F9 Close job", "F4 Note"))


async def test_a_key_that_bounces_confirms_nothing_unread(hand: Hand) -> None:
    await hand.until(at("ready"))
    app = EvenhandApp(hand.bench, clock=hand.clock, environment={}, back_off=(), drain_s=0.001)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("f2", "f2", "f2")
        await pilot.pause()
        assert hand.bench.moment.prompt.step == "chain"
        assert "Read it first" in seen(pilot)
        hand.clock.ms += 701
        await pilot.press("f2")
        await pilot.pause()
        assert hand.bench.moment.prompt.step == "wear"


async def test_what_was_typed_into_a_field_is_not_the_beginning_of_the_next_reading(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        for leave in ("f2", "escape"):
            await pilot.press("f4")
            await types(pilot, "10")
            await pilot.press(leave)
            await pilot.pause()
        await types(pilot, "101.8 mm\r")
        taken = hand.bench.moment.record.event
        assert isinstance(taken, ev.ReadingTaken)
        assert taken.value == "101.8"


async def test_loosened_unasked_wants_a_second_press(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        await pilot.press("f7")
        await pilot.pause()
        assert "F7 again" in seen(pilot)
        assert not hand.bench.moment.job.loosened
        hand.clock.ms += 3001
        await pilot.press("f7")
        await pilot.pause()
        assert not hand.bench.moment.job.loosened
        await pilot.press("f7")
        await pilot.pause()
        assert hand.bench.moment.job.loosened
