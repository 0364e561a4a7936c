"""The door for what is typed: whole lines become readings at the bench, and whatever is none is kept too."""

from collections.abc import Awaitable

import pytest

from logger import events as ev
from logger.errors import BadInput
from logger.shelf import records
from tui.door import Door

from .hand import Hand, at


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
