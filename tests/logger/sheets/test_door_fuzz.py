"""A sheet from anyone: whatever the file holds, it is a checked sheet or a refusal, soon and in little room."""

import tracemalloc
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.sheets.file import MAX_BYTES, load_sheet
from logger.sheets.store import shipped
from tests.fuzz import NUMBERS, PIECES, fuzzed, spoiled, spoiled_octets, told

TEXTS = tuple(resources.files("logger").joinpath(f"sheets/{name}.toml").read_text("utf-8") for name in shipped())
BOMBS = {
    "arrays": "a = " + "[" * 1_000_000,
    "closed arrays": "a = " + "[" * 900 + "]" * 900,
    "tables": "a = " + "{b=" * 60_000,
    "dots": "a." * 30_000 + "a = 1",
    "quoted dots": '"".' * 20_000 + "a = 1",
    "dots and line separators": '"\u2028".a.a.a.a.a.a.a.' * 2500 + "a = 1",
    "dots in headers": "[" + "a." * 400 + "a]\n",
    "digits": "a = " + "9" * 60_000,
    "hexadecimal": "a = 0x" + "f" * 60_000,
    "exponent": "a = 1e999999999",
    "a line of 100 MB": "a = '" + "x" * 100_000_000,
    "lines": "\n" * 2_000_000,
    "quotes": "'" * 60_000,
    "triple quotes": '"""' * 20_000,
    "escapes": '"' + "\\" * 60_000,
    "brackets and quotes": "[\"'" * 20_000,
    "nul": "\0" * 60_000,
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused_in_no_more_room_than_a_sheet_needs(name: str) -> None:
    tracemalloc.start()
    try:
        assert told(lambda: load_sheet(BOMBS[name], "my.toml")).startswith("my.toml")
        assert tracemalloc.get_traced_memory()[1] < 200 * MAX_BYTES
    finally:
        tracemalloc.stop()


@fuzzed(60)
@given(st.binary(max_size=400) | st.text(max_size=400))
def test_fuzz_anything(data: bytes | str) -> None:
    assert told(lambda: load_sheet(data, "my.toml")).startswith("my.toml")


@fuzzed(60)
@given(spoiled(st.sampled_from(TEXTS)))
def test_fuzz_a_shipped_sheet_with_a_few_changes(text: str) -> None:
    said = told(lambda: load_sheet(text, "my.toml"))
    assert not said or said.startswith("my.toml")
    assert "pydantic" not in said


@fuzzed(40)
@given(spoiled_octets(st.sampled_from([text.encode() for text in TEXTS])))
def test_fuzz_a_shipped_sheet_with_octets_changed(data: bytes) -> None:
    said = told(lambda: load_sheet(data, "my.toml"))
    assert not said or said.startswith("my.toml")


SET = [(text, n) for text in TEXTS for n, line in enumerate(text.split("\n")) if " = " in line and line[:1].isalpha()]


@fuzzed(60)
@given(st.sampled_from(SET), st.sampled_from([*NUMBERS, "mm", "%"]) | PIECES, st.sampled_from(["", "mm", "N·m", " %"]))
def test_fuzz_any_key_with_an_odd_amount(place: tuple[str, int], amount: str, unit: str) -> None:
    lines = place[0].split("\n")
    key = lines[place[1]].split(" = ")[0]
    for value in (f'"{amount} {unit}"', amount, f'["{amount} {unit}", "2 {unit}"]'):
        lines[place[1]] = f"{key} = {value}"
        said = told(lambda: load_sheet("\n".join(lines), "my.toml"))
        assert not said or said.startswith("my.toml")
