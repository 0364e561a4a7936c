"""What the tests of seals and proofs share."""

from pathlib import Path

import pytest

from logger.trail.keys import BenchKey, bench_key


@pytest.fixture
def key(tmp_path: Path) -> BenchKey:
    """The key of a bench, just made."""
    return bench_key(tmp_path / "bench.key")
