"""Ten processes killed in the middle of a job; `python -m tests.bench.trail_kills 200` kills as many as one likes."""

from pathlib import Path

import pytest

from tests.bench.trail_kills import kill_often


@pytest.mark.kill
def test_a_killed_job_loses_nothing_and_goes_on_where_it_was(tmp_path: Path) -> None:
    tally = kill_often(tmp_path, 10, seed=6)
    assert (tally.kills, tally.faults, tally.notes) == (10, 0, [])
    assert tally.acknowledged > 0
    assert tally.stored >= tally.acknowledged
