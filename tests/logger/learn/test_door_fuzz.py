"""A capture from anyone: `tools learn --from` reads it, learns or says why not; soon and in little room."""

import json
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.profile.profile import parse_profile
from logger.learn.capture import MAX_OCTETS, read_capture
from logger.learn.learn import Lesson, learn
from logger.learn.profile import describe, doubts, profile_text
from tests.fuzz import VALUES, ends, fuzzed, misfilled, spoiled, told


def line(hexes: str, shown: str | None = None, uuid: str = "0xFFF1") -> str:
    """Return one line of a capture."""
    return json.dumps({"characteristic": uuid, "hex": hexes} | ({} if shown is None else {"shown": shown}))


CAPTURE = "\n".join(
    (
        line("a50000e10b00", "30.41 mm"),
        line("a5000098 00 00".replace(" ", ""), "1.52 mm"),
        line("a50000ffff00"),
        line("a501004f0200", "5.91 mm"),
        line(b"+0012.34 mm".hex(), "12.34 mm", "0xFFF2"),
        line("a5000010270000"),
    )
)


def learned(text: str) -> str:
    """Return what is said of a capture; a lesson is asked for its profile too."""
    taken: list[Lesson] = []
    said = told(lambda: taken.append(learn(read_capture(text, "own.jsonl"))))
    for lesson in taken:
        assert lesson.fits or lesson.refusal
        for fit in lesson.fits[:1]:
            with ends():
                assert all([describe(fit), *doubts(fit)])
                assert parse_profile(profile_text(lesson, fit), "own.toml")
    assert not said or (said.startswith("own.jsonl") and len(said) < 1200)
    return said


REPEATED = "\n".join(line((100 + n).to_bytes(2, "little").hex() * 256, f"{(100 + n) / 100:.2f} mm") for n in range(60))
BOMBS = {
    "lines": "\n" * 4_000_000,
    "a line of 100 MB": "[" * 100_000_000,
    "arrays": "[" * 4000,
    "digits": '{"a": ' + "9" * 4000 + "}",
    "exponent": '{"characteristic": "0xFFF1", "hex": "00", "shown": "1e999999999 mm"}',
    "many digits": '{"characteristic": "0xFFF1", "hex": "00", "shown": "' + "9" * 60 + '"}',
    "surrogate": '{"characteristic": "\\ud800", "hex": "00"}',
    "keys": "{" + ", ".join(f'"{n}": 0' for n in range(400)) + "}",
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused_in_the_room_of_a_capture(name: str) -> None:
    tracemalloc.start()
    try:
        assert learned(BOMBS[name])
        assert tracemalloc.get_traced_memory()[1] < max(60 * MAX_OCTETS, 3 * len(BOMBS[name]))
    finally:
        tracemalloc.stop()


def test_a_number_repeated_all_over_long_frames_ends_with_a_refusal(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a smaller limit, so that it does not take the seconds that it may."""
    monkeypatch.setattr("logger.learn.learn.MOST_WORK", 20_000)
    few = "\n".join(text.replace("00" * 8, "") for text in REPEATED.split("\n")[:6])
    lesson = learn(read_capture("\n".join(_cut(each, 80) for each in few.split("\n")), "own.jsonl"))
    assert not lesson.fits
    assert lesson.ask is None
    assert "More ways of reading fit" in lesson.refusal


def _cut(text: str, digits: int) -> str:
    found = json.loads(text)
    return json.dumps(found | {"hex": found["hex"][:digits]})


@fuzzed(60)
@given(st.text(max_size=300) | VALUES.map(lambda value: json.dumps(value, default=str)))
def test_fuzz_any_text(text: str) -> None:
    learned(text)


@fuzzed(60)
@given(spoiled(st.just(CAPTURE)))
def test_fuzz_a_capture_with_a_few_changes(text: str) -> None:
    learned(text)


@fuzzed(60)
@given(misfilled(st.sampled_from([json.loads(each) for each in CAPTURE.split("\n")])), st.integers(0, 5))
def test_fuzz_a_line_with_other_values(tree: object, at: int) -> None:
    lines = CAPTURE.split("\n")
    lines[at] = json.dumps(tree)
    learned("\n".join(lines))


@fuzzed(40)
@given(
    st.lists(
        st.tuples(st.binary(min_size=1, max_size=12), st.none() | st.sampled_from(["1.23 mm", "-7 N·m", "0.5 in"])),
        max_size=8,
    )
)
def test_fuzz_any_frames_with_any_readings(frames: list[tuple[bytes, str | None]]) -> None:
    learned("\n".join(line(octets.hex(), shown) for octets, shown in frames))
