"""`tools learn` and `tools profile check`: what a person and a machine are told, and every way a file can be wrong."""

import json
from pathlib import Path

import pytest

from tui.cli import main
from tui.exits import Exit

UUID = "FFE1"
ROWS: list[tuple[str, str | None]] = [
    ("A5010000E10B57", "30.41 mm"),
    ("a5010000e20456", "12.50 mm"),
    ("a5010000f4ff55", "-0.12 mm"),
    ("a5010000d00756", None),
    ("a5020000560000", None),
]


def capture(folder: Path, rows: list[tuple[str, str | None]]) -> str:
    path = folder / "capture.jsonl"
    lines = [json.dumps({"characteristic": UUID, "hex": hexes, "shown": shown}) for hexes, shown in rows]
    path.write_text("\n".join(lines))
    return str(path)


def test_the_json_answer_holds_every_measurement_as_given(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tools", "learn", "--from", capture(tmp_path, ROWS), "--json"]) == Exit.DONE
    answer = json.loads(capsys.readouterr().out)
    (fit,) = answer["fits"]
    assert set(answer) == {"fits", "ask_next"}
    assert set(fit) == {"characteristic", "description", "decodes"}
    assert fit["characteristic"] == UUID
    assert fit["description"] == "16-bit signed integer, little-endian, at octet 4, x 10^-2 mm."
    assert fit["decodes"] == {
        "A5010000E10B57": "30.41 mm",
        "a5010000e20456": "12.50 mm",
        "a5010000f4ff55": "-0.12 mm",
        "a5010000d00756": "20.00 mm",
    }
    assert answer["ask_next"] is None


def test_the_json_answer_is_an_object_also_when_nothing_fits(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = [*ROWS[:2], ("a5010000d00756", "77.77 mm")]
    assert main(["tools", "learn", "--from", capture(tmp_path, wrong), "--json"]) == Exit.BAD_INPUT
    told = capsys.readouterr()
    assert json.loads(told.out) == {"fits": [], "ask_next": None}
    assert "No way of reading that is known fits every reading shown" in told.err


def test_what_is_left_is_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [*ROWS[:2], ("a5010000f4ff55", None)]
    out = str(tmp_path / "own.toml")
    assert main(["tools", "learn", "--from", capture(tmp_path, rows), "--json", "--out", out]) == Exit.BAD_INPUT
    told = capsys.readouterr()
    answer = json.loads(told.out)
    assert len(answer["fits"]) == 3
    assert (answer["ask_next"]["hex"], answer["ask_next"]["line"]) == ("a5010000f4ff55", 3)
    assert "3 ways of reading are left, so no profile was written" in told.err
    assert not Path(out).exists()


def test_a_person_is_told_in_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tools", "learn", "--from", capture(tmp_path, ROWS)]) == Exit.DONE
    told = capsys.readouterr()
    assert told.out.splitlines() == [
        "1. FFE1: 16-bit signed integer, little-endian, at octet 4, x 10^-2 mm.",
        "   A5010000E10B57  30.41 mm  (shown)",
        "   a5010000e20456  12.50 mm  (shown)",
        "   a5010000f4ff55  -0.12 mm  (shown)",
        "   a5010000d00756  20.00 mm",
        "   1 frame is another kind of message, set aside",
    ]
    assert "Nothing was written. To write the profile, add: --out " in told.err
    assert "learned-tool.toml; --name TEXT says what" in told.err


def test_a_name_without_a_file_is_told_to_be_unused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tools", "learn", "--from", capture(tmp_path, ROWS), "--name", "Depot gauge"]) == Exit.DONE
    told = capsys.readouterr().err
    assert "Nothing was written (--name is for a profile). To write the profile, add: --out " in told
    assert "depot-gauge.toml." in told


def test_where_ways_are_left_nothing_is_written_and_it_is_said_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tools", "learn", "--from", capture(tmp_path, ROWS[:1])]) == Exit.DONE
    assert "Nothing was written: too little is known for a profile." in capsys.readouterr().err


def test_the_folder_of_profiles_is_made_where_the_profile_is_to_be(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "home"
    out = home / "profiles" / "own.toml"
    learn = ["--home", str(home), "tools", "learn", "--from", capture(tmp_path, ROWS), "--name", "Depot"]
    assert main([*learn, "--out", str(out)]) == Exit.DONE
    assert out.is_file()
    assert "The tool is read by it from now on" in capsys.readouterr().err
    assert main([*learn, "--out", str(tmp_path / "own.toml")]) == Exit.DONE
    assert f"Put it into {home / 'profiles'} to use it" in capsys.readouterr().err


def test_a_profile_is_written_checked_and_read_by(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = str(tmp_path / "own.toml")
    learn = ["tools", "learn", "--from", capture(tmp_path, ROWS), "--out", out, "--name", "Depot"]
    assert main(learn) == Exit.DONE
    assert main(["tools", "profile", "check", out]) == Exit.DONE
    assert "depot: 1 value, 5 vectors hold" in capsys.readouterr().out
    for payload, words in (
        ("A5010000E10B57", "30.41 mm  (reading, 0000ffe1-"),
        ("a5:01:00:00:0c:fe:57", "-5.00 mm"),
        ("0xa502000056005d", "set aside: Its first octets are those of another kind of message."),
        ("a5010100e10b57", "no reading: Octet 2 has bits (0x01) whose meaning the profile does not know"),
        ("a501", "set aside: It has 2 octets"),
    ):
        assert main(["tools", "profile", "check", out, "--payload", payload]) == Exit.DONE
        assert words in capsys.readouterr().out
    assert main(learn) == Exit.BAD_INPUT
    assert "is there already. Name another file, or add --force" in capsys.readouterr().err
    assert main([*learn, "--force"]) == Exit.DONE


def test_a_vector_that_does_not_hold_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "own.toml"
    assert main(["tools", "learn", "--from", capture(tmp_path, ROWS), "--out", str(out)]) == Exit.DONE
    out.write_text(out.read_text().replace('shown = "30.41 mm"', 'shown = "30.42 mm"'))
    assert main(["tools", "profile", "check", str(out)]) == Exit.BAD_INPUT
    told = capsys.readouterr().err
    assert "It recognises no tool by itself: add --name" in told
    assert "1 of 5 vectors does not hold: vector 1 (a5010000e10b57): expected 30.42 mm, found 30.41 mm." in told


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["learn", "--from", "{}/none.jsonl"], "There is no capture file"),
        (["learn", "--from", "/dev/zero"], "There is no capture file"),
        (["learn", "--from", "{}"], "There is no capture file"),
        (["learn", "--from", "{}/binary"], "is not UTF-8 text"),
        (["learn", "--from", "{}/broken"], "broken, line 1 is not JSON"),
        (["learn", "--from", "{}/good", "--out", "{}/none/own.toml"], "cannot be written"),
        (["learn", "--from", "{}/good", "--keep", "x"], "--keep has no meaning beside --from"),
        (["learn", "--from", "{}/good", "--tool", "x"], "--tool has no meaning beside --from"),
        (["learn", "--seconds", "0"], "--seconds 0 is out of range"),
        (["profile", "check", "{}/none.toml"], "cannot be read"),
        (["profile", "check", "{}/binary"], "is not UTF-8 text"),
        (["profile", "check", "{}/broken"], "is not TOML"),
        (["profile", "check", "{}/own.toml", "--payload", "xyz"], "--payload is not octets in hexadecimal"),
        (["profile", "check", "{}/own.toml", "--payload", ""], "--payload has 0 octets"),
        (["profile", "check", "{}/own.toml", "--payload", "00" * 513], "--payload has 513 octets"),
        (["profile", "check", "{}/described.toml", "--payload", "00"], "without the tool's own descriptors"),
    ],
)
def test_what_is_wrong_is_told_in_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str], words: str
) -> None:
    (tmp_path / "binary").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "broken").write_text("{{{")
    (tmp_path / "good").write_bytes(Path(capture(tmp_path, ROWS)).read_bytes())
    described = 'profile="d"\nkind="caliper"\n[[values]]\ndecode="described"\nrole="reading"\n'
    (tmp_path / "described.toml").write_text(described)
    assert main(["tools", "learn", "--from", str(tmp_path / "good"), "--out", str(tmp_path / "own.toml")]) == Exit.DONE
    capsys.readouterr()
    assert main(["tools", *(word.format(tmp_path) for word in command)]) == Exit.BAD_INPUT
    told = capsys.readouterr()
    assert words in told.err
    assert "Traceback" not in told.err


SEVEN: list[tuple[str, str | None]] = [
    ("a501e10b000005", "30.41 mm"),
    ("a501d204000005", "12.34 mm"),
    ("a50100feffff05", "-5.12 mm"),
    ("a501db27000005", "102.03 mm"),
]
"""A count of four octets, little-endian, of which the upper two have only ever repeated the sign."""


def test_where_ways_that_are_alike_so_far_would_part_there_is_no_reading(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(tmp_path / "own.toml")
    assert main(["tools", "learn", "--from", capture(tmp_path, SEVEN), "--out", out]) == Exit.DONE
    told = capsys.readouterr().out
    assert "1. FFE1: 32-bit signed integer, little-endian, at octet 2, x 10^-2 mm; 2 other ways" in told
    assert "or: 16-bit signed integer, little-endian, at octet 2" in told
    assert "reading only where these agree. To tell them apart, measure something larger than 327.67 mm" in told
    for payload, words in (
        ("a501409c000005", "no reading: It can be read in more than one way"),
        ("a501e10b010005", "no reading: It can be read in more than one way"),
        ("a50100fdffff05", "-7.68 mm"),
        ("a501ff7f000005", "327.67 mm"),
    ):
        assert main(["tools", "profile", "check", out, "--payload", payload]) == Exit.DONE
        assert words in capsys.readouterr().out


def test_a_larger_value_settles_how_wide_a_number_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = str(tmp_path / "own.toml")
    larger = capture(tmp_path, [*SEVEN, ("a501409c000005", "400.00 mm")])
    assert main(["tools", "learn", "--from", larger, "--out", out]) == Exit.DONE
    assert main(["tools", "profile", "check", out, "--payload", "a50150c3000005"]) == Exit.DONE
    assert "500.00 mm" in capsys.readouterr().out


def test_beside_a_json_answer_what_is_not_settled_is_told_on_stderr(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tools", "learn", "--from", capture(tmp_path, SEVEN), "--json"]) == Exit.DONE
    told = capsys.readouterr()
    (fit,) = json.loads(told.out)["fits"]
    assert set(fit["decodes"].values()) == {"30.41 mm", "12.34 mm", "-5.12 mm", "102.03 mm"}
    assert "or: 16-bit signed integer" in told.err
