"""What there is to choose from before a job: one's own sheets beside the shipped ones."""

from pathlib import Path

from logger.settings.settings import Home
from logger.sheets.store import shipped, shipped_text
from tui.choice import NEW, Choice, next_page
from tui.commands.choosing import depot_of
from tui.commands.kit import kit_of


def _home(folder: Path, **sheets: bytes) -> Home:
    home = Home(folder)
    home.sheets.mkdir()
    for name, text in sheets.items():
        (home.sheets / f"{name}.toml").write_bytes(text)
    return home


def test_a_sheet_of_ones_own_is_offered_before_the_shipped_ones(tmp_path: Path) -> None:
    own = shipped_text("courier-chain").replace(b'title = "Chain and rear axle"', b'title = "Our own chain"', 1)
    home = _home(tmp_path, ours=own)
    page = next_page(Choice(NEW), depot_of(home, kit_of(home), None))
    assert page is not None
    path = str(home.sheets / "ours.toml")
    assert [offer.value for offer in page.offers] == [path, *shipped()]
    assert page.offers[0].title == "Our own chain"
    assert page.offers[0].more[-1] == f"Your own: {path}"


def test_sheets_of_one_title_are_told_apart(tmp_path: Path) -> None:
    home = _home(tmp_path, copied=shipped_text("courier-chain"))
    page = next_page(Choice(NEW), depot_of(home, kit_of(home), None))
    assert page is not None
    assert page.offers[0].title.startswith("Chain and rear axle (courier-chain, revision ")


def test_a_sheet_that_cannot_be_used_is_told_and_the_others_are_offered(tmp_path: Path) -> None:
    home = _home(tmp_path, broken=b"format = 1\n")
    page = next_page(Choice(NEW), depot_of(home, kit_of(home), None))
    assert page is not None
    assert [offer.value for offer in page.offers] == list(shipped())
    assert page.lines[0].startswith("Caution: the sheet broken.toml is not offered: ")


def test_a_home_without_sheets_offers_the_shipped_ones(tmp_path: Path) -> None:
    home = Home(tmp_path)
    assert list(depot_of(home, kit_of(home), None).sheets) == list(shipped())
