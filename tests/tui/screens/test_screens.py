"""What the screen shows at each size, as plain text, and that nothing hostile gets through to it."""

import unicodedata
from dataclasses import replace

import pytest
from textual.pilot import Pilot

from drivers.reading import Link, ToolReading, Undecoded
from logger import events as ev
from logger.job.line import caution, item, role_of
from tests.tui.hand import CALIPER, TOO_SLACK, WRENCH, Hand, at
from tests.tui.hostile import HOSTILE
from tests.tui.stage import Size, on_stage, seen
from tui.glance.glance import Row, Value
from tui.safe import safe_text
from tui.screens.job import JobScreen
from tui.screens.showing import OpenChecks
from tui.widgets.checks import Checks
from tui.widgets.foot import Banner, Said
from tui.widgets.how import How
from tui.widgets.painted import Painted, wrapped
from tui.widgets.top import Head, TopBar
from tui.widgets.value import Sight

_SIZES: list[Size] = [(40, 12), (72, 22), (80, 24), (120, 40), (200, 60)]


@pytest.mark.parametrize("size", _SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_every_size_shows_prompt_value_verdict_and_tools(hand: Hand, size: Size) -> None:
    await hand.links(CALIPER, "caliper", Link.READY, 87)
    await hand.links(WRENCH, "torque wrench", Link.ASLEEP)
    async with on_stage(hand, size) as pilot:
        await hand.until(at("slack", "opposite"), slack=TOO_SLACK)
        await pilot.pause()
        text = seen(pilot)
        assert "opposite: taut down" in text
        assert "45.0 mm" in text
        assert "▲ HIGH" in text
        assert "● caliper" in text
        assert "◑ torque wrench asleep" in text
        assert "SIMULATED" in text
        assert "F12 Leave" in text


@pytest.mark.parametrize("size", _SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_every_size_shows_the_advice(hand: Hand, size: Size) -> None:
    async with on_stage(hand, size) as pilot:
        await hand.until(lambda prompt: prompt.kind == "turn", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
        await pilot.pause()
        text = seen(pilot)
        assert "Turn the adjusters: turn" in text
        assert "LEFT: 5 flats tighter" in text
        assert "RIGHT: leave it" in text
        assert "F5 Turned as advised" in text


@pytest.mark.parametrize("size", _SIZES[2:], ids=lambda size: f"{size[0]}x{size[1]}")
async def test_from_80x24_on_nothing_of_a_step_needs_scrolling(hand: Hand, size: Size) -> None:
    async with on_stage(hand, size) as pilot:
        for _ in range(40):
            await pilot.pause()
            _in_sight(pilot, hand.bench.moment.prompt.key)
            if hand.bench.moment.prompt.kind == "closed":
                return
            before = hand.bench.moment.prompt.key
            as_found = not hand.bench.moment.job.turns and before.startswith("measure:slack") and before.endswith("up")
            slack = ("345.0",) if as_found else ()
            await hand.until(lambda prompt, before=before: prompt.key != before, slack=slack)  # type: ignore[misc]


def _in_sight(pilot: Pilot[int], key: str) -> None:
    """Hold that all lines are in sight whole but those that may go behind the rest, and that it says so if they did."""
    work = pilot.app.screen
    if not isinstance(work, JobScreen):
        assert "… PgDn" not in seen(pilot), key
        return
    rows = [row.plain.rstrip() for row in work.query_one(How).rows(*work.query_one(How).size)]
    text = " ".join(" ".join(rows).split())
    missing = [line for line in work.how if line.removeprefix("- ") not in text]
    assert {role_of(line) for line in missing} <= {"condition", "window", "tool", "datum"}, key
    assert rows[-1].endswith("… PgDn") == bool(missing), key
    assert pilot.app.size.width < 120 or not missing, key


async def test_small_screens_page_what_did_not_fit(hand: Hand) -> None:
    async with on_stage(hand, (40, 12)) as pilot:
        await hand.until(at("ready"))
        await pilot.pause()
        assert "… PgDn" in seen(pilot)
        await pilot.press("pagedown")
        await pilot.pause()
        assert "Kit laid out within reach" in seen(pilot)


@pytest.mark.parametrize("size", _SIZES[:3], ids=lambda size: f"{size[0]}x{size[1]}")
async def test_why_a_side_is_not_taken_as_it_is_can_be_read(hand: Hand, size: Size) -> None:
    async with on_stage(hand, size) as pilot:
        await hand.until(at("sides", "left"))
        await hand.reads("117")
        await pilot.pause()
        reason = hand.bench.moment.verdicts["sides.agreement"].reason
        assert reason.startswith("left: 117 mm is not plausible")
        assert "LEFT 117 mm  ○ " in seen(pilot)
        sight, told = pilot.app.screen.query_one(Sight), ""
        for _ in range(4):
            told += " ".join(row.plain.strip() for row in sight.rows(*sight.size)).replace("… PgDn", "") + " "
            await pilot.press("pagedown")
        assert reason in " ".join(told.split())


@pytest.mark.parametrize("size", [(39, 24), (80, 11)], ids=str)
async def test_below_40x12_it_says_what_it_needs(hand: Hand, size: Size) -> None:
    async with on_stage(hand, size) as pilot:
        assert "needs 40 × 12" in " ".join(seen(pilot).split())


async def test_the_list_of_checks_keeps_the_present_one_in_sight(hand: Hand) -> None:
    rows = tuple(Row(f"c{at}", "waiting", f"Check {at}", "", "", at == 20) for at in range(30))
    checks = Checks()
    checks.show(rows)
    text = [row.plain for row in checks.rows(40, 10)]
    assert len(text) == 10
    assert any("▸○ waiting    Check 20" in row for row in text)
    assert text[1].strip().startswith("↑")
    assert text[-1].strip().startswith("↓")
    assert sum(int(row.split()[1]) for row in (text[1], text[-1])) + 7 == 30


# --- hostile text ---------------------------------------------------------------------------------------------------


def _nothing_hidden(text: str) -> None:
    bad = {f"U+{ord(each):04X}" for each in text if unicodedata.category(each) in {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}}
    assert not bad - {"U+000A"}, bad


def _painted(widget: Painted, width: int = 300, height: int = 8) -> str:
    rows = list(widget.rows(width, height))
    assert all("@click" not in str(span.style) for row in rows for span in row.spans)
    return "\n".join(row.plain for row in rows)


@pytest.mark.parametrize("text", HOSTILE)
async def test_every_widget_draws_hostile_text_as_it_stands(hand: Hand, text: str) -> None:
    job = replace(hand.bench.moment.job, machine=text, by=text, simulated=False)
    top, head, how, sight, checks = TopBar(), Head(), How(), Sight(), Checks()
    said, banner = Said(), Banner()
    top.show(job)
    head.show(text, text)
    how.show((text, item(text), caution(text)))
    sight.show(Value(text, text, text, "high", text, (text,), text, notes=(text,), flag=text), ())
    checks.show((Row("c", "high", text, text, text, True),))
    said.tell(text)
    banner.warn(text)
    open_checks = OpenChecks(job, (ev.OpenCheck(check="wear", verdict="high", settle=text),))
    words = safe_text(text).split()
    for widget in (top, head, how, sight, checks, said, banner, open_checks):
        drawn = _painted(widget)
        _nothing_hidden(drawn)
        assert not words or words[0][:20] in drawn, type(widget).__name__


async def test_hostile_names_notes_and_tools_leave_the_screen_alone(hand: Hand) -> None:
    await hand.until(at("wear"))
    async with on_stage(hand, (120, 40)) as pilot:
        for text in HOSTILE:
            await hand.links(text, text, Link.LOST, message=text)
            await hand.bench.note(f"note {text}")
            await hand.bench.arrive(Undecoded(text, text, "00", text, hand.clock.now()))
            reading = ToolReading(text, "length", "1.0", "mm", "sig", "00", hand.clock.now(), text)
            await hand.bench.arrive(reading)
            await pilot.pause()
            _quiet(pilot)
        await hand.bench.override("wear", HOSTILE[0], HOSTILE[4])
        await pilot.press("f9")
        await pilot.pause()
        _quiet(pilot)
        await pilot.press("escape", "f8")
        await pilot.pause()
        _quiet(pilot)


def _quiet(pilot: Pilot[int]) -> None:
    _nothing_hidden(seen(pilot))
    for strip in pilot.app.screen._compositor.render_strips():
        for segment in strip:
            assert segment.style is None or not {"@click", "@mouse"} & set(segment.style.meta)
            assert segment.style is None or not segment.style.link


@pytest.mark.parametrize("width", [1, 3, 10, 40])
@pytest.mark.parametrize("text", [*HOSTILE, "a" * 100, "日本語" * 10, "", "one two  three"])
def test_wrapping_keeps_every_word_and_every_width(text: str, width: int) -> None:
    from rich.cells import cell_len

    rows = wrapped(text, width)
    assert "".join(rows).replace(" ", "") == safe_text(text).replace(" ", "")
    assert all(cell_len(row) <= max(width, 2) for row in rows)
