"""Profiles: those shipped, and what is refused with which words."""

from pathlib import Path

import pytest

from drivers.gatt import INDUSTRIAL_MEASUREMENT, TORQUE
from drivers.profile.fields import full_uuid
from drivers.profile.file import read_profile, shipped_profiles
from drivers.profile.profile import ProfileError, candidates, parse_profile

GOOD = """
profile = "plain-caliper"
kind = "caliper"
[recognise]
name = '(?i)\\bcaliper'
[[values]]
decode = "described"
role = "reading"
"""


def names(name: str, *services: str) -> list[str]:
    return [p.profile for p in candidates(shipped_profiles(), name, services)]


def test_the_shipped_profiles_are_these() -> None:
    found = {p.profile: p.kind for p in shipped_profiles()}
    assert found == {
        "sig-caliper": "caliper",
        "sig-depth-gauge": "depth gauge",
        "sig-tape": "tape",
        "sig-torque-wrench": "torque wrench",
        "described-caliper": "caliper",
        "described-torque-wrench": "torque wrench",
    }
    assert all(p.notify_mode == "start" and p.duplicate_ms == 80 for p in shipped_profiles())


@pytest.mark.parametrize(
    ("name", "services", "found"),
    [
        ("Bench 1", [INDUSTRIAL_MEASUREMENT], ["sig-caliper", "sig-torque-wrench"]),
        ("Depth 200", [INDUSTRIAL_MEASUREMENT.upper()], ["sig-depth-gauge", "sig-caliper", "sig-torque-wrench"]),
        ("Tape 5 m", [INDUSTRIAL_MEASUREMENT], ["sig-tape", "sig-caliper", "sig-torque-wrench"]),
        ("Digital CALIPER", [], ["described-caliper"]),
        ("Torque 200", [], ["described-torque-wrench"]),
        ("Heart strap", [], []),
        ("", [], []),
    ],
)
def test_the_most_specific_profile_is_tried_first(name: str, services: list[str], found: list[str]) -> None:
    assert names(name, *services) == found


def test_stream_and_peak_are_told_apart_by_their_description() -> None:
    wrench = next(p for p in shipped_profiles() if p.profile == "sig-torque-wrench")
    told = [(v.characteristic, v.role, v.user_description) for v in wrench.values]
    assert (TORQUE, "peak", "Torque peak") in told
    assert (TORQUE, "stream", "Torque stream") in told
    assert wrench.pull is not None
    assert (str(wrench.pull.start), wrench.pull.unit) == ("2.00", "N·m")


@pytest.mark.parametrize("text", ["0x2C0B", "2c0b", "2C0B", TORQUE, TORQUE.upper()])
def test_a_uuid_may_be_short_or_full(text: str) -> None:
    assert full_uuid(text) == TORQUE


def test_what_is_not_written_has_its_default() -> None:
    profile = parse_profile(GOOD, "here.toml")
    assert (profile.notify_mode, profile.duplicate_ms, profile.pull) == ("start", 80, None)
    assert profile.values[0].characteristic == "any"


def test_how_readings_are_captured_and_what_is_old_can_be_stated() -> None:
    steady = GOOD.replace('kind = "caliper"', 'kind = "caliper"\ncapture = "steady"')
    assert parse_profile(steady, "here.toml").steady is None, "what is common then holds"
    stated = steady + '[steady]\nband = "0.01 mm"\nfor_ms = 500\naway = "0.5 mm"\n[backlog]\nsettle_ms = 300\n'
    profile = parse_profile(stated, "here.toml")
    assert profile.steady is not None
    assert (profile.steady.for_ms, profile.backlog.settle_ms, profile.backlog.press_ms) == (500, 300, 150)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("kind =", "kind ="), None),
        (('kind = "caliper"', 'kind = "stethoscope"'), "kind: Input should be 'caliper'.*found 'stethoscope'"),
        (('kind = "caliper"', 'kind = "caliper"\ncolour = "red"'), "colour: Extra inputs are not permitted"),
        (('kind = "caliper"', ""), "kind: Field required"),
        (('kind = "caliper"', 'kind = "caliper"\nduplicate_ms = "80"'), "duplicate_ms.*found '80'"),
        (('kind = "caliper"', 'kind = "caliper"\nduplicate_ms = 5000'), "duplicate_ms.*less than or equal to 2000"),
        (('kind = "caliper"', 'kind = "caliper"\nduplicate_ms = nan'), "holds a value that no profile has"),
        (('kind = "caliper"', "kind = 2026-01-05"), "holds a value that no profile has"),
        (("name = '(?i)\\bcaliper'", ""), "recognise.*a service, a name pattern, or both"),
        (("name = '(?i)\\bcaliper'", "name = '('"), "is not a pattern"),
        (("name = '(?i)\\bcaliper'", "service = '185'"), "'185' is not a UUID"),
        (('decode = "described"', 'decode = "guess"'), "values.0.*guess"),
        (('decode = "described"', 'decode = "sig"\ncharacteristic = "0x2A19"'), 'decode "sig" knows 0x2C0B'),
        (
            ('decode = "described"\nrole = "reading"', 'decode = "sig"\ncharacteristic = "0x2C0A"\nrole = "stream"'),
            "a length can only be a reading, not a stream",
        ),
        (('role = "reading"', 'role = "sometimes"'), "role.*found 'sometimes'"),
        (("[recognise]", "[recognise"), "is not TOML"),
        (('kind = "caliper"', 'kind = "torque wrench"\ncapture = "pedal"'), 'capture = "pedal" is for lengths'),
        (
            ("[recognise]", '[steady]\nband = "1 mm"\nfor_ms = 500\naway = "1 mm"\n[recognise]'),
            'steady. is for capture = "steady", not "button"',
        ),
        (("[recognise]", '[steady]\nband = "1 N·m"\nfor_ms = 500\naway = "1 mm"\n[recognise]'), "is not a length"),
        (('profile = "plain-caliper"', 'profile = "Plain Caliper"'), "profile: String should match"),
    ],
)
def test_what_is_wrong_is_named_with_file_and_key(change: tuple[str, str], words: str | None) -> None:
    text = GOOD.replace(*change)
    if words is None:
        parse_profile(text, "here.toml")
        return
    with pytest.raises(ProfileError, match=f"(?s)^here.toml.*{words}"):
        parse_profile(text, "here.toml")


def test_files_that_are_no_profile_are_refused_in_a_sentence(tmp_path: Path) -> None:
    large, binary, missing = tmp_path / "large.toml", tmp_path / "binary.toml", tmp_path / "missing.toml"
    large.write_text("#" * 70_000)
    binary.write_bytes(b"\xff\xfe\x00")
    for path, words in (
        (large, "larger than"),
        (binary, "not UTF-8"),
        (missing, "cannot be read"),
        (tmp_path, "cannot be read"),
    ):
        with pytest.raises(ProfileError, match=words):
            read_profile(path)
