"""How a signal ends a session: within two seconds, with the job open on the trail."""

import asyncio
import os
import signal
import threading
from collections.abc import Callable, Coroutine
from types import FrameType, TracebackType
from typing import Any, Self

from tui.exits import Exit, by_signal

SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT)
GRACE_S = 1.8
"""After this the process ends whatever still hangs; what was acknowledged is on the disk already."""


class Ending:
    """Inside it, the first signal cancels the task that entered.

    The handlers are Python's own, not the event loop's: they also run while the loop is stuck in a write that nobody
    reads, and then the grace still holds. A signal that is ignored (nohup) stays ignored.
    """

    def __init__(self, grace_s: float = GRACE_S, end: Callable[[int], object] = os._exit) -> None:
        self.caught = 0
        self._grace_s = grace_s
        self._end = end
        self._before: dict[signal.Signals, Any] = {}

    def __enter__(self) -> Self:
        self._loop = asyncio.get_running_loop()
        self._task = asyncio.current_task()
        self._timer: threading.Timer | None = None
        heeded = [number for number in SIGNALS if signal.getsignal(number) != signal.SIG_IGN]
        self._before = {number: signal.signal(number, self._heard) for number in heeded}
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for number, before in self._before.items():
            signal.signal(number, before)
        if self._timer is not None:
            self._timer.cancel()

    @property
    def why(self) -> str:
        """The name of the signal that was caught."""
        return f"ended by {signal.Signals(self.caught).name}"

    def _heard(self, number: int, _: FrameType | None) -> None:
        if self.caught:
            return
        self.caught = number
        self._timer = threading.Timer(self._grace_s, self._end, (by_signal(number),))
        self._timer.daemon = True
        self._timer.start()
        if self._task is not None:
            self._loop.call_soon_threadsafe(self._task.cancel)


def until_signal(work: Coroutine[None, None, int | None]) -> int:
    """Run the work of a command and return its exit code; that of the signal, where one cut it off."""

    async def run() -> int:
        with Ending() as ending:
            try:
                return int(await work or Exit.DONE)
            except asyncio.CancelledError:
                if not ending.caught:
                    raise
                return by_signal(ending.caught)

    return asyncio.run(run())
