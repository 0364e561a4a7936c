"""What a bench shows the shop of its job, and the thread in which its outbox runs apart from everything else."""

import asyncio
import contextlib
import logging
import sys
import threading
from collections import Counter
from collections.abc import Callable, Iterator

from logger.bench.moment import Moment
from logger.job.named import check_title
from logger.job.words import headline

from .outbox import Outbox
from .wire import JobNow

_log = logging.getLogger(__name__)

_LINE = 300
LAST_S = 1.0
"""Seconds that the last events of a session have to be acknowledged; what is not is sent by the next one."""


def job_now(moment: Moment) -> JobNow:
    """Return what others may see of a job, in words: who, machine, prompt, the verdicts counted; no reading."""
    job, shown = moment.job, moment.record.shown.verdicts
    last = next(reversed(shown.items()), None) if shown else None
    overrides = [check for check, judged in moment.verdicts.items() if judged.verdict == "overridden"]
    return JobNow(
        bench="unnamed",
        session=0,
        job=job.id,
        by=job.by[:_LINE],
        machine=job.machine[:_LINE],
        sheet=job.sheet.title[:_LINE],
        prompt=headline(job, moment.prompt)[:_LINE],
        verdicts=dict(Counter(judged.verdict for judged in moment.verdicts.values())),
        last=f"{check_title(job, last[0])}: {last[1]}"[:_LINE] if last else "",
        overrides=tuple(check_title(job, check)[:_LINE] for check in overrides[:64]),
        closed=job.closed,
        simulated=job.simulated,
        utc=moment.record.utc,
    )


class OutboxThread:
    """An outbox in a thread and a loop of its own: neither a slow broker nor a slow screen is felt by the other."""

    def __init__(self, make: Callable[[], Outbox]) -> None:
        self._make = make
        self._ready = threading.Event()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._leaving = asyncio.Event()
        self._outbox: Outbox | None = None
        self._fault: Exception | None = None
        self._thread = threading.Thread(target=self._run, name="outbox", daemon=True)

    def start(self) -> None:
        """Begin, and return once it can be offered to; raises what kept the outbox from being made."""
        self._thread.start()
        self._ready.wait()
        if self._fault is not None:
            raise self._fault

    def offer(self, moment: Moment) -> None:
        """Show a moment of the job as soon as there is a line, and send what has been added; never blocks."""
        if self._loop is not None and self._outbox is not None:
            with contextlib.suppress(RuntimeError):  # it has ended: nobody is left to tell
                self._loop.call_soon_threadsafe(self._outbox.offer, job_now(moment))

    def stop(self, within_s: float = 1.5) -> None:
        """Send what is on its way, take leave of the broker and end.

        After `within_s` seconds the thread is left to end with the process.
        """
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):
                self._loop.call_soon_threadsafe(self._leaving.set)
        self._thread.join(within_s)

    def _run(self) -> None:
        # the loop of Windows that is used by default cannot watch the sockets of an MQTT client
        selects = asyncio.SelectorEventLoop if sys.platform == "win32" else None
        try:
            with asyncio.Runner(loop_factory=selects) as runner, contextlib.suppress(asyncio.CancelledError):
                runner.run(self._work())
        except Exception as fault:  # a thread's own account of it would be drawn over the screen
            self._fault = fault
            _log.warning("nothing more is sent to the shop", exc_info=fault)
        finally:
            self._ready.set()

    async def _work(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._outbox = outbox = self._make()
        self._ready.set()
        async with asyncio.TaskGroup() as group:
            sending = group.create_task(outbox.run())
            sending.add_done_callback(lambda _: self._leaving.set())
            await self._leaving.wait()
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(LAST_S):
                    await outbox.until_kept()
            sending.cancel()


@contextlib.contextmanager
def sharing(make: Callable[[], Outbox]) -> Iterator[OutboxThread]:
    """Send for as long as it is entered."""
    thread = OutboxThread(make)
    thread.start()
    try:
        yield thread
    finally:
        thread.stop()
