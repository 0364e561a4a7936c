"""An event on its way to the disk: its envelope, and the wait until it is there."""

import asyncio
from pathlib import Path

from drivers.reading import Clock
from logger import events as ev
from logger.trail.clocks import utc_text
from logger.trail.trail import Trail
from logger.trail.writer import Stored


def _boot_id() -> str:
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return ""


_BOOT = _boot_id()


def envelope(clock: Clock, job: str, seq: int, event: ev.Event, shown: ev.Shown) -> ev.Record:
    """Return an event with its place in the order and both clocks, and what it led to on the screen."""
    now = clock.now()
    return ev.Record(
        seq=seq,
        job=job,
        utc=utc_text(now.utc_ns),
        mono_us=now.mono_ns // 1000,
        boot=_BOOT,
        event=event,
        shown=shown,
    )


def bytes_of(record: ev.Record) -> dict[str, object]:
    """Return a record as it is stored; the trail numbers it."""
    return record.model_dump(mode="json", exclude={"seq"})


async def store(trail: Trail, record: ev.Record) -> ev.Record:
    """Append and return the record with the number the trail gave it."""
    stored = await trail.append(bytes_of(record))
    return record.model_copy(update={"seq": stored.seq})


async def landed(append: "asyncio.Future[Stored]") -> bool:
    """Wait until an event is stored, and say whether who waits was cancelled meanwhile.

    It reaches the disk all the same, so the state in memory has to follow before the cancelling may.
    """
    cancelled = False
    while not append.done():
        try:
            await asyncio.wait({append})
        except asyncio.CancelledError:
            cancelled = True
    return cancelled
