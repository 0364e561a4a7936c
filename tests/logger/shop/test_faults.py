"""What is done to a shop on a real broker with real processes: nothing is lost, nothing doubled, alarms where due."""

from pathlib import Path

import pytest

from tests.collect.faults import FAULTS
from tests.collect.servers import mosquitto_program

pytestmark = pytest.mark.skipif(mosquitto_program() is None, reason="mosquitto is not installed")

ALARMS = {"poison": {"parked"}, "forged": {"conflict", "forged"}}
TIMES = {"collector-killed": 5}


@pytest.mark.kill
@pytest.mark.parametrize("fault", FAULTS)
async def test_nothing_is_lost_or_doubled(fault: str, tmp_path: Path) -> None:
    row = await FAULTS[fault](tmp_path, TIMES.get(fault, 1))
    behind = 1 if fault == "poison" else 0  # parked, with its payload and the reason
    assert (row.lost, row.doubled) == (behind, 0)
    assert row.at_shop == row.on_trail - behind > 0
    assert set(row.alarms) == ALARMS.get(fault, set())
