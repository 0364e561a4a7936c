"""The one scan, and the one lock under which it stops and a connection is made; knows no radio library.

A scan that ends, that hears nothing or that cannot be begun is begun again: when, and what a person is told, is
decided in `supervise.py`.
"""

import asyncio
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Protocol

from drivers.reading import Link

from .supervise import QUIET, SERVICE_GONE, End, Timing, next_scan


class ScanError(Exception):
    """A scan could not be begun; the text is one sentence with what to do."""

    def __init__(self, end: End, advice: str) -> None:
        super().__init__(advice)
        self.end = end


class NoAdapterError(Exception):
    """The adapter that was asked for is not there; the text is one sentence with what to do."""


class Scan(Protocol):
    """One scan, from its start to its end."""

    async def start(self) -> None:
        """Begin; ScanError when it cannot."""
        ...

    async def stop(self) -> None:
        """End; never raises."""
        ...


class Ether:
    """Keeps a scan running whenever no connection is being made."""

    def __init__(
        self,
        make_scan: Callable[[], Scan],
        adopt: Callable[[], Awaitable[None]],
        linked: Callable[[], bool],
        timing: Timing,
    ) -> None:
        self.lock = asyncio.Lock()
        self._make_scan = make_scan
        self._adopt = adopt
        self._linked = linked
        self._timing = timing
        self._scan: Scan | None = None
        self._stirred = asyncio.Event()
        self._silent = 0
        self._heard = False
        self._told = ""
        self._service_gone = False
        self._adopts = True
        self._begun = False

    def heard(self) -> None:
        """Note that anything at all was heard."""
        self._heard = True
        if self._told == QUIET:
            self._stirred.set()

    def look_again(self) -> None:
        """Begin a scan afresh: something has changed about the adapter."""
        self._stirred.set()

    def service_gone(self) -> None:
        """Begin a scan afresh and tell: what did the scanning has gone.

        From now on nothing is adopted: what the library took for connected before is not known to be so.
        """
        self._service_gone = True
        self._adopts = False
        self._stirred.set()

    async def stop(self) -> None:
        """Stop scanning, so that a connection can be made; call with the lock held."""
        self._stirred.set()
        await self._end()

    async def _end(self) -> None:
        scan, self._scan = self._scan, None
        if scan is not None:
            await scan.stop()

    async def keep_scanning(self, tell: Callable[[Link, str], Awaitable[None]]) -> None:
        """Scan for ever: again after each connection, after silence, and when a lost radio is back."""

        async def say(message: str) -> None:
            before, self._told = self._told, message
            if message != before:
                await tell(Link.LOST if message else Link.READY, message)

        failed = 0
        try:
            while True:
                if self._service_gone:
                    self._service_gone = False
                    await say(SERVICE_GONE)
                trouble = await self._try_start()
                if trouble is None:
                    failed = 0
                    await say(QUIET if self._silent > 1 and not self._linked() else "")
                    await self._until_stirred_or_silent()
                else:
                    failed += 1
                    step = next_scan(trouble.end, failed, self._timing.poll_s)
                    await say(str(trouble) if step.tell else "")
                    await self._stirred_within(step.wait_s)
        finally:
            await self._end()

    async def _try_start(self) -> ScanError | None:
        try:
            await self._start()
        except ScanError as error:
            return error
        return None

    async def _start(self) -> None:
        async with self.lock:
            self._stirred.clear()
            await self._end()
            self._heard = False
            scan = self._scan = self._make_scan()  # known before it has begun, so that it is ended however this ends
            try:
                await scan.start()
            except ScanError:
                self._scan = None
                raise
            if self._adopts and (self._silent or not self._begun):
                await self._adopt()
            self._begun = True

    async def _until_stirred_or_silent(self) -> None:
        """A system may say that it scans when it does not: silence from everything means starting afresh."""
        while not await self._stirred_within(self._timing.quiet_s):
            if not self._heard:
                self._silent += 1
                return
            self._heard = False
        self._silent = 0

    async def _stirred_within(self, seconds: float) -> bool:
        with suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._stirred.wait()
        return self._stirred.is_set()
