"""The stand-in for BlueZ from outside: starts it as a process of its own, tells it what to do, kills it."""

import asyncio
import json
import os
import sys
from collections.abc import Iterable, Sequence
from types import TracebackType
from typing import Any, Self

from .commands import LINE_LIMIT
from .private_bus import PrivateBus, ended


class RemoteError(Exception):
    """The stand-in did not start, refused a command, or has gone."""


class RemoteStandIn:
    """A stand-in on a private bus; use as an async context manager, which also ends it."""

    def __init__(self, bus: PrivateBus, tools: Sequence[str]) -> None:
        self._bus = bus
        self._tools = tools
        self._process: asyncio.subprocess.Process | None = None
        self._listening: asyncio.Task[None] | None = None
        self._asked: dict[int, asyncio.Future[dict[str, Any]]] = {}
        self._number = 0

    async def __aenter__(self) -> Self:
        await self.start()
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._process is not None:
            await ended(self._process)
            await self._settled()

    async def start(self) -> None:
        """Start it, afresh after a kill; returns when it owns its name and shows its adapter.

        RemoteError when it does not start.
        """
        process = self._process = await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "simulators.bluez", "--tools", *self._tools),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            env={**os.environ, **self._bus.environ()},
            limit=LINE_LIMIT,
        )
        assert process.stdout is not None
        if not await process.stdout.readline():
            await process.wait()
            raise RemoteError("the stand-in did not start")
        self._number = 0
        # kept, and awaited when the process ends: a task group cannot span start and kill
        self._listening = asyncio.create_task(self._listen(process.stdout), name="answers of the stand-in")

    async def kill(self) -> None:
        """Kill it without a warning, as when the service crashes; returns when it is gone."""
        assert self._process is not None
        self._process.kill()
        await self._process.wait()
        await self._settled()

    async def tell(self, *words: object) -> dict[str, Any]:
        """Give a command and return the answer, once it is done; RemoteError when it is refused."""
        return await self.begin(*words)

    def begin(self, *words: object) -> "asyncio.Future[dict[str, Any]]":
        """Give a command without waiting for it to be done."""
        assert self._process is not None
        assert self._process.stdin is not None
        self._number += 1
        future = self._asked[self._number] = asyncio.get_running_loop().create_future()
        self._process.stdin.write((" ".join(str(word) for word in words) + "\n").encode())
        return future

    async def pull(self, serial: str, ms: int, curve: Iterable[object]) -> None:
        """Pull a wrench by a curve of torques in N·m."""
        await self.tell("pull", serial, ms, *curve)

    async def _listen(self, answers: asyncio.StreamReader) -> None:
        while line := await answers.readline():
            told = json.loads(line)
            future = self._asked.pop(told.pop("line"))
            if future.done():
                continue
            if "error" in told:
                future.set_exception(RemoteError(told["error"]))
            else:
                future.set_result(told)

    async def _settled(self) -> None:
        if (listening := self._listening) is not None:
            listening.cancel()
        for future in self._asked.values():
            future.cancel()
        self._asked.clear()
        if listening is not None:
            await asyncio.wait([listening])  # awaited itself, its cancellation and our own could not be told apart
            if not listening.cancelled():
                listening.result()
