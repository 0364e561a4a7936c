"""A toolbook as anyone may have changed it by hand: read, or refused in a sentence, soon and in little room."""

import tomllib
import tracemalloc
from pathlib import Path

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from logger.toolbook.file import MAX_OCTETS, parse_toolbook, read_toolbook, write_toolbook
from logger.toolbook.profiles import profiles_of
from tests.fuzz import fuzzed, misfilled, spoiled, spoiled_octets, told

BOOK = """
format = 1

[[tool]]
id = "one"
kind = "caliper"
added = "2026-01-05T08:00:00Z"
added_by = "Robin"
address = "00:00:5E:00:53:01"
serial = "A-17"
model = "Bench caliper"
accuracy = "0.03 mm"
resolution = "0.01 mm"
calibrated = "2026-01-01"
due = 2027-01-01
certificate = "C 1.2.3.4"

[[tool]]
id = "two"
kind = "torque wrench"
added = "2026-01-05T08:00:00Z"
added_by = "Robin"
accuracy = "3 %"
"""


def said_of(text: str) -> str:
    """Return what is said of a toolbook."""
    said = told(lambda: parse_toolbook(text, "toolbook.toml"))
    assert not said or (said.startswith("toolbook.toml") and len(said) < 1500)
    return said


def test_the_book_that_is_spoiled_here_is_one() -> None:
    assert len(parse_toolbook(BOOK, "toolbook.toml").tool) == 2


@pytest.mark.parametrize("was", ["due = 2027-01-01", 'id = "two"\nkind = "torque wrench"'])
def test_a_long_key_or_id_is_said_again_in_part(was: str) -> None:
    now = f"{'x' * 1100} = 1" if was.startswith("due") else f'id = "{"x" * 1100}"\nkind = 7'
    said = said_of(BOOK.replace(was, now, 1))
    assert said
    assert len(said) < 400


BOMBS = {
    "arrays": "a = " + "[" * 500_000,
    "arrays by lines": "a = " + ("[" * 900 + "\n") * 500,
    "closed arrays": "format = " + "[" * 300 + "]" * 300,
    "dots and line separators": '"\u2028".a.a.a.a.a.a.a.' * 20_000 + "a = 1",
    "dots after quotes": "".join(f'"{n}".' + "a." * 590 + "a = 1\n" for n in range(430)),
    "dots in tables": "x = [\n" + ("{" + '"".' * 300 + "a = 1},\n") * 400 + "]\n",
    "tools": "[[tool]]\n" * 7999,
    "hexadecimal": "format = 0x" + "f" * 1100,
    "exponent": "format = 1e999999999",
    "a file of 100 MB": "#" * 100_000_000,
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused_in_the_room_of_a_toolbook(name: str) -> None:
    tracemalloc.start()
    try:
        assert said_of(BOMBS[name])
        assert tracemalloc.get_traced_memory()[1] < max(60 * MAX_OCTETS, 2 * len(BOMBS[name]))
    finally:
        tracemalloc.stop()


@fuzzed(40)
@given(st.text(max_size=300))
def test_fuzz_any_text(text: str) -> None:
    said_of(text)


@fuzzed(80)
@given(spoiled(st.just(BOOK)))
def test_fuzz_a_toolbook_with_a_few_changes(text: str) -> None:
    said_of(text)


@fuzzed(40)
@given(spoiled_octets(st.just(BOOK.encode())))
def test_fuzz_a_file_with_octets_changed(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzzed-toolbook.toml"
    path.write_bytes(data)
    told(lambda: read_toolbook(path))


@fuzzed(80)
@given(misfilled(st.just(tomllib.loads(BOOK.replace("due = 2027-01-01", 'due = "2027-01-01"')))))
def test_fuzz_a_toolbook_with_other_values_that_is_taken_is_written_and_read_again(
    tmp_path_factory: pytest.TempPathFactory, tree: object
) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzzed-again.toml"
    try:
        text = tomli_w.dumps(tree) if isinstance(tree, dict) else ""
        text.encode()
    except (TypeError, ValueError, AttributeError):  # TOML has no null, and no half of a surrogate pair
        return
    if not said_of(text):
        book = parse_toolbook(text, "toolbook.toml")
        write_toolbook(path, book)
        assert read_toolbook(path) == book


@fuzzed(30)
@given(spoiled_octets(st.just(b'profile = "own"\nkind = "tape"\n[[values]]\ndecode = "sig"\n')))
def test_fuzz_a_folder_with_any_profile_is_told(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    folder: Path = tmp_path_factory.getbasetemp() / "fuzzed-profiles"
    folder.mkdir(exist_ok=True)
    (folder / "own.toml").write_bytes(data)
    told(lambda: profiles_of(folder))
