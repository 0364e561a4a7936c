"""Text -> sheet: what is let in, what is refused and in which words; nothing hostile reaches the parser."""

import hashlib
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Literal, get_args, get_origin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.sheets.file import load_sheet
from logger.sheets.keys import KEYS, MODELS, STEP_KINDS, as_markdown, key_of
from logger.sheets.measure import WRENCHES
from logger.sheets.store import open_sheet, shipped, shipped_text
from logger.sheets.written import ToolKind

VECTORS = sorted((Path(__file__).parents[2] / "vectors" / "sheets").glob("*.toml"))
LENGTH_TOOLS = tuple(set(get_args(ToolKind)) - set(WRENCHES))
COURIER = shipped_text("courier-chain").decode()


def refusal(text: str | bytes) -> str:
    """Return what is said of a sheet that must be refused."""
    with pytest.raises(BadInput) as caught:
        load_sheet(text, "my.toml")
    return str(caught.value)


def edited(*changes: tuple[str, str]) -> str:
    """Return the courier's sheet with some of its text replaced."""
    text = COURIER
    for old, new in changes:
        assert old in text, f"{old!r} is not in the sheet"
        text = text.replace(old, new, 1)
    return text


@pytest.mark.parametrize("path", VECTORS, ids=lambda path: path.stem)
def test_a_bad_sheet_is_refused_in_words(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    expected = re.findall(r"^# expect: (.+)$", text, re.MULTILINE)
    said = refusal(text)
    assert expected
    for words in expected:
        assert words in said
    assert said.startswith("my.toml")
    for leak in ("pydantic", "Input should", "Traceback", "errors.pydantic.dev", "tagged", "validation error"):
        assert leak not in said
    assert all(char.isprintable() or char == "\n" for char in said)


@pytest.mark.parametrize("name", shipped())
def test_a_shipped_sheet_loads_without_a_warning(name: str) -> None:
    loaded = open_sheet(name)
    assert loaded.warnings == ()
    assert loaded.sheet.id == name
    assert loaded.sha256 == hashlib.sha256(shipped_text(name)).hexdigest()
    assert loaded.text.encode() == shipped_text(name)


def test_text_and_bytes_give_the_same_sheet() -> None:
    assert load_sheet(COURIER, "a").sheet == load_sheet(COURIER.encode(), "b").sheet


def test_windows_line_ends_and_a_byte_order_mark_are_read() -> None:
    assert load_sheet("\ufeff" + COURIER.replace("\n", "\r\n"), "my.toml").sheet == load_sheet(COURIER, "a").sheet


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"\xff\xfe", "not UTF-8 text"),
        ("\ud800", "not UTF-8 text"),
        (b"#" * (64 * 1024 + 1), "longer than 64 KiB"),
        ("é" * 40_000, "longer than 64 KiB"),
        ("#\n" * 2001, "2002 lines; at most 2000"),
        ("#" * 1001, "line 1 has 1001 characters; at most 1000"),
        ("a = 1\n# \u202e", "line 2: the hidden character U+202E is not allowed"),
        ('a = "\x1b[2J"', "line 1: the hidden character U+001B is not allowed"),
        ("a = 1\rb = 2", "line 1: the hidden character U+000D is not allowed"),
        ("", "key format is missing"),
    ],
)
def test_sizes_and_encoding(text: str | bytes, words: str) -> None:
    assert words in refusal(text)


@pytest.mark.parametrize(
    "text",
    ["#" * 1001, "#\n" * 2001, ".".join("abcdefghij") + " = 1", "a = " + "[" * 9 + "]" * 9, b"#" * 65_537],
)
def test_what_is_too_big_never_reaches_the_parser(text: str | bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    def parser(*_: object, **__: object) -> None:
        raise AssertionError("parsed")

    monkeypatch.setattr(tomllib, "loads", parser)
    with pytest.raises(BadInput):
        load_sheet(text, "my.toml")


def test_what_is_just_small_enough_is_parsed() -> None:
    dots, brackets = ".".join("abcdefghi") + " = 1\n", "b = " + "[" * 8 + "]" * 8 + "\n"
    said = refusal(dots + brackets + "#" * 1000 + "\n" + "#\n" * 1997)
    assert "unknown key a;" in said
    assert "unknown key b;" in said


@pytest.mark.parametrize("prose", ["a.b.c.d.e.f.g.h.i.j.k", "see [[[[[[[[[[", "it's {{{{{{{{{{"])
def test_what_stands_in_quotes_or_comments_is_not_counted(prose: str) -> None:
    text = edited(
        ("# Chain and rear", f"# {prose}\n# Chain and rear"), ("Invented figures for", f"{prose} Invented for")
    )
    assert load_sheet(text, "my.toml").sheet.about.startswith(prose)


def test_a_parser_that_overflows_its_stack_is_a_refusal(monkeypatch: pytest.MonkeyPatch) -> None:
    def parser(*_: object, **__: object) -> None:
        raise RecursionError("too deep")

    monkeypatch.setattr(tomllib, "loads", parser)
    assert "cannot be read as TOML: too deep" in refusal("a = 1")


def test_all_problems_are_told_at_once() -> None:
    said = refusal(edited(('"32 mm"', "32"), ('adjuster = "pulls"', 'adjuster = "pull"'), ('title = "Mileage"\n', "")))
    assert said.startswith("my.toml has 3 problems:\n")
    assert [line.split(":")[1].strip() for line in said.splitlines()[1:]] == [
        "[drive], key adjuster",
        '[[step]] 1 "mileage"',
        '[[step]] 7 "slack", key aim',
    ]


def test_at_most_ten_problems_are_told_in_full() -> None:
    said = refusal(COURIER.replace('title = "', 'heading = "'))
    assert said.splitlines()[-1].startswith("  ... and ")
    assert len(said.splitlines()) == 1 + 10 + 1


def test_the_name_of_the_file_cannot_rewrite_the_terminal() -> None:
    with pytest.raises(BadInput) as caught:
        load_sheet("", "\x1b[2J.toml")
    assert "\x1b" not in str(caught.value)


@given(st.text(max_size=300))
def test_any_text_is_refused_and_never_crashes(text: str) -> None:
    with pytest.raises(BadInput):
        load_sheet(text, "my.toml")


@given(st.data())
def test_a_damaged_sheet_loads_or_is_refused(data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(COURIER) - 1))
    length = data.draw(st.integers(0, 40))
    put_in = data.draw(st.text(alphabet='[]{}"=.\n#a1\u202e', max_size=6))
    damaged = COURIER[:start] + put_in + COURIER[start + length :]
    try:
        said = load_sheet(damaged, "my.toml").text
    except BadInput as refused:
        said = str(refused)
    assert said == damaged or said.startswith("my.toml")


def test_every_key_of_every_table_is_explained() -> None:
    for table, model in MODELS.items():
        for name in model.model_fields:
            key = key_of(table, name)
            assert key is not None, f"{name} of {table or 'the top'} is not explained"
            assert key.meaning.endswith(".")
    names = {"top": "", "step": "note"}
    for key in KEYS:
        for table in key.tables.split():
            assert key.name in MODELS[names.get(table, table)].model_fields, f"{key.name} is no key of {table}"


def test_the_table_of_keys_names_each_once_for_each_table() -> None:
    rows = [line for line in as_markdown().splitlines() if line.startswith("| `")]
    assert len(rows) == sum(len(key.tables.split()) for key in KEYS)
    window = "| `window` | yes | Lowest and highest value that pass, both included. | two quantities of torque "
    assert window + 'as text with their units, the lower first | `["90 N·m", "106 N·m"]` |' in rows


def test_every_word_that_a_key_may_have_is_told_with_what_is_taken_when_it_is_left_out() -> None:
    page = as_markdown()
    for table, model in MODELS.items():
        for name, field in model.model_fields.items():
            key = key_of(table, name)
            assert key is not None
            refused = WRENCHES if name == "tools" and table != "torque" else LENGTH_TOOLS if name == "tools" else ()
            for word in set(words_of(field.annotation)) - set(refused):
                assert f'"{word}"' in key.allowed, f"{name} of {table or 'the top'}: {word}"
    assert '"total", "rest to up" or "sag"; left out: "total" |' in page
    assert '"pulls", "pushes" or "cam" |' in page
    assert '"all" or "governing"; left out: "all" |' in page
    assert "a whole number, 1 to 24; left out: 6 |" in page
    assert "`see below`" not in page


def words_of(annotation: object) -> Iterator[str]:
    """The words of a key that takes one of a few; the kind of a step is told with all kinds, the empty word is none."""
    if get_origin(annotation) is Literal:
        yield from (word for word in get_args(annotation) if word)
    else:
        for part in get_args(annotation):
            yield from words_of(part)


@pytest.mark.parametrize("table", [table for table in MODELS if table != ""])
def test_the_examples_of_a_step_are_of_its_kind(table: str) -> None:
    examples = {key.name: key.example for key in KEYS if table in key.tables.split() and key.example}
    given = tomllib.loads("\n".join(f"{name} = {example}" for name, example in examples.items()))
    common = {"id": "slack", "title": "Chain slack", "kind": table} if table in STEP_KINDS else {}
    MODELS[table].model_validate(common | given)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("courier-chian", 'did you mean "courier-chain"'),
        ("nowhere/at-all.toml", "There is no sheet file"),
        ("/dev/zero/x.toml", "There is no sheet file"),
        ("\x1b[2J", "\\u001b[2J"),
    ],
)
def test_a_sheet_that_is_not_there(name: str, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        open_sheet(name)
    assert words in str(caught.value).replace("\\\\", "\\")


def test_a_file_of_ones_own(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(edited(('revision = "1"', 'revision = "2"')), encoding="utf-8")
    assert open_sheet(str(path)).sheet.revision == "2"
    path.write_bytes(b"#" * 100_000)
    with pytest.raises(BadInput, match="longer than 64 KiB"):
        open_sheet(str(path))


def test_what_is_wrong_in_sound_steps_is_told_beside_what_is_wrong_in_others() -> None:
    told = refusal(
        edited(
            ('kind = "confirm"\ntitle = "Find', 'kind = "confrim"\ntitle = "Find'),
            ('centre = "554 mm" # 116 links, about half worn', "span = 900"),
            ('aim = "32 mm"', 'aim = "50 mm"'),
            ('window = ["90 N·m", "106 N·m"]', 'window = ["90 mm", "106 mm"]'),
        )
    )
    assert "[drive], key span: found 900" in told
    assert '[[step]] 6 "tightest", key kind: found "confrim" (did you mean "confirm"?)' in told
    assert '[[step]] 7 "slack", key aim: found "50 mm", which is outside the window' in told
    assert '[[step]] 10 "axle_nut", key window: found "90 mm", a length' in told
    assert "my.toml has 5 problems" in told


def test_a_step_that_cannot_be_read_makes_no_problem_of_those_that_name_it() -> None:
    told = refusal(edited(('id = "slack"\nkind = "measure"', 'id = "slack"\nkind = "messure"')))
    assert told == (
        'my.toml: [[step]] 7 "slack", key kind: found "messure" (did you mean "measure"?); '
        'allowed: "confirm", "note", "zero", "measure", "adjust", "torque"'
    )


def test_a_tool_misspelled_is_told_which_is_meant() -> None:
    assert 'found "calliper" (did you mean "caliper"?)' in refusal(edited(('["caliper"]', '["calliper"]')))
