"""What one link has said: which of its values are readings, whose they are, and what is old or doubled."""

from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.decode.bind import Bound, Speech
from drivers.decode.decode import Frame
from drivers.gatt import SIG_VALUES, TORQUE
from drivers.hearing.hearing import MISSED, Hearing
from drivers.profile.backlog import USUAL, Backlog
from drivers.profile.fields import Bits, Counter
from drivers.profile.steady import Steady
from drivers.profile.values import NumberValue, TextValue
from drivers.reading import Arrival, Stamp, ToolPeak, ToolReading, TorqueSample, Undecoded

OWN = "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"
LENGTH, STREAM, PEAK = 3, 7, 9
MS = 1_000_000
NUMBER = NumberValue(
    decode="number", characteristic=OWN, role="reading", form="signed", offset=0, width=16, exponent=-2, unit="mm"
)
BOUND = (
    Bound(LENGTH, OWN, "reading", "profile", NUMBER),
    Bound(STREAM, TORQUE, "stream", "sig", SIG_VALUES[TORQUE]),
    Bound(PEAK, TORQUE, "peak", "described", SIG_VALUES[TORQUE]),
)


def stamp(ms: int) -> Stamp:
    return Stamp(ms * MS, ms * MS)


def length(hundredths: int, ms: int, status: str = "") -> Frame:
    return Frame(LENGTH, OWN, hundredths.to_bytes(2, "little", signed=True) + bytes.fromhex(status), 1, stamp(ms))


def torque(handle: int, hundredths: int, ms: int) -> Frame:
    return Frame(handle, TORQUE, hundredths.to_bytes(4, "little", signed=True), 1, stamp(ms))


def hearing(ready_ms: int | None = 0, **habits: object) -> Hearing:
    made = Hearing(Speech("T-1", "caliper", 80, BOUND, "own", **habits))  # type: ignore[arg-type]
    if ready_ms is not None:
        made.ready(stamp(ready_ms))
    return made


def written() -> Hearing:
    """A tool that writes its values as lines of text."""
    line = TextValue(
        decode="text", characteristic=OWN, role="reading", pattern="{number}", unit="mm", terminator="\r\n"
    )
    return Hearing(Speech("T-1", "caliper", 80, (Bound(LENGTH, OWN, "reading", "profile", line),), "own"))


def in_parts(text: str, ms: int, times: int = 1) -> list[Frame]:
    """A line in two notifications, each of which comes so many times."""
    parts = (text[:3].encode(), f"{text[3:]}\r\n".encode())
    return [Frame(LENGTH, OWN, part, 1, stamp(ms + 10 * n)) for n, part in enumerate(parts) for _ in range(times)]


def all_of(made: Hearing, frames: Iterable[Frame]) -> list[Arrival]:
    return [arrival for frame in frames for arrival in made.take(frame)]


def texts(arrivals: Iterable[Arrival]) -> list[str]:
    return [a.text for a in arrivals if isinstance(a, ToolReading)]


def test_each_value_that_a_button_sends_is_a_reading() -> None:
    arrivals = all_of(hearing(), [length(3041, 0), length(3041, 50), length(3041, 400)])
    assert [(a.text, a.duplicate, a.old) for a in arrivals if isinstance(a, ToolReading)] == [
        ("30.41", False, False),
        ("30.41", True, False),
        ("30.41", False, False),
    ]


def test_where_a_value_comes_from_is_told_by_samples_and_peaks_too() -> None:
    sample, peak = all_of(hearing(), [torque(STREAM, 500, 0), torque(PEAK, 500, 1)])
    assert isinstance(sample, TorqueSample)
    assert isinstance(peak, ToolPeak)
    assert (sample.source, peak.source) == ("sig", "described")


# --- pedal ----------------------------------------------------------------------------------------------------------


def test_a_pedal_makes_the_present_value_a_reading_and_the_stream_between_is_none() -> None:
    made = hearing(capture="pedal")
    assert all_of(made, [length(n, n * 100) for n in range(20)]) == []
    reading = made.capture(stamp(1950))
    assert reading is not None
    assert (reading.text, reading.at, reading.raw, reading.duplicate) == ("0.19", stamp(1950), "1300", False)


def test_a_pedal_that_bounces_gives_a_duplicate_and_one_pressed_again_does_not() -> None:
    made = hearing(capture="pedal")
    made.take(length(500, 0))
    found = [made.capture(stamp(ms)) for ms in (10, 60, 400)]
    assert [f.duplicate for f in found if f] == [False, True, False]


def test_a_value_that_is_no_longer_the_present_one_is_not_read() -> None:
    made = hearing(capture="pedal")
    assert made.capture(stamp(0)) is None
    made.take(length(500, 0))
    assert made.capture(stamp(1000)) is not None
    assert made.capture(stamp(1001)) is None


def test_what_came_before_the_tool_was_ready_is_not_its_present_value() -> None:
    made = hearing(ready_ms=None, capture="pedal")
    made.take(length(500, 0))
    made.ready(stamp(10))
    assert made.capture(stamp(20)) is None


def test_what_cannot_be_read_of_a_stream_is_kept_all_the_same() -> None:
    (kept,) = hearing(capture="pedal").take(Frame(LENGTH, OWN, b"\x01", 1, stamp(0)))
    assert isinstance(kept, Undecoded)


# --- steady ---------------------------------------------------------------------------------------------------------

STEADY = Steady(band="0.02 mm", for_ms=300, away="0.10 mm")


def test_what_stands_still_is_a_reading_once() -> None:
    stream = [0, 0, 900, 2000, 2000, 2001, 2000, 2000, 2000, 2000]
    arrivals = all_of(hearing(capture="steady", steady=STEADY), [length(v, n * 100) for n, v in enumerate(stream)])
    assert texts(arrivals) == ["20.00"]


LINE = TextValue(decode="text", characteristic=OWN, role="reading", pattern="{number} mm", unit="mm", terminator="\n")


@given(st.lists(st.integers(0, 30), max_size=40), st.data())
def test_readings_of_a_text_stream_do_not_depend_on_how_its_octets_are_bundled(
    values: list[int], data: st.DataObject
) -> None:
    speech = Speech("T-1", "caliper", 80, (Bound(LENGTH, OWN, "reading", "profile", LINE),), "own", "steady", STEADY)
    lines = [f"{v / 100:.2f} mm\n".encode() for v in values]
    whole, pieces = Hearing(speech), Hearing(speech)
    expected: list[Arrival] = []
    found: list[Arrival] = []
    for n, line in enumerate(lines):
        cut = data.draw(st.integers(0, len(line)))
        expected += whole.take(Frame(LENGTH, OWN, line, 1, stamp(n * 100)))
        for piece in (line[:cut], line[cut:]):
            found += pieces.take(Frame(LENGTH, OWN, piece, 1, stamp(n * 100)))
    assert found == expected


# --- old ------------------------------------------------------------------------------------------------------------


def olds(made: Hearing, frames: Iterable[Frame]) -> list[bool]:
    return [a.old for a in all_of(made, frames) if isinstance(a, ToolReading)]


def test_a_backlog_sent_before_ready_is_old_to_its_end_and_a_press_after_it_is_not() -> None:
    made = hearing(ready_ms=None)
    assert olds(made, [length(n, n * 20) for n in range(5)]) == [True] * 5
    made.ready(stamp(100))
    assert olds(made, [length(n, 100 + n * 20) for n in range(5)]) == [True] * 5
    assert olds(made, [length(1, 600)]) == [False]


@pytest.mark.parametrize(
    ("rule", "old"),
    [
        (USUAL, [False, False]),
        (Backlog(settle_ms=1000), [True, False]),
        (Backlog(stored=Bits(at=2, mask=0x01, equals=0x01)), [False, True]),
    ],
)
def test_what_is_old_is_the_profiles(rule: Backlog, old: list[bool]) -> None:
    assert olds(hearing(backlog=rule), [length(1, 500, "00"), length(2, 2000, "01")]) == old


def test_a_peak_from_a_tools_memory_is_offered_as_an_old_reading() -> None:
    (offered,) = hearing(ready_ms=None).take(torque(PEAK, 9800, 5))
    assert isinstance(offered, ToolReading)
    assert (offered.quantity, offered.text, offered.unit, offered.old) == ("torque", "98.00", "N·m", True)
    assert (offered.source, offered.raw, offered.kind) == ("described", "48260000", "caliper")


# --- doubled --------------------------------------------------------------------------------------------------------


def test_a_doubled_stream_is_noticed_and_all_of_it_is_handed_over() -> None:
    made = hearing()
    frames = [torque(STREAM, n, n * 10) for n in range(40) for _ in range(2)]
    arrivals = all_of(made, frames)
    assert made.doubled
    assert not made.clean
    assert len(arrivals) == 80


def test_a_stream_that_comes_once_says_so() -> None:
    made = hearing()
    all_of(made, [torque(STREAM, n, n * 10) for n in range(40)])
    assert made.clean
    assert not made.doubled


def test_messages_that_come_twice_in_parts_show_a_doubled_link_and_a_single_one_does_not() -> None:
    made = written()
    all_of(made, in_parts("36.20", 0, times=2))
    after_an_echo = made.doubled
    all_of(made, in_parts("36.25", 2000, times=2))
    assert (after_an_echo, made.doubled, made.clean) == (False, True, False)


def test_a_message_in_parts_that_comes_once_ends_the_run() -> None:
    made = written()
    all_of(made, [*in_parts("36.20", 0, times=2), *in_parts("36.25", 2000), *in_parts("36.30", 4000, times=2)])
    assert not made.doubled
    assert not made.clean


def test_a_message_in_parts_that_comes_once_says_so() -> None:
    made = written()
    (reading,) = all_of(made, in_parts("36.35", 0))
    assert isinstance(reading, ToolReading)
    assert made.clean


# --- missing --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("counts", "missed"),
    [
        ([1, 2, 3], []),
        ([1, 1, 2], []),  # the same frame again
        ([254, 255, 0, 1], []),
        ([1, 5], [3]),
        ([250, 3], [8]),
        ([200, 0, 1], [55]),
        ([100, 1, 2], []),  # it began anew
        ([1, 3, 4, 6], [1, 1]),
    ],
)
def test_frames_that_a_counter_shows_to_be_missing_are_told_and_never_filled_in(
    counts: list[int], missed: list[int]
) -> None:
    counting = NUMBER.model_copy(update={"counter": Counter(at=2)})
    made = Hearing(Speech("T-1", "caliper", 80, (Bound(LENGTH, OWN, "reading", "profile", counting),), "own"))
    arrivals = all_of(made, [length(n, n * 500, f"{count:02x}") for n, count in enumerate(counts)])
    told = [a.reason for a in arrivals if isinstance(a, Undecoded)]
    assert told == [MISSED.format(missed=each) for each in missed]
    assert len(texts(arrivals)) == len(counts)
