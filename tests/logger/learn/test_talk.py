"""What is typed finds the frame that it was read for, and the talk ends when one way of reading is left."""

import json

import pytest

from logger.errors import BadInput
from logger.learn.capture import MAX_LINES, read_capture
from logger.learn.talk import MOST_KEPT, REPEAT_NS, Talk, is_settled, lesson_of

ONE = "0000ffe1-0000-1000-8000-00805f9b34fb"
TWO = "0000ffe2-0000-1000-8000-00805f9b34fb"
OWN = "12345678-1234-1234-1234-123456789abc"


def talk(*frames: str, uuid: str = ONE) -> Talk:
    found = Talk()
    for number, frame in enumerate(frames):
        found.heard(uuid, bytes.fromhex(frame), number * REPEAT_NS)
    return found


def shown(found: Talk) -> list[str | None]:
    return [row.shown for row in found.rows]


def test_a_frame_is_told_with_its_number_and_a_stream_of_the_same_is_told_now_and_then() -> None:
    found = Talk()
    assert found.heard(ONE, b"\x01", 0) == "#1  ffe1  01"
    assert found.heard(ONE, b"\x01", REPEAT_NS - 1) is None
    assert found.heard(OWN, b"\x01", REPEAT_NS - 1) == f"#3  {OWN}  01"
    assert found.heard(ONE, b"\x01", REPEAT_NS) == "#4  ffe1  01"
    assert found.heard(ONE, b"", 0) is None
    assert len(found.rows) == 4


def test_an_answer_goes_to_the_newest_frame_of_each_characteristic() -> None:
    found = talk("aa64", "aa64")
    found.heard(TWO, b"\x05", 0)
    assert found.answer("1.00 mm") == "Noted: #2, #3 showed 1.00 mm."
    with pytest.raises(BadInput, match="No frame has come since"):
        found.answer("2.00 mm")
    assert shown(found) == [None, "1.00 mm", "1.00 mm"]


@pytest.mark.parametrize("earlier", ["", "a5020056"])
def test_a_heartbeat_is_not_taken_for_the_measurement(earlier: str) -> None:
    found = talk(earlier) if earlier else Talk()
    found.skip()
    for frame in ("a5020056", "a5010000e10b57", "a5020056"):
        found.heard(ONE, bytes.fromhex(frame), 0)
    assert found.answer("30.41 mm") == f"Noted: #{3 if earlier else 2} showed 30.41 mm."


def test_a_status_of_the_same_length_is_not_taken_for_the_measurement() -> None:
    found = talk("a5010000e10b57")
    found.answer("30.41 mm")
    for frame in ("a5010000e20456", "a5020000110013"):
        found.heard(ONE, bytes.fromhex(frame), 0)
    assert found.answer("12.50 mm") == "Noted: #2 showed 12.50 mm."


def test_where_no_frame_can_mean_it_the_newest_new_one_is_named() -> None:
    found = talk("aa01", "aa02")
    assert found.answer("999.99 mm") == "Noted: #2 showed 999.99 mm."


def test_the_same_value_measured_again_is_its_newest_frame() -> None:
    found = talk("aa64", "aa65")
    found.skip()
    found.heard(ONE, bytes.fromhex("aa64"), 0)
    found.heard(ONE, bytes.fromhex("aa64"), 0)
    assert found.answer("1.00 mm") == "Noted: #4 showed 1.00 mm."


def test_a_frame_may_be_named_and_an_answer_taken_back() -> None:
    found = talk("aa01", "aa02", "aa03")
    assert found.answer("#1 1.00 mm") == "Noted: #1 showed 1.00 mm."
    found.heard(ONE, bytes.fromhex("aa04"), 0)
    found.answer("4.00 mm")
    assert found.back() == "Taken back: #4."
    assert found.answer("#4  5.00 mm").startswith("Noted: #4")
    assert (found.back(), found.back()) == ("Taken back: #4.", "Taken back: #1.")
    assert not found.answered
    with pytest.raises(BadInput, match="no answer to take back"):
        found.back()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("30.41", "has no unit"),
        ("thirty", "is not a quantity"),
        ("30,41 mm", "point, not a comma"),
        ("5 km", "neither a length nor a torque"),
        ("#9 1 mm", "There is no frame #9. Frames have come from #1 to #1"),
        ("#0 1 mm", "There is no frame #0"),
        ("#1", "What did the display show for aa01"),
        ("#1 x", "is not a quantity"),
        ("#１ 1 mm", "is not a quantity"),
    ],
)
def test_what_is_no_answer_is_refused_and_changes_nothing(text: str, words: str) -> None:
    found = talk("aa01")
    with pytest.raises(BadInput) as told:
        found.answer(text)
    assert words in str(told.value)
    assert shown(found) == [None]
    assert found.answer("1 mm").startswith("Noted: #1")


def test_a_stream_without_end_is_kept_within_bounds() -> None:
    found = Talk()
    for number in range(MAX_LINES + 10):
        found.heard(ONE, b"\x01\x02", number)
    assert (len(found.rows), found.unkept) == (MOST_KEPT, MAX_LINES + 10 - MOST_KEPT)
    for number in range(3000):
        found.heard(ONE, number.to_bytes(4, "big"), 0)
    assert len(found.rows) == MAX_LINES
    read_capture(found.capture(), "all")


def test_the_capture_is_what_the_offline_command_reads() -> None:
    found = talk("aa01")
    found.answer("1.00 mm")
    assert json.loads(found.capture()) == {"characteristic": ONE, "hex": "aa01", "shown": "1.00 mm"}


def test_it_is_settled_when_one_way_is_left_that_a_third_reading_bears_out() -> None:
    found = talk("a5010000e10b57")
    found.answer("30.41 mm")
    assert not is_settled(lesson_of(found.capture()))
    for frame, value in (("a5010000e20456", "12.50 mm"), ("a5010000f4ff55", "-0.12 mm")):
        assert not is_settled(lesson_of(found.capture()))
        found.heard(ONE, bytes.fromhex(frame), 0)
        found.answer(value)
    lesson = lesson_of(found.capture())
    assert is_settled(lesson)
    assert list(lesson.fits[0].readings.values()) == ["30.41 mm", "12.50 mm", "-0.12 mm"]
