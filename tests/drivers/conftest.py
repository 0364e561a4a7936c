"""Fixtures of the tests of the drivers."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest

from .stage import LIMIT_S, DBusStage, SetDBus, on_dbus


@pytest.fixture
def bluez(monkeypatch: pytest.MonkeyPatch) -> SetDBus:
    """Set the stage with some tools on bleak's real Linux backend."""

    @asynccontextmanager
    async def set_(*tools: str) -> AsyncIterator[DBusStage]:
        async with asyncio.timeout(LIMIT_S), on_dbus(tools, monkeypatch) as made:
            yield made

    return set_
