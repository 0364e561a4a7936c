"""The toolbook on the disk: read what was written, refuse what is not one, never half a file."""

import os
import stat
import threading
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput, NotStored
from logger.toolbook.file import change_toolbook, parse_toolbook, read_toolbook, write_toolbook
from logger.toolbook.toolbook import Retired, Tool, Toolbook, added

from .made import NOON, tool


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "new" / "toolbook.toml"
    gone = Retired(when=NOON, by="Robin", why="Dropped")
    book = Toolbook(tool=(tool("one", accuracy="0.03 mm", due="2027-11-01"), tool("two", retired=gone)))
    write_toolbook(path, book)
    assert read_toolbook(path) == book
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [each.name for each in path.parent.iterdir()] == ["toolbook.toml"]
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# The tools of this bench.")
    assert 'id = "one"\n' in text
    assert 'accuracy = "0.03 mm"\n' in text


_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=64)


@given(st.lists(_TEXT, max_size=5, unique=True), _TEXT, st.text(min_size=1, max_size=64).filter(str.strip))
def test_whatever_a_tool_tells_of_itself_survives_the_file(serials: list[str], model: str, by: str) -> None:
    by = by.encode("utf-8", "replace").decode()
    tools = tuple(
        Tool(id=f"t{number}", kind="tape", serial=serial, model=model, added=NOON, added_by=by)
        for number, serial in enumerate(each for each in serials if not each.startswith("t"))
    )
    import tomli_w

    book = Toolbook(tool=tools)
    text = tomli_w.dumps({"format": 1} | book.model_dump(exclude_defaults=True))
    assert parse_toolbook(text, "here") == book


def test_no_file_is_an_empty_book(tmp_path: Path) -> None:
    assert read_toolbook(tmp_path / "toolbook.toml") == Toolbook()


ENTRY = f'[[tool]]\nid = "one"\nkind = "tape"\nadded = "{NOON}"\nadded_by = "Robin"\n'


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{{{", "is not TOML"),
        ("format = 2\n", "format: Input should be 1"),
        ("format = 1\nformat = 1\n", "is not TOML"),
        ("tools = 1\n", "tools: Extra inputs are not permitted"),
        ('[[tool]]\nid = "one"\n', "tool one, kind: Field required"),
        ("[[tool]]\nkind = 'tape'\n", r"\[\[tool\]\] number 1, id: Field required"),
        (ENTRY + 'accuracy = "some"\n', "tool one, accuracy: .* found 'some'"),
        (ENTRY + "accuracy = 0.03\n", "tool one, accuracy: Input should be a valid string"),
        (ENTRY + "certificate = nan\n", "holds a value that no toolbook has"),
        (ENTRY + ENTRY, "the id one stands twice"),
        (ENTRY + "due = 2026-11-25T10:00:00Z\n", "datetime found where text belongs"),
        (f"{'a.' * 20}b = 1\n", "line 1: a key with more than 8 dots"),
        (f"a = '{'x' * 2000}'\n", "line 1 has 2006 characters"),
        ("\n" * 9000, "9001 lines"),
        (f"a = {'[' * 600}{']' * 600}\n", "."),
    ],
)
def test_what_is_no_toolbook_is_refused_in_a_sentence(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        parse_toolbook(text, "toolbook.toml")


def test_a_day_may_be_written_bare() -> None:
    assert parse_toolbook(ENTRY + "due = 2027-01-31\n", "here").tool[0].due == "2027-01-31"


def test_a_file_that_cannot_be_used_is_told(tmp_path: Path) -> None:
    (tmp_path / "binary").write_bytes(b"\xff\xfe")
    with pytest.raises(BadInput, match="not UTF-8"):
        read_toolbook(tmp_path / "binary")
    with pytest.raises(BadInput, match="cannot be read"):
        read_toolbook(tmp_path)
    with (tmp_path / "huge").open("wb") as file:
        file.truncate(600 * 1024)
    with pytest.raises(BadInput, match="larger than 512 KiB"):
        read_toolbook(tmp_path / "huge")
    with pytest.raises(NotStored, match="cannot be changed"):
        change_toolbook(tmp_path / "binary" / "toolbook.toml", lambda book: book)


def test_a_write_that_fails_leaves_the_old_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "toolbook.toml"
    write_toolbook(path, Toolbook(tool=(tool("one"),)))

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NotStored, match="No space left"):
        write_toolbook(path, Toolbook(tool=(tool("two"),)))
    assert [each.id for each in read_toolbook(path).tool] == ["one"]
    assert [each.name for each in tmp_path.iterdir()] == ["toolbook.toml"]


def test_two_that_change_it_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "toolbook.toml"

    def add(name: str) -> None:
        change_toolbook(path, lambda book: added(book, tool(name)))

    threads = [threading.Thread(target=add, args=(f"n{number}",)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(each.id for each in read_toolbook(path).tool) == sorted(f"n{number}" for number in range(12))
