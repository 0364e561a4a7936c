"""The screen by what arrives: readings, torques and tools as a person sees them, and what is on the trail after."""

import pytest
from textual import events
from textual.pilot import Pilot

from drivers.reading import Link
from logger import events as ev
from tests.tui.hand import CALIPER, TOO_SLACK, WRENCH, Hand, at
from tests.tui.stage import on_stage, seen, types
from tui.apps.app import EvenhandApp


async def test_an_uneven_pair_is_read_and_shown(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(at("sides", "right"), slack=TOO_SLACK)
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
        event = hand.last()
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
        event = hand.last()
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
        assert isinstance(hand.last(), ev.FrameUndecoded)


async def test_a_paste_is_refused(hand: Hand) -> None:
    await hand.until(at("wear"))
    before = len(hand.kinds())
    async with on_stage(hand) as pilot:
        pilot.app.post_message(events.Paste("101.8 mm\r101.9 mm\r"))
        await pilot.pause()
        assert "Pasting is not taken" in seen(pilot)
    assert "reading_taken" not in hand.kinds()[before:]


async def test_a_look_at_the_adjust_prompt_is_shown_and_counts_for_nothing(hand: Hand) -> None:
    async with on_stage(hand) as pilot:
        await hand.until(lambda prompt: prompt.kind == "turn", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
        await hand.reads("36.50")
        await pilot.pause()
        assert "36.50 mm  Does not count" in seen(pilot)
        assert hand.bench.moment.prompt.kind == "turn"


async def _pulled(hand: Hand, pilot: Pilot[int], *texts: str) -> None:
    """Let the wrench send these, and the screen paint them."""
    for text in texts:
        await hand.samples(text)
        hand.clock.ms += 50
    assert isinstance(pilot.app, EvenhandApp)
    pilot.app.pull.paint()
    await pilot.pause()


async def test_a_pull_climbs_on_the_screen(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
    async with on_stage(hand) as pilot:
        await _pulled(hand, pilot, "0", "20", "60", "95", "99")
        text = seen(pilot)
        assert "! PAST THE AIM: to the slot, max 106 N·m" in text
        assert "most 99 N·m  aim 98 N·m" in text
        assert "█" in text


async def test_a_pull_that_is_over_leaves_no_warning_up(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
    async with on_stage(hand) as pilot:
        await _pulled(hand, pilot, "0", "20", "60", "95", "99.12")
        assert "PAST THE AIM" in seen(pilot)
        await _pulled(hand, pilot, "0.00")
        assert "RELEASED" in seen(pilot)
        assert "PAST THE AIM" not in seen(pilot)
        hand.clock.ms += 5000
        await hand.bench.settle_pulls()
        await pilot.pause()
        await _pulled(hand, pilot)
        assert hand.bench.moment.verdicts["axle_nut"].verdict == "inside"
        assert all(word not in seen(pilot) for word in ("RELEASED", "PAST THE AIM"))


async def test_a_pull_past_its_aim_rings_before_the_limit_once_and_again_past_it(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
    async with on_stage(hand) as pilot:
        app, rung = pilot.app, list[str]()
        assert isinstance(app, EvenhandApp)
        monkeypatch.setattr(app, "bell", lambda: rung.append("bell"))
        for text, bells in (("0", 0), ("60", 0), ("95", 0), ("99", 1), ("100", 1), ("107", 2), ("108", 2)):
            await hand.samples(text)
            hand.clock.ms += 50
            app.pull.paint()
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
        await hand.until(lambda prompt: prompt.kind == "turn", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
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


async def test_the_tools_say_which_tool_typed_readings_come_from(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand) as pilot:
        assert "○ No tool yet: type what it reads" in seen(pilot)
        await hand.bench.pick_tools((ev.Pick(tool="spare-caliper-2", tool_kind="caliper", steps=("wear",)),))
        await pilot.pause()
        assert "⌨ length: spare-caliper-2, typed" in seen(pilot)
