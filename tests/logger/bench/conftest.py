"""What the tests of the bench stand on."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from logger.trail.trail import Trail


@pytest.fixture
def trail(tmp_path: Path) -> Iterator[Trail]:
    """A new trail."""
    with Trail.open(tmp_path / "trail.sqlite") as opened:
        yield opened
