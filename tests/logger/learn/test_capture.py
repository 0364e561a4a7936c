"""Captures: what a line is, and what is refused with the number of its line."""

import json

import pytest

from logger.errors import BadInput
from logger.learn.capture import MAX_LINES, MAX_SHOWN, read_capture

GOOD = '{"characteristic": "FFE1", "hex": "A501", "shown": "30.41 mm"}'


def line(**keys: object) -> str:
    return json.dumps({"characteristic": "ffe1", "hex": "a501"} | keys)


def test_a_frame_is_kept_as_it_was_given() -> None:
    (frame,) = read_capture(f"\ufeff{GOOD}\r\n\n", "c.jsonl")
    assert (frame.line, frame.characteristic, frame.hex, frame.octets) == (1, "FFE1", "A501", b"\xa5\x01")
    assert frame.uuid == "0000ffe1-0000-1000-8000-00805f9b34fb"
    assert frame.shown is not None
    assert (str(frame.shown.value), frame.shown.digits, frame.shown.unit) == ("30.41", 2, "mm")


@pytest.mark.parametrize(
    ("shown", "unit", "spelled"),
    [("72.3 ft-lb", "lbf·ft", "ft-lb"), ("98Nm", "N·m", "Nm"), ('1.5"', "in", '"'), ("-0.05 mm", "mm", "mm")],
)
def test_a_unit_is_known_by_its_one_name_and_kept_as_it_was_spelled(shown: str, unit: str, spelled: str) -> None:
    (frame,) = read_capture(line(shown=shown), "c.jsonl")
    assert frame.shown is not None
    assert (frame.shown.unit, frame.shown.spelled) == (unit, spelled)


@pytest.mark.parametrize("shown", [None, "", "  "])
def test_a_display_that_was_not_read(shown: str | None) -> None:
    assert read_capture(line(shown=shown), "c.jsonl")[0].shown is None


def test_more_keys_do_no_harm() -> None:
    assert read_capture(line(at="12:00"), "c.jsonl")[0].octets == b"\xa5\x01"


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ("{", "c.jsonl, line 2 is not JSON"),
        ("[1]", "c.jsonl, line 2 is not a JSON object"),
        ("[" * 3000, "c.jsonl, line 2 is not JSON"),
        ('{"hex": "a5", "hex": "a6", "characteristic": "ffe1"}', "line 2 is not JSON: a key stands twice"),
        ('{"hex": "a5"}', 'line 2: "characteristic" and "hex" are needed'),
        (line(hex=5), 'line 2: "characteristic" and "hex" are needed'),
        (line(hex="a5a"), 'line 2: "hex" is not 1 to 512 octets'),
        (line(hex=""), 'line 2: "hex" is not 1 to 512 octets'),
        (line(hex="zz"), 'line 2: "hex" is not 1 to 512 octets'),
        (line(hex="00" * 513), 'line 2: "hex" is not 1 to 512 octets'),
        (line(characteristic="ffe"), "line 2: 'ffe' is not a UUID"),
        (line(shown=30.41), 'line 2: "shown" is text'),
        (line(shown="30,41 mm"), "line 2: '30,41 mm' is not a quantity"),
        (line(shown="30.41"), "line 2: '30.41' has no unit"),
        (line(shown="30.41 furlong"), "line 2: '30.41 furlong' has unknown unit"),
        (line(shown="30 km"), "line 2: km is neither a length nor a torque"),
        (line(shown="nan mm"), "line 2: 'nan mm' is not a quantity"),
        (" " * 5000 + "{}", "line 2: 5002 characters"),
    ],
)
def test_what_is_wrong_is_named_with_its_line(second: str, words: str) -> None:
    with pytest.raises(BadInput) as raised:
        read_capture(f"{GOOD}\n{second}\n", "c.jsonl")
    assert words in raised.value.message
    assert raised.value.remedy


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("\n\n", "holds no frame"),
        ("\n" * (MAX_LINES + 5), f"at most {MAX_LINES} are read"),
        (f"{GOOD}\n" * (MAX_SHOWN + 1), f"at most {MAX_SHOWN} are used"),
        ("x" * 4_200_000, "larger than 4 MiB"),
    ],
)
def test_a_capture_is_bounded(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read_capture(text, "c.jsonl")
