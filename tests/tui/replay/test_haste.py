"""Keys that no hand presses, in the dialogs of a replay."""

import pytest

from tests.tui.hand import StillClock
from tui.replay.haste import HAND_MS, OPENED_NS, Haste

_SEEN_MS = OPENED_NS // 1_000_000


class _Keyboard:
    """Types into a dialog by a clock of its own."""

    def __init__(self) -> None:
        self.clock = StillClock()
        self.haste = Haste(self.clock)

    def line(self, text: str, gap_ms: int) -> str:
        for character in text:
            self.clock.ms += gap_ms
            self.haste.typed(character)
        return self.haste.ended()


def test_what_runs_on_into_a_dialog_is_left_out_to_the_end_of_its_burst() -> None:
    keyboard = _Keyboard()
    keyboard.haste.opened()
    found = []
    for _ in range(100):
        keyboard.clock.ms += HAND_MS - 1
        found.append(keyboard.haste.ran_in())
    assert all(found)
    keyboard.clock.ms += HAND_MS
    assert not keyboard.haste.ran_in()
    keyboard.clock.ms += 1
    assert not keyboard.haste.ran_in(), "a hand that has begun is not stopped again"


def test_a_hand_that_waits_until_it_sees_the_dialog_loses_no_key() -> None:
    keyboard = _Keyboard()
    keyboard.haste.opened()
    keyboard.clock.ms += _SEEN_MS
    assert not keyboard.haste.ran_in()


def test_a_quick_hand_loses_its_first_key_and_not_the_next() -> None:
    keyboard = _Keyboard()
    keyboard.haste.opened()
    keyboard.clock.ms += _SEEN_MS - 1
    assert keyboard.haste.ran_in()
    keyboard.clock.ms += HAND_MS
    assert not keyboard.haste.ran_in()


@pytest.mark.parametrize(
    ("text", "gap_ms", "left_out"),
    [("36.20 mm", 80, True), ("98 N·m", 2, True), ("DC-1 ok", 2, True), ("Sam", 80, False), ("Sam", HAND_MS, False)],
)
def test_a_line_is_a_tools_by_what_it_says_or_by_its_pace(text: str, gap_ms: int, left_out: bool) -> None:
    assert _Keyboard().line(text, gap_ms) == (text if left_out else "")


def test_what_was_answered_or_rubbed_out_is_no_part_of_a_line() -> None:
    keyboard = _Keyboard()
    keyboard.haste.typed("x")
    keyboard.haste.answered()
    for character in "36.2 mmq":
        keyboard.clock.ms += 80
        keyboard.haste.typed(character)
    keyboard.haste.erased()
    assert keyboard.haste.ended() == "36.2 mm"
    assert keyboard.haste.ended() == ""
