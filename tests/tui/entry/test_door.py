"""The door for what is typed: whole lines become readings at the bench, and whatever is none is kept too."""

from collections.abc import AsyncIterator, Awaitable

import pytest

from drivers.profile.profile import parse_profile
from logger import events as ev
from logger.errors import BadInput
from logger.shelf.shelf import records
from logger.toolbook.toolbook import Toolbook
from tests.logger.toolbook.made import tool
from tests.tui.hand import Hand, at
from tui.entry.door import Door
from tui.plain import Plain
from tui.session.kit import Kit


class Desk:
    """A screen that remembers what it was told."""

    def __init__(self) -> None:
        self.takes_text = False
        self.told: list[str] = []
        self.shown = ""

    def tell(self, text: str) -> None:
        self.told.append(text)

    def typing(self, text: str) -> None:
        self.shown = text

    def untype(self, text: str) -> None:
        pass

    async def said(self, deed: Awaitable[object]) -> None:
        try:
            await deed
        except BadInput as refusal:
            self.told.append(str(refusal))


def events(hand: Hand) -> list[ev.Event]:
    return [record.event for record in records(hand.bench.path)]


async def type_line(door: Door, hand: Hand, text: str, gap_ms: int = 4) -> None:
    """Type a line as a tool does, one key every few milliseconds."""
    for character in text:
        hand.clock.ms += gap_ms
        await door.key(character, character)
    await door.key("enter", None)


@pytest.mark.parametrize("gap_ms", [3, 160])
async def test_how_fast_a_line_was_typed_is_on_the_trail_beside_it(hand: Hand, gap_ms: int) -> None:
    await hand.until(at("wear"))
    door = Door(hand.bench, hand.clock, Desk())
    await type_line(door, hand, "101.8 mm", gap_ms)
    await type_line(door, hand, "98 N·m", gap_ms)
    reading, pull = events(hand)[-2:]
    assert isinstance(reading, ev.ReadingTaken)
    assert isinstance(pull, ev.PullTaken)
    assert (reading.source, reading.raw, reading.key_gap_ms) == ("typed", "101.8 mm", gap_ms)
    assert (pull.source, pull.raw, pull.key_gap_ms) == ("typed", "98 N·m", gap_ms)


# --- the tools in hand ----------------------------------------------------------------------------------------------

TYPES = parse_profile(
    """
profile = "typing-caliper"
kind = "caliper"
resolution = "0.01 mm"
[[values]]
decode = "typed"
role = "reading"
pattern = "{number}"
picture = "+0000.00"
unit = "mm"
""",
    "types.toml",
)
KIT = Kit(Toolbook(tool=(tool("jaws", serial="", profile="typing-caliper"),)), (TYPES,))


def door_of(hand: Hand) -> tuple[Door, Desk]:
    hand.bench.describe, hand.bench.typed_by = KIT.describe, KIT.typed_by
    desk = Desk()
    return Door(hand.bench, hand.clock, desk), desk


async def test_a_keyboard_tool_is_named_and_its_lines_are_read_as_its_profile_says(hand: Hand) -> None:
    await hand.until(at("wear"))
    door, desk = door_of(hand)
    for line in ("with jaws", "+0101.80", "101.80 mm"):
        await type_line(door, hand, line)
    stated, declared, reading, refused = events(hand)[-4:]
    assert declared == ev.ToolDeclared(tool="jaws", tool_kind="caliper")
    assert isinstance(stated, ev.ToolDescribed)
    assert (stated.tool, stated.resolution, stated.profile) == ("jaws", "0.01 mm", "typing-caliper")
    assert isinstance(reading, ev.ReadingTaken)
    assert (reading.tool, reading.tool_kind, reading.value, reading.raw) == ("jaws", "caliper", "101.80", "+0101.80")
    assert hand.bench.moment.verdicts["wear"].verdict == "inside"
    assert isinstance(refused, ev.FrameUndecoded)
    assert "It is read as jaws types it" in refused.reason
    assert desk.told == []


async def test_a_tool_that_is_not_known_is_refused_with_what_may_be_said(hand: Hand) -> None:
    door, desk = door_of(hand)
    before = len(events(hand))
    await type_line(door, hand, "with hammer")
    assert desk.told[0].startswith('"hammer" is no tool that is known here. Say: with caliper')
    assert len(events(hand)) == before


async def test_an_adapter_is_said_at_the_screen_too(hand: Hand) -> None:
    door, _ = door_of(hand)
    await type_line(door, hand, "adapter axle_nut 400 mm 40 mm 90")
    assert events(hand)[-1] == ev.AdapterDeclared(
        step="axle_nut", adapter=ev.Adapter(wrench="400 mm", extension="40 mm", angle=90)
    )


async def test_a_word_in_a_field_is_text_of_the_field(hand: Hand) -> None:
    door, desk = door_of(hand)
    desk.takes_text = True
    before = len(events(hand))
    await type_line(door, hand, "with jaws")
    assert desk.told == ["Enter and Tab do nothing here: answer with a function key."]
    assert len(events(hand)) == before


async def test_line_by_line_the_same_tool_is_read_the_same_way(hand: Hand) -> None:
    await hand.until(at("wear"))
    door_of(hand)

    async def typed() -> AsyncIterator[str]:
        for line in ("with jaws", "+0101.80", "0101.80"):
            yield line

    said: list[str] = []
    await Plain(hand.bench, hand.clock, "Robin", said.append).run(typed())
    assert [(event.tool, event.value) for event in events(hand) if isinstance(event, ev.ReadingTaken)] == [
        ("jaws", "101.80")
    ]
    assert any("has not the fixed format +0000.00" in line for line in said)
