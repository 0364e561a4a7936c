"""Profiles of one's own: what they read, their vectors, and which are refused with which words."""

import re

import pytest

from drivers.decode.bind import Offered, Speech, bind
from drivers.decode.check import broken, hear
from drivers.decode.decode import Frame, decode
from drivers.profile.profile import MAX_VECTORS, ProfileError, ToolProfile, parse_profile
from drivers.reading import Stamp, ToolReading, Undecoded

OWN = "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"
GOOD = f"""
profile = "bench-gauge"
kind = "caliper"
capture = "steady"
resolution = "0.01 mm"
accuracy = "0.02 mm"
sample_rate = 10

[[values]]
decode = "number"
role = "reading"
characteristic = "{OWN}"
form = "signed"
offset = 2
width = 16
order = "big"
lengths = [6]
header = [{{ at = 0, equals = 0xA5 }}]
fixed = [{{ at = 5, mask = 0x7F, equals = 0 }}]
units = {{ at = 1, mask = 0x01, cases = [
    {{ equals = 0, unit = "mm", exponent = -2 }},
    {{ equals = 1, unit = "in", exponent = -4 }},
] }}

[[vector]]
hex = "a5000be10700"
shown = "30.41 mm"

[[vector]]
hex = "A501FFFE0780"
shown = "-0.0002 in"

[[vector]]
hex = "b65d00000000"
aside = true

[[vector]]
hex = "a5000be10701"
undecided = true
"""


def profile(*change: str) -> ToolProfile:
    return parse_profile(GOOD.replace(*change) if len(change) == 2 else GOOD, "own.toml")


def test_the_vectors_of_a_good_profile_hold() -> None:
    found = profile()
    assert broken(found) == ()
    assert (found.capture, found.resolution, found.accuracy, found.sample_rate) == ("steady", "0.01 mm", "0.02 mm", 10)
    assert not found.recognise.matches("any name", [])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('shown = "30.41 mm"', 'shown = "30.42 mm"'), r"vector 1 \(a5000be10700\): expected 30.42 mm, found 30.41 mm"),
        (('shown = "30.41 mm"', 'shown = "30.410 mm"'), "expected 30.410 mm, found 30.41 mm"),
        (('shown = "30.41 mm"', "aside = true"), "expected set aside, found 30.41 mm"),
        (('hex = "b65d00000000"', 'hex = "a55d00000000"'), "expected set aside, found 0.0000 in"),
        (("undecided = true", 'shown = "30.41 mm"'), "expected 30.41 mm, found no reading: Octet 5 has bits"),
        (("aside = true", "undecided = true"), "expected no reading, found set aside"),
        (
            ('hex = "a5000be10700"', 'hex = "a5000be10700"\ncharacteristic = "2a19"'),
            "found no value of the profile is on its characteristic",
        ),
    ],
)
def test_a_vector_that_does_not_hold_is_told(change: tuple[str, str], words: str) -> None:
    (told,) = broken(profile(*change))
    assert re.search(words, told), told


def test_a_payload_is_read_by_every_value_that_could() -> None:
    (heard,) = hear(profile(), bytes.fromhex("a5000be10700"))
    assert (str(heard), heard.characteristic, heard.role) == ("30.41 mm", OWN, "reading")
    assert hear(profile(), b"\1", "2a19") == ()
    sig = parse_profile(
        'profile="s"\nkind="caliper"\n[[values]]\ndecode="sig"\nrole="reading"\ncharacteristic="2C0A"\n', "s"
    )
    assert [str(each) for each in hear(sig, bytes.fromhex("30e00300"))] == ["25.4000 mm"]
    assert [str(each) for each in hear(sig, b"\xff" * 4)] == ["no reading: The tool sent no number but: not known."]


def spoken(payload: str) -> object:
    found = profile()
    speech = Speech("T-1", found.kind, 80, bind(found, [Offered(3, OWN, "x")]))
    return decode(Frame(3, OWN, bytes.fromhex(payload), 1, Stamp(0, 0)), speech)


def test_frames_become_arrivals() -> None:
    reading = spoken("a5000be10700")
    assert isinstance(reading, ToolReading)
    assert (reading.text, reading.unit, reading.quantity, reading.source) == ("30.41", "mm", "length", "profile")
    assert isinstance(inch := spoken("a5010be10700"), ToolReading)
    assert (inch.text, inch.unit) == ("0.3041", "in")


def test_a_heartbeat_is_set_aside_and_an_unknown_bit_is_not() -> None:
    heartbeat, unknown = spoken("b65d00000000"), spoken("a5000be10701")
    assert isinstance(heartbeat, Undecoded)
    assert isinstance(unknown, Undecoded)
    assert (heartbeat.aside, unknown.aside) == (True, False)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("width = 16", "width = 12"), 'width of form "signed" is one of 8, 16.*not 12'),
        (('form = "signed"', 'form = "float"'), 'width of form "float" is one of 32, 64'),
        (('form = "signed"', 'form = "octal"'), "form: .*found 'octal'"),
        (("offset = 2", "offset = -1"), "offset: .*greater than or equal to 0"),
        (("offset = 2", "offset = 600"), "offset: .*less than 512"),
        (("offset = 2", "offset = 5"), "it reaches octet 6, beyond a frame of 6 octets"),
        (("lengths = [6]", "lengths = [600]"), "lengths.0.*less than or equal to 512"),
        (("lengths = [6]", 'unit = "mm"'), "give a unit, or the bits that say it"),
        (("lengths = [6]", "mask = 0x0FF1"), "its bits are in one piece"),
        (("lengths = [6]", "mask = 0x1FFFF"), "within the width"),
        (("lengths = [6]", "sign = { at = 1, equals = 1 }"), "has one already"),
        (("lengths = [6]", 'factor = "nan"'), "factor"),
        (("mask = 0x7F, equals = 0 ", "mask = 0x7F, equals = 0x80 "), "has bits that the mask 127 leaves out"),
        (("equals = 1, unit", "equals = 2, unit"), "each code of a unit field stands once"),
        (("equals = 1, unit", "equals = 0, unit"), "each code of a unit field stands once"),
        (('unit = "in"', 'unit = "N·m"'), "a length or a torque"),
        (('unit = "in"', 'unit = "furlong"'), "found 'furlong'"),
        (('role = "reading"', 'role = "stream"'), "a length can only be a reading, not a stream"),
        (('capture = "steady"', 'capture = "whistle"'), "capture: .*found 'whistle'"),
        (('resolution = "0.01 mm"', 'resolution = "fine"'), "resolution: .*found 'fine'"),
        (("sample_rate = 10", "sample_rate = 0"), "sample_rate"),
        (("aside = true", ""), "a vector says what is shown, or aside = true, or undecided = true"),
        (('hex = "a5000be10700"', 'hex = "a5000be1070"'), "hex: String should match"),
        (("sample_rate = 10", "a.b.c.d.e.f.g.h.i.j = 10"), "line 7: a key with more than 8 dots"),
        (("sample_rate = 10", "# " + "x" * 2000), "line 7 has 2002 characters"),
        (("sample_rate = 10", "\n" * 2001), "2041 lines; at most 2000 are allowed"),
    ],
)
def test_what_is_wrong_is_named_with_file_and_key(change: tuple[str, str], words: str) -> None:
    assert change[0] in GOOD
    with pytest.raises(ProfileError, match=f"(?s)^own.toml.*{words}"):
        profile(*change)


TEXT = """
profile = "lines"
kind = "caliper"
[[values]]
decode = "text"
role = "reading"
characteristic = "ffe1"
pattern = "{number}{space}{unit}"
mark = ","
units = [{ equals = "mm", unit = "mm" }]
"""


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("{space}", "{gap}"), r"\{gap\} is none of"),
        (("{unit}", ""), r"has \{unit\} when, and only when"),
        (('units = [{ equals = "mm", unit = "mm" }]', 'unit = "mm"'), r"has \{unit\} when, and only when"),
        (('mark = ","', 'mark = ";"'), "mark: .*found ';'"),
        (('mark = ","', 'mark = ","\npicture = "+00.00"'), "another decimal mark"),
        (('mark = ","', 'mark = ","\npicture = "+##.##"'), "picture"),
        (('mark = ","', 'mark = ","\nterminator = "end of line"'), "terminator"),
    ],
)
def test_what_is_wrong_with_a_text_is_named(change: tuple[str, str], words: str) -> None:
    parse_profile(TEXT, "own.toml")
    with pytest.raises(ProfileError, match=f"(?s)^own.toml.*{words}"):
        parse_profile(TEXT.replace(*change), "own.toml")


def test_vectors_are_bounded() -> None:
    many = "".join(f'[[vector]]\nhex = "a5{i:04x}"\naside = true\n' for i in range(MAX_VECTORS + 1))
    with pytest.raises(ProfileError, match="vector"):
        parse_profile(GOOD + many, "own.toml")


def test_what_a_tool_types_is_checked_as_text() -> None:
    typing = parse_profile(
        'profile = "typing-gauge"\nkind = "caliper"\n[[values]]\ndecode = "typed"\npattern = "{number}"\n'
        f'picture = "+0000.00"\nunit = "mm"\n[[vector]]\nhex = "{b"+0012.34".hex()}"\nshown = "12.34 mm"\n',
        "typing.toml",
    )
    assert broken(typing) == ()
    assert [str(each) for each in hear(typing, b"+0012.34")] == ["12.34 mm"]
