"""The screen by its keys: what each does, what a dialog asks, and what a slip of the hand does not do."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from textual import events
from textual.pilot import Pilot

from logger import events as ev
from logger.sheets.sheet import ConfirmStep
from tests.tui.hand import TOO_SLACK, Hand, at
from tests.tui.stage import Size, on_stage, seen, types
from tui.apps.app import EvenhandApp, Waits
from tui.screens.asking import OverrideDialog, ReasonDialog, WordsDialog
from tui.screens.job import JobScreen
from tui.screens.showing import RefusedDialog, TurnedDialog
from tui.widgets.field import Field


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
        assert "noted" not in hand.kinds()


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
        event = hand.last()
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
        event = hand.last()
        assert isinstance(event, ev.TakenBack)
        assert event.why == "slipped"


async def test_nothing_to_take_back_is_said(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f3")
        await pilot.pause()
        assert "There is no reading to take back" in seen(pilot)


async def test_the_advice_is_shown_and_turned_as_advised(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "loosen", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
        await pilot.pause()
        await pilot.press("f7")
        await pilot.pause()
        text = seen(pilot)
        assert "LEFT: 5 flats tighter" in text
        assert "RIGHT: leave it" in text
        assert "Tighter is clockwise" in text
        assert "Expected after: slack tightest" in text
        await pilot.press("f5")
        await pilot.pause()
        event = hand.last()
        assert isinstance(event, ev.Turned)
        assert (event.left, event.right) == ("5", "0") == (event.advised_left, event.advised_right)


async def test_turned_otherwise_is_counted_by_arrows(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "turn", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
        await pilot.press("f6")
        assert isinstance(pilot.app.screen, TurnedDialog)
        await pilot.press("up", "right", "down", "pageup", "f2")
        await pilot.pause()
        event = hand.last()
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
    assert "close_refused" in hand.kinds()


async def test_more_open_checks_than_fit_can_be_paged(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f9")
        await pilot.pause()
        assert "more: PageDown" in seen(pilot)
        for _ in range(4):
            await pilot.press("pagedown")
        await pilot.pause()
        assert "Lubricated, guard on, tools in" in seen(pilot)


# --- overrides --------------------------------------------------------------------------------------------------------


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
        event = hand.last()
        assert isinstance(event, ev.Overridden)
        assert (event.check, event.name, event.note) == ("identity", "Jo", "plate lost")
        assert "⚑ overridden" in seen(pilot)


async def test_the_override_warns_where_a_life_hangs_on_the_check(hand: Hand) -> None:
    await hand.until(at("ready"))
    async with on_stage(hand) as pilot:
        await pilot.press("f8")
        await pilot.pause()
        assert "If let pass, NOT TO BE RIDDEN OR RUN." in seen(pilot)
        await pilot.press("down", "down")
        await pilot.pause()
        assert "NOT TO BE RIDDEN" not in seen(pilot)


async def test_the_override_begins_at_the_check_that_is_asked_for(hand: Hand) -> None:
    await hand.until(at("slack", "opposite"), slack=TOO_SLACK)
    async with on_stage(hand, (80, 40)) as pilot:
        await pilot.press("f8")
        await pilot.pause()
        assert "▸ ▲ HIGH  Chain slack, middle of lower run, tightest" in seen(pilot)


async def test_no_dialog_is_answered_by_what_a_tool_types(hand: Hand) -> None:
    await hand.until(at("wear"))
    before = len(hand.kinds())
    async with on_stage(hand) as pilot:
        for key in ("f8", "f4", "f9"):
            await pilot.press(key)
            await pilot.pause()
            dialog = pilot.app.screen
            await types(pilot, "12.01\r9.50\r-0.02\t+1,5\n N·m mm\r")
            assert pilot.app.screen is dialog, key
            await pilot.press("escape")
            await pilot.pause()
    assert "overridden" not in hand.kinds()[before:]
    assert "noted" not in hand.kinds()[before:]


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


# --- slips of the hand ------------------------------------------------------------------------------------------------


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


LONG_ENOUGH_MS = 5000
"""More than a prompt has to be in sight, and what a busy host takes between a press and its answer."""


@asynccontextmanager
async def _patient(hand: Hand, size: Size = (80, 24)) -> AsyncIterator[Pilot[int]]:
    """The app as it is for a person: a prompt counts as read once it was in sight for a while."""
    app = EvenhandApp(hand.bench, clock=hand.clock, environment={}, waits=Waits(back_off=(), drain_s=0.001))
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        hand.clock.ms += LONG_ENOUGH_MS
        yield pilot


async def _burst(pilot: Pilot[int], *keys: str) -> None:
    """Let keys come all at once, as after a stall: none waits for what the one before it did."""
    for key in keys:
        pilot.app.post_message(events.Key(key, None))
    for _ in range(len(keys) + 2):
        await pilot.pause()


async def test_a_key_that_bounces_confirms_nothing_unread(hand: Hand) -> None:
    await hand.until(at("ready"))
    async with _patient(hand) as pilot:
        await pilot.press("f2", "f2", "f2")
        await pilot.pause()
        assert hand.bench.moment.prompt.step == "chain"
        assert "Read it first" in seen(pilot)
        hand.clock.ms += LONG_ENOUGH_MS
        await pilot.press("f2")
        await pilot.pause()
        assert hand.bench.moment.prompt.step == "wear"


async def test_a_burst_confirms_one_prompt_only(hand: Hand) -> None:
    await hand.until(at("pin"))
    async with _patient(hand) as pilot:
        await _burst(pilot, "f2", "f2", "f2", "f2")
        assert hand.bench.moment.verdicts["pin"].verdict == "done"
        assert hand.bench.moment.verdicts["brake"].verdict == "waiting"


async def test_a_prompt_that_was_never_painted_is_not_confirmed_however_long_the_last_stood(hand: Hand) -> None:
    await hand.until(at("pin"))
    async with on_stage(hand) as pilot:  # here nothing has to be in sight for any time
        await _burst(pilot, "f2", "f2")
        assert hand.bench.moment.prompt.step == "brake"


async def test_a_burst_does_not_confirm_the_page_that_it_brought_into_sight(hand: Hand) -> None:
    await hand.until(at("ready"))
    async with _patient(hand, (40, 12)) as pilot:
        await _burst(pilot, *["f2"] * 8)
        assert hand.bench.moment.prompt.step == "ready"


async def test_a_burst_accepts_no_dialog_and_no_advice(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "loosen", slack=TOO_SLACK)
    async with _patient(hand) as pilot:
        before = hand.kinds()
        await _burst(pilot, "f3", "f2")
        assert isinstance(pilot.app.screen, ReasonDialog)
        assert hand.kinds() == before
        await pilot.press("escape")
        await pilot.pause()
        hand.clock.ms += LONG_ENOUGH_MS
        await _burst(pilot, "f7", "f5", "f6", "f2")
        assert hand.kinds() == [*before, "loosened"]


async def test_a_bounce_of_f7_is_not_its_second_press(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with _patient(hand) as pilot:
        await _burst(pilot, "f7", "f7", "f7")
        assert not hand.bench.moment.job.loosened


async def test_a_number_typed_where_one_is_to_be_noted_says_which_key_does_so(hand: Hand) -> None:
    async with _patient(hand) as pilot:
        await types(pilot, "12480\r")
        assert "F4 writes down what the prompt asks for" in " ".join(seen(pilot).split())
        assert "noted" not in hand.kinds()


async def test_one_f7_where_a_pull_is_asked_for_moves_nothing(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
    async with _patient(hand) as pilot:
        before = hand.kinds()
        await pilot.press("f7")
        await pilot.pause()
        assert "A pull is asked for: F7 again" in " ".join(seen(pilot).split())
        assert hand.kinds() == before
        hand.clock.ms += 1000
        await pilot.press("f7")
        await pilot.pause()
        assert hand.kinds() == [*before, "loosened"]


async def test_a_key_at_a_reading_says_what_is_wanted(hand: Hand) -> None:
    await hand.until(at("slack"))
    async with on_stage(hand, (40, 12)) as pilot:
        await pilot.press("f2")
        await pilot.pause()
        assert "Nothing to confirm now: a reading is awaited" in " ".join(seen(pilot).split())


async def test_a_fastener_to_loosen_names_both_keys_and_takes_both(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "loosen", slack=TOO_SLACK)
    async with on_stage(hand) as pilot:
        assert "F7/F2 Loosened" in seen(pilot)
        await pilot.press("f2")
        await pilot.pause()
        assert hand.bench.moment.prompt.kind == "turn"


async def test_a_number_is_asked_for_as_one(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await pilot.press("f4")
        await pilot.pause()
        assert "The number" in seen(pilot)
        assert "In your words" not in seen(pilot)
