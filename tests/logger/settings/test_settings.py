from pathlib import Path

import pytest

from logger.errors import BadInput
from logger.settings.settings import expanded, home_folder


def test_option_wins_over_variable_wins_over_platform(tmp_path: Path) -> None:
    environment = {"EVENHAND_HOME": str(tmp_path / "variable")}
    assert home_folder(str(tmp_path / "option"), environment).folder == tmp_path / "option"
    assert home_folder(None, environment).folder == tmp_path / "variable"
    assert home_folder(None, {"EVENHAND_HOME": ""}).folder == home_folder(None, {}).folder
    assert home_folder(None, {}).folder.name == "evenhand"


def test_names_what_lies_in_it_and_makes_nothing(tmp_path: Path) -> None:
    home = home_folder(str(tmp_path / "new"), {})
    assert home.trail == tmp_path / "new" / "trail.sqlite"
    assert home.crash_file("20260105T080000Z").name == "crash-20260105T080000Z.txt"
    assert not (tmp_path / "new").exists()


def test_a_relative_home_stays_where_it_was_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert home_folder("here", {}).folder == tmp_path / "here"


@pytest.mark.parametrize("given", ["", "  ", "a\0b"])
def test_a_home_without_a_name_is_refused(given: str) -> None:
    with pytest.raises(BadInput, match="no name"):
        home_folder(given, {})


def test_a_file_is_no_home(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match="is not a folder"):
        home_folder(str(tmp_path / "file"), {})


@pytest.mark.parametrize("path", ["~nobody-of-this-name/home", "~nobody-of-this-name", "a\0b", "a\ud800"])
def test_a_path_of_nobody_is_told(path: str) -> None:
    with pytest.raises(BadInput):
        expanded(path)
    with pytest.raises(BadInput):
        home_folder(path, {})
