from pathlib import Path

import pytest

from logger.bench.bench import Bench, Opening
from logger.errors import BadInput
from logger.sheets.store import open_sheet
from logger.shelf.sideoffset import last_side_offset, side_offset_of
from logger.trail.trail import Trail
from tests.played import Ticking

PROVEN = side_offset_of("0.40 mm", "0.05 mm", "string along both wheels, in May")


@pytest.mark.parametrize(
    ("value", "u", "how", "said"),
    [
        ("0.4 N·m", "0.1 mm", "string", "no length"),
        ("0.4 mm", "-0.1 mm", "string", "negative"),
        ("0.4 mm", "0.1 N·m", "string", "no length"),
        ("0.4 mm", "0.1 mm", "  ", "only when it was proven"),
        ("0.4", "0.1 mm", "string", "unit"),
    ],
)
def test_what_proves_nothing_is_refused(value: str, u: str, how: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        side_offset_of(value, u, how)


async def test_the_newest_job_of_the_machine_is_what_counts(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    assert last_side_offset(path, "Depot 7") is None
    sheet = open_sheet("courier-chain")
    with Trail.open(path) as trail:
        await Bench.open(trail, Ticking(), Opening(sheet, "Depot 7", "Robin", side_offset=PROVEN))
        await Bench.open(trail, Ticking(), Opening(sheet, "Depot 8", "Robin"))
        assert last_side_offset(path, "Depot 7") == PROVEN
        assert last_side_offset(path, "Depot 8") is None
        await Bench.open(trail, Ticking(), Opening(sheet, "Depot 7", "Robin"))
        assert last_side_offset(path, "Depot 7") is None
