"""How a sheet is named on the command line: shipped, of a folder of one's own, or by its path."""

from pathlib import Path

import pytest

from logger.errors import BadInput
from logger.sheets.store import open_sheet, sheet_named, shipped_text


def test_a_sheet_of_ones_own_is_named_by_its_file_without_its_folder(tmp_path: Path) -> None:
    text = shipped_text("courier-chain").replace(b'revision = "1"', b'revision = "77"')
    for name in ("belt-tail", "courier-chain"):
        (tmp_path / f"{name}.toml").write_bytes(text)
    found = sheet_named(tmp_path, "belt-tail").sheet
    assert found == sheet_named(tmp_path, str(tmp_path / "belt-tail.toml")).sheet
    assert found.revision == "77"
    shipped = open_sheet("courier-chain").sheet
    assert sheet_named(tmp_path, "courier-chain").sheet == shipped, "a shipped name stays its own"
    for name in ("belt-tall", "belt-tail/../belt-tail", "../sheets/belt-tail"):
        with pytest.raises(BadInput):
            sheet_named(tmp_path, name)
