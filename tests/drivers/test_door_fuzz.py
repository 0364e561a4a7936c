"""What comes to the drivers from outside: profiles, frames, typed lines; each is read or refused, soon."""

import json
import re
import tomllib
import tracemalloc

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from drivers.decode.bind import Offered, Speech, bind, wanted
from drivers.decode.check import broken, hear
from drivers.decode.decode import Frame, decode
from drivers.decode.texts import read_text, write_text
from drivers.gatt import battery_of, text_of
from drivers.hearing.hearing import Hearing
from drivers.octets import FrameError
from drivers.profile.fields import MAX_FRAME
from drivers.profile.file import SHIPPED, read_profile
from drivers.profile.namepattern import NAME_SEEN, usable
from drivers.profile.profile import MAX_PROFILE_OCTETS, ProfileError, ToolProfile, candidates, parse_profile
from drivers.profile.values import TextValue, TypedValue
from drivers.reading import Stamp, ToolReading, Undecoded
from drivers.typed import TypedError, read_typed, read_typed_by
from logger.units import unit_of
from tests.fuzz import ends, fuzzed, misfilled, spoiled, spoiled_octets, told

NUMBER = """
profile = "own-gauge"
kind = "caliper"
capture = "steady"
resolution = "0.01 mm"
accuracy = "0.02 mm"
[recognise]
name = '(?i)\\bgauge'
service = "0x185A"
[[values]]
decode = "number"
characteristic = "0xFFF1"
role = "reading"
form = "sign-magnitude"
offset = 2
width = 16
order = "big"
exponent = -2
factor = "0.5"
lengths = [6, 8]
header = [{ at = 0, equals = 165 }]
fixed = [{ at = 5, mask = 1, equals = 0 }]
unknown = 32767
button = { at = 1, mask = 128, equals = 128 }
counter = { at = 4, octets = 1 }
[values.units]
at = 5
mask = 6
cases = [{ equals = 0, unit = "mm" }, { equals = 2, unit = "in", exponent = -3 }]
[values.mode]
at = 1
mask = 3
cases = [{ equals = 0, mode = "absolute" }, { equals = 1, mode = "held", reads = false }]
[[values.agree]]
form = "signed"
offset = 2
width = 16
order = "big"
exponent = -2
unit = "mm"
[[vector]]
hex = "a580001e0000"
shown = "0.15 mm"
[[vector]]
hex = "a5"
aside = true
"""
TEXT = """
profile = "own-text"
kind = "torque wrench"
[pull]
start = "2.5"
[[values]]
decode = "text"
characteristic = "0xFFF2"
role = "peak"
pattern = "{word}:{space}{number}{space}{unit}{digits}"
mark = "."
picture = "+0000.00"
terminator = "\\r\\n"
[[values.units]]
equals = "Nm"
unit = "N·m"
[[values.units]]
equals = "″lb"
unit = "lbf·in"
[[vector]]
hex = "544f3a202b303039382e31304e6d31"
shown = "98.10 N·m"
"""
TYPED = """
profile = "own-keys"
kind = "caliper"
[[values]]
decode = "typed"
pattern = "{number} mm"
picture = "-000.00"
unit = "mm"
"""
SOURCES = [NUMBER, TEXT, TYPED, *(path.read_text("utf-8") for path in sorted(SHIPPED.glob("*.toml")))]
TREES = [json.loads(json.dumps(tomllib.loads(text))) for text in SOURCES]
PROFILES = [parse_profile(text, "own.toml") for text in SOURCES]
AT = Stamp(0, 0)


def said_of(text: str) -> str:
    """Return what is said of a profile; one that is taken hears a frame and checks its vectors."""
    taken: list[ToolProfile] = []
    said = told(lambda: taken.append(parse_profile(text, "own.toml")), ProfileError)
    for profile in taken:
        with ends():
            broken(profile)
            hear(profile, bytes(range(40)))
            candidates([profile], "a" * 248, ["0x185A"])
    assert not said or (said.startswith("own.toml") and len(said) < 1000)
    return said


# --- profiles -------------------------------------------------------------------------------------------------------

BOMBS = {
    "arrays": "a = " + "[" * 60_000,
    "dots": "a." * 30_000 + "a = 1",
    "dots and line separators": '"\u2028".a.a.a.a.a.a.a.' * 2000 + "a = 1",
    "dots after quotes": '"".' + "a." * 590 + "a = 1\n",
    "endless search": NUMBER.replace(r"(?i)\bgauge", "(a+)+$"),
    "choices": NUMBER.replace(r"(?i)\bgauge", "(a|a)" * 30 + "b"),
    "optional": NUMBER.replace(r"(?i)\bgauge", "a?" * 60 + "a" * 60),
    "repeats": NUMBER.replace(r"(?i)\bgauge", ".*" * 60 + "b"),
    "repetition too large": NUMBER.replace(r"(?i)\bgauge", "a{99999999999}"),
    "verbose": NUMBER.replace(r"(?i)\bgauge", "(?x)(a+) +b"),
    "nested set": NUMBER.replace(r"(?i)\bgauge", "[[a]"),
    "factor": NUMBER.replace('factor = "0.5"', 'factor = "1e-999999999"'),
    "start": TEXT.replace('start = "2.5"', 'start = "1e999999999"'),
    "signalling nan": TEXT.replace('start = "2.5"', 'start = "sNaN"'),
    "mask": NUMBER.replace("exponent = -2\nfactor", "exponent = -2\nmask = 0x" + "f" * 900 + "\nfactor"),
    "a file of 100 MB": "#" * 100_000_000,
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_no_profile(name: str) -> None:
    tracemalloc.start()
    try:
        assert said_of(BOMBS[name])
        assert tracemalloc.get_traced_memory()[1] < max(200 * MAX_PROFILE_OCTETS, 2 * len(BOMBS[name]))
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ('decode = "number"', f'decode = "0x{"f" * 900}"'),
        ('decode = "number"', f'decode = "{"x" * 1100}"'),
        ('decode = "number"\n', ""),
        ("unknown = 32767", f"{'x' * 1100} = 32767"),
        ('profile = "own-gauge"', f'"{"y" * 1100}" = 1\nprofile = "own-gauge"'),
    ],
)
def test_a_long_word_is_said_again_in_part(was: str, now: str) -> None:
    said = said_of(NUMBER.replace(was, now, 1))
    assert said
    assert len(said) < 300


def test_a_way_of_reading_that_is_none_is_told_with_those_that_are() -> None:
    said = said_of(NUMBER.replace('decode = "number"', 'decode = "nmber"', 1))
    assert said == (
        'own.toml: values.0.decode: it is one of "sig", "described", "number", "text", "typed", found \'nmber\'.'
    )


def test_a_file_without_end_is_read_no_further_than_a_profile_goes(tmp_path_factory: pytest.TempPathFactory) -> None:
    link = tmp_path_factory.mktemp("device") / "own.toml"
    link.symlink_to("/dev/zero")
    assert told(lambda: read_profile(link), ProfileError)


@fuzzed(60)
@given(st.text(max_size=400))
def test_fuzz_any_text_is_a_profile_or_refused(text: str) -> None:
    assert said_of(text.encode("utf-8", "replace").decode())


@fuzzed(100)
@given(spoiled(st.sampled_from(SOURCES)))
def test_fuzz_a_profile_with_a_few_changes(text: str) -> None:
    said_of(text.encode("utf-8", "replace").decode())


@fuzzed(100)
@given(misfilled(st.sampled_from(TREES)))
def test_fuzz_a_profile_with_other_values(tree: object) -> None:
    try:
        text = tomli_w.dumps(tree) if isinstance(tree, dict) else "a"
        text.encode()
    except (TypeError, ValueError, AttributeError):  # TOML has no null, and no half of a surrogate pair
        return
    said_of(text)


@fuzzed(150)
@given(
    st.lists(st.sampled_from([*"ab.*+?|()[]{}^$\\#", "(?:", "(?i)", "(?x)", "{2,}", "{,9}", "(?=", "\\b", "[^"])),
    st.sampled_from(["a" * 248, "ab" * 124, "gauge 7", "\0\x1b"]),
)
def test_fuzz_a_pattern_that_is_taken_finds_soon(parts: list[str], name: str) -> None:
    pattern = "".join(parts)[:200]
    with ends():
        try:
            usable(pattern)
        except ValueError:
            return
        re.search(pattern, name[:NAME_SEEN])


# --- frames ---------------------------------------------------------------------------------------------------------

OFFERED = [Offered(n, uuid, "s", None, b"\x10\xfe\x41\x27\x01\x00\x00") for n, uuid in enumerate(
    sorted({value.characteristic for profile in PROFILES for value in profile.values} - {"any", "keys"}), 1
)]  # fmt: skip
SPOKEN = [speech for p in PROFILES if (speech := Speech.by(p, "t", bind(p, OFFERED))).bound]
FRAMES = [vector.octets for profile in PROFILES for vector in profile.vector] or [b"\0"]


def heard(payloads: list[bytes], speech: Speech, gap_ms: int) -> None:
    """Let a whole link's frames go the way they go at the bench, and look at what comes of them."""
    hearing, before = Hearing(speech), None
    for number, payload in enumerate(payloads):
        at = Stamp(number * gap_ms * 1_000_000, number * gap_ms * 1_000_000)
        frame = Frame(speech.bound[number % len(speech.bound)].handle, "u", payload, 1, at)
        with ends():
            arrival = decode(frame, speech, before)
            assert len(repr(arrival)) < 3000 + 8 * len(payload)
            for each in hearing.take(frame):
                assert not isinstance(each, Undecoded) or each.reason.endswith((".", ";"))
        before = frame
    hearing.end()


@fuzzed(60)
@given(
    st.lists(st.binary(max_size=40), min_size=1, max_size=8), st.sampled_from(SPOKEN), st.sampled_from([1, 90, 2000])
)
def test_fuzz_any_octets_of_a_link(payloads: list[bytes], speech: Speech, gap_ms: int) -> None:
    heard(payloads, speech, gap_ms)


@fuzzed(80)
@given(
    st.lists(spoiled_octets(st.sampled_from(FRAMES)), min_size=1, max_size=6),
    st.sampled_from(SPOKEN),
    st.sampled_from([1, 90, 2000]),
)
def test_fuzz_frames_with_a_few_changes(payloads: list[bytes], speech: Speech, gap_ms: int) -> None:
    heard(payloads, speech, gap_ms)


@fuzzed(60)
@given(
    st.integers(0, 255), st.integers(-128, 127), st.sampled_from([0x2701, 0x27A2, 0x2741, 0]), st.binary(max_size=10)
)
def test_fuzz_any_descriptor_is_understood_or_not_used(form: int, exponent: int, unit: int, payload: bytes) -> None:
    described = bytes([form]) + exponent.to_bytes(1, "little", signed=True) + unit.to_bytes(2, "little") + b"\1\0\0"
    for profile in PROFILES:
        offered = [Offered(1, "u", "s", "\x1b", described), Offered(2, "v", "s", None, payload)]
        wanted(PROFILES, offered)
        speech = Speech.by(profile, "t", bind(profile, offered))
        if speech.bound:
            heard([payload, bytes(8), b"\xff" * 8], speech, 90)


@fuzzed(40)
@given(spoiled_octets(st.sampled_from(FRAMES)), st.sampled_from(PROFILES))
def test_fuzz_a_check_of_any_frame_reads_and_writes_it(payload: bytes, profile: ToolProfile) -> None:
    with ends():
        for each in hear(profile, payload):
            assert each.again in (None, payload) or len(each.again or b"") <= max(len(payload), MAX_FRAME)


@fuzzed(40)
@given(st.binary(max_size=600))
def test_fuzz_what_a_tool_tells_of_itself_is_short_and_printable(payload: bytes) -> None:
    assert text_of(payload).isprintable()
    assert len(text_of(payload)) <= 64
    assert battery_of(payload) in (None, *range(101))


def test_a_terminator_that_the_characters_of_a_message_lack_is_refused() -> None:
    tables = {"decode": "text", "characteristic": "0xFFF2", "role": "reading", "pattern": "{number}{unit}"}
    units = {"units": [{"equals": "\u00ce\u00a9", "unit": "mm"}], "terminator": "\u03a9"}
    value = TextValue.model_validate_json(json.dumps(tables | units))
    message = b"1\xce\xa9"
    said = read_text(value, b"1\xc3\x8e\xc2\xa9")
    assert str(said) == "1 mm"
    with pytest.raises(FrameError):
        read_text(value, message)
    assert write_text(value, said.value, said.unit) == b"1\xc3\x8e\xc2\xa9\xce\xa9"


# --- typed lines ----------------------------------------------------------------------------------------------------

LINES = ["36.2 mm", "98 N·m", "-0.02 in", "+12.5 N.m", "72 lbf·ft", "123.45 mm"]
KEYS = [value for p in PROFILES for value in p.values if isinstance(value, TypedValue)]


def typed(line: str) -> None:
    """Give a line to both readers of typed lines; what is taken is a plain decimal."""
    for read in (lambda: read_typed(line, AT, unit_of), lambda: read_typed_by(KEYS[0], line, AT)):
        taken: list[ToolReading] = []
        said = told(lambda read=read, taken=taken: taken.append(read()), TypedError)  # type: ignore[misc]
        assert len(said) < 600
        assert all(re.fullmatch(r"-?[0-9]{1,12}(\.[0-9]{1,12})?", reading.text) for reading in taken)


@fuzzed(80)
@given(st.text(max_size=60) | st.characters(categories=["Nd", "No", "Sm", "Cs", "Cc", "Cf"]))
def test_fuzz_any_line(line: str) -> None:
    typed(line)


@fuzzed(100)
@given(spoiled(st.sampled_from(LINES)))
def test_fuzz_a_typed_reading_with_a_few_changes(line: str) -> None:
    typed(line)


@fuzzed(60)
@given(
    st.from_regex(r"[+−-]? ?[0-9０-９]{1,14}[.,]?[0-9]{0,14}([eE][+-]?[0-9]{1,10})? ?[a-zN·µ\"°%]{0,6}", fullmatch=True)
)
def test_fuzz_what_looks_like_a_reading(line: str) -> None:
    typed(line)


def test_a_line_of_100_mb_is_refused_in_the_room_of_itself() -> None:
    line = "9" * 100_000_000
    tracemalloc.start()
    try:
        typed(line)
        assert tracemalloc.get_traced_memory()[1] < 3 * len(line)
    finally:
        tracemalloc.stop()
