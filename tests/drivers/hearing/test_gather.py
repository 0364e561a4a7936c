"""Fragments: the same message in one, two or many notifications is the same message."""

from itertools import pairwise

from hypothesis import assume, given
from hypothesis import strategies as st

from drivers.decode.bind import Bound, Speech
from drivers.decode.decode import Frame
from drivers.hearing.gather import MAX_AGE_NS, MAX_MESSAGE, TORN, Gathering, cut_off, gather
from drivers.profile.values import TextValue
from drivers.reading import Stamp, Undecoded

OWN = "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"
LINE = TextValue(
    decode="text", role="reading", characteristic=OWN, pattern="{number}", unit="mm", terminator="\r\n"
)  # fmt: skip
WHOLE = LINE.model_copy(update={"terminator": ""})
SPEECH = Speech(
    "T-1",
    "caliper",
    80,
    (Bound(3, OWN, "reading", "profile", LINE), Bound(9, OWN, "reading", "profile", WHOLE)),
)


def frame(octets: bytes, at_ns: int = 0, handle: int = 3) -> Frame:
    return Frame(handle, OWN, octets, 1, Stamp(0, at_ns))


def told(pieces: list[bytes], step_ns: int = 1000) -> tuple[list[bytes], list[str], Gathering]:
    state, messages, reasons = Gathering(), [], []
    for i, piece in enumerate(pieces):
        state, found = gather(state, frame(piece, i * step_ns), SPEECH)
        messages += [each.payload for each in found if isinstance(each, Frame)]
        reasons += [each.reason for each in found if isinstance(each, Undecoded)]
    return messages, reasons, state


@given(
    lines=st.lists(st.integers(-9999, 9999), min_size=1, max_size=8),
    cuts=st.lists(st.integers(0, 80), max_size=12),
)
def test_wherever_a_stream_is_cut_it_holds_the_same_messages(lines: list[int], cuts: list[int]) -> None:
    messages = [f"{line}.5\r\n".encode() for line in lines]
    stream = b"".join(messages)
    places = sorted({0, len(stream), *(cut for cut in cuts if cut < len(stream))})
    pieces = [stream[a:b] for a, b in pairwise(places)]
    assume(all(a != b or len(a) == 1 for a, b in pairwise(pieces)))
    found, reasons, state = told(pieces)
    assert (found, reasons, state.held) == (messages, [], {})


@given(number=st.integers(1, 99_999), cuts=st.lists(st.integers(2, 6), min_size=1, max_size=3))
def test_what_comes_twice_in_parts_is_kept_and_makes_no_other_number(number: int, cuts: list[int]) -> None:
    message = f"{number:05}.5\r\n".encode()
    places = sorted({0, len(message), *cuts})
    pieces = [piece for a, b in pairwise(places) for piece in [message[a:b]] * 2]
    assume(all(len(piece) > 1 for piece in pieces))
    found, reasons, state = told(pieces)
    assert (found, state.held) == ([], {})
    assert reasons == [
        "A part of it came twice, so what it says is not certain.",
        "It is the end of the message before it once more.",
    ]


def test_the_message_after_one_that_came_twice_in_parts_counts() -> None:
    twice = [b"30.", b"30.", b"41\r\n", b"41\r\n"]
    assert told([*twice, b"30.42\r\n"])[0] == [b"30.42\r\n"]
    assert told([*twice, b"30.", b"43\r\n"])[0] == [b"30.43\r\n"]


def test_parts_that_are_alike_but_come_later_are_no_echo() -> None:
    assert told([b"11", b"11\r\n"])[:2] == ([b"1111\r\n"], [])
    assert told([b"30.", b"41\r\n", b"41\r\n"], 80_000_000)[:2] == ([b"30.41\r\n", b"41\r\n"], [])


def test_a_message_bears_the_stamp_of_its_end() -> None:
    state, _ = gather(Gathering(), frame(b"30.", 5), SPEECH)
    _, (whole,) = gather(state, frame(b"41\r\n", 9), SPEECH)
    assert isinstance(whole, Frame)
    assert (whole.payload, whole.at.mono_ns) == (b"30.41\r\n", 9)


def test_a_rest_that_comes_too_late_makes_no_reading_with_what_was_before_nor_alone() -> None:
    messages, reasons, state = told([b"30.", b"41\r\n", b"30.42\r\n"], MAX_AGE_NS + 1)
    assert (messages, reasons) == ([b"30.42\r\n"], ["The rest of it did not come within a second.", TORN])
    assert (state.held, state.torn) == ({}, frozenset())
    assert told([b"30.", b"41\r\n"], MAX_AGE_NS)[0] == [b"30.41\r\n"]


def test_a_late_rest_in_parts_is_torn_to_its_end() -> None:
    assert told([b"130", b".4", b"1\r\n", b"30.42\r\n"], MAX_AGE_NS + 1)[0] == [b"30.42\r\n"]
    state, _ = gather(Gathering(), frame(b"130"), SPEECH)
    late = MAX_AGE_NS + 1
    for n, part in enumerate((b".4", b"1\r\n")):
        state, found = gather(state, frame(part, late + n), SPEECH)
    (torn,) = found
    assert isinstance(torn, Undecoded)
    assert (torn.raw, torn.reason) == (b".41\r\n".hex(), TORN)


def test_the_end_of_a_message_that_grew_too_long_is_no_reading() -> None:
    messages, reasons, _ = told([b"1" * 512] * 9 + [b"41\r\n", b"42\r\n"])
    assert (messages, reasons) == ([b"42\r\n"], ["It went on for more than 4096 octets without an end.", TORN])


def test_a_message_without_an_end_stops_growing() -> None:
    messages, reasons, state = told([b"1" * 512] * 20)
    assert messages == []
    assert reasons == ["It went on for more than 4096 octets without an end."] * 2
    assert sum(len(kept.payload) for kept in state.held.values()) <= MAX_MESSAGE


def test_empty_lines_are_nothing() -> None:
    assert told([b"\r\n\r\n1.5\r\n"])[0] == [b"1.5\r\n"]


def test_what_has_no_terminator_passes_through() -> None:
    alone = frame(b"30.", handle=9)
    assert gather(Gathering(), alone, SPEECH) == (Gathering(), (alone,))
    unbound = frame(b"30.", handle=77)
    assert gather(Gathering(), unbound, SPEECH) == (Gathering(), (unbound,))


def test_what_is_unfinished_when_a_link_ends_is_kept() -> None:
    (kept,) = cut_off(told([b"30."])[2], SPEECH)
    assert (kept.raw, kept.reason) == ("33302e", "The link ended before the rest of it came.")
