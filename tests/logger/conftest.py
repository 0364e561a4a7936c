"""What the tests of the shop share: one database server for all, started when the first of them wants it."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.collect.servers import postgres, postgres_folder
from tests.collect.stores import new_database


@pytest.fixture(scope="session")
def database_server() -> Iterator[str]:
    if postgres_folder() is None:
        pytest.skip("PostgreSQL is not installed")
    with postgres() as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The place of a store, of each kind."""
    if request.param == "sqlite":
        return str(tmp_path / "shop.sqlite")
    return new_database(request.getfixturevalue("database_server"))
