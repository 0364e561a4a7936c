"""A tool that is read by a pedal, in a session: by a key or a word, and never by itself."""

from collections.abc import AsyncIterator
from decimal import Decimal

import pytest

from drivers.profile.profile import ToolProfile, parse_profile
from drivers.reading import Link, ToolState
from logger import events as ev
from logger.toolbook.toolbook import Toolbook
from simulators.air import Air
from simulators.clock import SimClock
from simulators.tools import SimCaliper
from tests.logger.toolbook.made import tool
from tests.tui.hand import TOO_SLACK, Hand, at
from tests.tui.linked import events, ready, until
from tests.tui.reached import reach_of
from tests.tui.stage import on_stage, seen
from tui.entry.keymap import Keymap
from tui.entry.pedal import NO_RADIO, Pedal
from tui.plain import Plain
from tui.services import Service
from tui.session.kit import radio_service

PROFILE = """
profile = "streaming-caliper"
kind = "caliper"
capture = "{capture}"
[recognise]
name = "^Bench"
[[values]]
decode = "sig"
role = "reading"
characteristic = "2c0a"
"""
BY_PEDAL = parse_profile(PROFILE.format(capture="pedal"), "pedal.toml")
BY_BUTTON = parse_profile(PROFILE.format(capture="button"), "button.toml")
BOOK = Toolbook(tool=(tool("jaws", serial="DC-1"),))
NO_TOOL = "No tool that is linked is read by a pedal; its profile says so by its capture."


def caliper(serial: str = "DC-1") -> SimCaliper:
    return SimCaliper(serial, "Bench caliper", lambda: Decimal("101.8"), SimClock())


def radio(pedal: Pedal, *tools: SimCaliper, profile: ToolProfile = BY_PEDAL) -> Service:
    return radio_service(BOOK, reach_of(Air(tools), (profile,)).radio, pedal)


async def shows(hand: Hand, one: SimCaliper) -> None:
    """Let a tool send what its display shows; a frame that cannot be read tells that all before it has been taken."""
    one.press()
    one.send(one.measured.characteristics[0], b"\x01")
    await until(hand.bench, lambda: isinstance(events(hand)[-1], ev.FrameUndecoded))


def readings(hand: Hand) -> list[tuple[str, Decimal]]:
    return [(event.tool, Decimal(event.value)) for event in events(hand) if isinstance(event, ev.ReadingTaken)]


async def test_the_pedal_key_takes_what_the_tool_shows_and_stands_in_the_footer(hand: Hand) -> None:
    await hand.until(at("wear"))
    pedal, one = Pedal(BOOK, (BY_PEDAL,)), caliper()
    async with on_stage(hand, services=[radio(pedal, one)], pedal=pedal) as pilot:
        await until(hand.bench, lambda: ready(hand) == {"jaws"})
        await shows(hand, one)
        await pilot.pause()
        assert "F1 Take what it shows" in seen(pilot)
        assert readings(hand) == []
        await pilot.press("f1")
        await until(hand.bench, lambda: readings(hand) == [("jaws", Decimal("101.8"))])
        assert hand.bench.moment.verdicts["wear"].verdict == "inside"
    assert pedal.radio is None


async def test_a_press_without_a_value_says_why(hand: Hand) -> None:
    pedal = Pedal(BOOK, (BY_PEDAL,))
    async with on_stage(hand, services=[radio(pedal, caliper())], pedal=pedal) as pilot:
        await until(hand.bench, lambda: ready(hand) == {"jaws"})
        await pilot.press("f1")
        await pilot.pause()
        assert "shows no value now; wake it and press the pedal again." in " ".join(seen(pilot).split())


async def test_without_such_a_tool_no_key_is_shown(hand: Hand) -> None:
    pedal = Pedal(BOOK, (BY_BUTTON,))
    async with on_stage(hand, services=[radio(pedal, caliper(), profile=BY_BUTTON)], pedal=pedal) as pilot:
        await until(hand.bench, lambda: ready(hand) == {"jaws"})
        await pilot.pause()
        assert "Take what it shows" not in seen(pilot)
        assert await pedal.press() == NO_TOOL


async def test_the_word_take_does_the_same_line_by_line(hand: Hand) -> None:
    await hand.until(at("wear"))
    pedal, one, said = Pedal(BOOK, (BY_PEDAL,)), caliper(), list[str]()

    async def typed() -> AsyncIterator[str]:
        yield "take"
        await until(hand.bench, lambda: ready(hand) == {"jaws"})
        await shows(hand, one)
        yield "take jaws"
        await until(hand.bench, lambda: readings(hand) == [("jaws", Decimal("101.8"))])
        yield "take lever"

    await Plain(hand.bench, hand.clock, "Robin", said.append, pedal).run(typed(), [radio(pedal, one)])
    assert f"Not taken: {NO_RADIO}" in said
    assert f"Not taken: {NO_TOOL}" in said
    assert any(line.startswith("Taken: 101.8") and "Chain wear" in line for line in said), said


class _Two:
    """A radio with two tools that a pedal reads."""

    def __init__(self) -> None:
        self.read: list[str] = []

    async def capture(self, tool: str = "") -> str:
        self.read.append(tool)
        return "" if tool else "Several tools are read by the pedal."


async def test_of_several_tools_the_pedal_reads_the_one_that_was_picked() -> None:
    pedal, two = Pedal(BOOK, (BY_PEDAL,)), _Two()
    pedal.radio = two
    assert await pedal.press() == "Several tools are read by the pedal."
    pedal.wanted = lambda: "jaws"
    assert await pedal.press() == ""
    assert await pedal.press("spare") == ""
    assert two.read == ["", "DC-1", "spare"]


async def test_a_session_without_a_radio_says_so(hand: Hand) -> None:
    assert await Pedal(BOOK, ()).press() == NO_RADIO


@pytest.mark.parametrize(
    ("link", "profile", "reads"),
    [
        (Link.READY, "streaming-caliper", True),
        (Link.ASLEEP, "streaming-caliper", False),
        (Link.READY, "sig-caliper", False),
    ],
)
def test_only_a_linked_tool_with_such_a_profile_is_read_by_a_pedal(
    hand: Hand, link: Link, profile: str, reads: bool
) -> None:
    state = ToolState("jaws", "caliper", link, hand.clock.now(), profile=profile)
    assert Pedal(BOOK, (BY_PEDAL,)).reads({"jaws": state}) is reads


# --- keys that were given a meaning ---------------------------------------------------------------------------------


async def test_a_presenters_key_confirms_and_stands_in_the_footer(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "confirm")
    step = hand.bench.moment.prompt.step
    async with on_stage(hand, keymap=Keymap({"confirm": "pagedown"})) as pilot:
        assert "PgDn Confirm" in seen(pilot)
        await pilot.press("pagedown")
        await pilot.pause()
        assert hand.bench.moment.verdicts[step].verdict == "done"


async def test_presenters_keys_take_back_and_answer_why(hand: Hand) -> None:
    await hand.until(at("sides"))
    async with on_stage(hand, keymap=Keymap({"confirm": "pagedown", "take_back": "shift+f8"})) as pilot:
        assert "Shift+F8 Take back" in seen(pilot)
        await pilot.press("shift+f8")
        await pilot.pause()
        assert "▸ measured at the wrong place" in seen(pilot)
        await pilot.press("shift+f8")
        await pilot.pause()
        assert "▸ tool slipped or was held askew" in seen(pilot)
        await pilot.press("pagedown")
        await pilot.pause()
    event = events(hand)[-1]
    assert isinstance(event, ev.TakenBack)
    assert event.why == "tool slipped or was held askew"


async def test_a_presenters_key_accepts_the_advice(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=TOO_SLACK)
    async with on_stage(hand, keymap=Keymap({"as_advised": "f13"})) as pilot:
        assert "F13 Turned as advised" in seen(pilot)
        await pilot.press("f13")
        await pilot.pause()
    assert isinstance(events(hand)[-1], ev.Turned)


async def test_the_function_key_goes_on_working(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "confirm")
    async with on_stage(hand, keymap=Keymap({"confirm": "pagedown"})) as pilot:
        await pilot.press("f2")
        await pilot.pause()
    assert isinstance(events(hand)[-1], ev.Confirmed)
