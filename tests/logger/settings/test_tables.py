"""The adapter, and keys of one's own: what a tool can type is refused, and so is what would trap a person."""

from pathlib import Path

import pytest

from logger.errors import BadInput
from logger.settings import keys as settingkeys
from logger.settings.file import load_settings
from tui.entry.actions import ALL

ADDRESS = "00:00:5E:00:53:01"


def put(folder: Path, text: str) -> Path:
    (folder / "settings.toml").write_text(text)
    return folder


def test_an_adapter_and_keys_are_read(tmp_path: Path) -> None:
    text = f'[radio]\nadapter = "{ADDRESS}"\nmax_tools = 2\n[keys]\nconfirm = "pagedown"\npedal = "ctrl+f1"\n'
    found = load_settings(put(tmp_path, text))
    assert (found.radio.adapter, found.radio.max_tools) == (ADDRESS, 2)
    assert found.keys.given == {"confirm": "pagedown", "pedal": "ctrl+f1"}


def test_without_a_table_everything_is_as_ever(tmp_path: Path) -> None:
    found = load_settings(tmp_path)
    assert (found.radio.adapter, found.radio.max_tools, found.keys.given) == ("", 4, {})


@pytest.mark.parametrize("adapter", ["hci0", "00:00:5E:00:53", "00-00-5E-00-53-01"])
def test_an_adapter_is_named_by_its_address(tmp_path: Path, adapter: str) -> None:
    with pytest.raises(BadInput, match=r"radio: adapter is an address such as"):
        load_settings(put(tmp_path, f'[radio]\nadapter = "{adapter}"\n'))


@pytest.mark.parametrize("number", [0, 17])
def test_how_many_tools_is_bounded(tmp_path: Path, number: int) -> None:
    with pytest.raises(BadInput, match="max_tools"):
        load_settings(put(tmp_path, f"[radio]\nmax_tools = {number}\n"))


@pytest.mark.parametrize(
    "key", ["0", "7", "-", "+", ".", ",", "m", "N", "µ", "enter", "tab", "space", "ctrl+m", "ctrl+j", "backspace"]
)
def test_a_key_that_a_tool_can_type_is_refused(tmp_path: Path, key: str) -> None:
    with pytest.raises(BadInput, match=r"settings\.toml: keys: confirm = .*: a measuring tool can type this key"):
        load_settings(put(tmp_path, f'[keys]\nconfirm = "{key}"\n'))


@pytest.mark.parametrize("key", ["f1", "f2", "f12"])
def test_a_function_key_that_has_its_meaning_is_refused(tmp_path: Path, key: str) -> None:
    with pytest.raises(BadInput, match="this key has its meaning already; take f13 to f24"):
        load_settings(put(tmp_path, f'[keys]\ntake_back = "{key}"\n'))


@pytest.mark.parametrize("key", ["escape", "up", "ctrl+c", "ctrl+q", "PageDown", "f25", "space bar", "ctrl+a"])
def test_another_key_is_refused(tmp_path: Path, key: str) -> None:
    with pytest.raises(BadInput, match="this is no key that can be given a meaning"):
        load_settings(put(tmp_path, f'[keys]\nconfirm = "{key}"\n'))


def test_one_key_for_two_things_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match='the key "end" stands for 2 things; give each its own'):
        load_settings(put(tmp_path, '[keys]\nconfirm = "end"\nnote = "end"\n'))


def test_a_thing_that_no_key_does_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"keys\.jump"):
        load_settings(put(tmp_path, '[keys]\njump = "end"\n'))


def test_what_keys_do_are_actions_of_the_screen() -> None:
    assert set(settingkeys.MEANINGS["keys"]) <= {action.name for action in ALL}
    for action in ALL:
        if (told := settingkeys.MEANINGS["keys"].get(action.name)) is not None:
            assert f"A further key for {action.key.upper()}:" in told[0]


def test_every_key_of_the_file_is_told() -> None:
    assert {name: set(model.model_fields) for name, model in settingkeys.tables().items()} == {
        name: set(told) for name, told in settingkeys.MEANINGS.items()
    }


def test_what_is_taken_where_a_key_is_left_out_is_told_and_so_are_ranges() -> None:
    for table, model in settingkeys.tables().items():
        for key, field in model.model_fields.items():
            told, _ = settingkeys.MEANINGS[table][key]
            usual = str(field.default).lower() if isinstance(field.default, bool) else str(field.default)
            if usual:
                assert told.endswith(f"; left out: {usual}."), f"{table}.{key}"
            if low := [str(each.ge) for each in field.metadata if hasattr(each, "ge")]:
                high = [str(each.le) for each in field.metadata if hasattr(each, "le")]
                assert f"{low[0]} to {high[0]}" in told, f"{table}.{key}"


def test_the_examples_told_are_taken(tmp_path: Path) -> None:
    told = settingkeys.MEANINGS
    text = "\n".join(
        f"[{table}]\n" + "\n".join(f"{key} = {example}" for key, (_, example) in keys.items())
        for table, keys in told.items()
    )
    found = load_settings(put(tmp_path, text))
    assert found.keys.given.keys() == told["keys"].keys()
    assert found.radio.adapter == ADDRESS
