"""Time for simulated tools: as fast as possible, or at a human pace."""

import asyncio
from typing import Protocol

from drivers.clock import SystemClock
from drivers.reading import Clock, Stamp

START_UTC_NS = 1_767_600_000_000_000_000
"""2026-01-05T08:00:00Z: simulated jobs begin on a Monday morning, always the same one."""


class Pace(Clock, Protocol):
    """A clock that simulated tools can let go on."""

    async def pass_ms(self, ms: int) -> None:
        """Let some milliseconds pass."""
        ...


class SimClock:
    """Simulated time: it stands still until somebody lets it pass, and then passes without waiting."""

    def __init__(self, utc_ns: int = START_UTC_NS, mono_ns: int = 0) -> None:
        self._utc_ns = utc_ns
        self._mono_ns = mono_ns

    def now(self) -> Stamp:
        """Return the simulated moment."""
        return Stamp(self._utc_ns, self._mono_ns)

    def advance_ms(self, ms: int) -> None:
        """Let time pass at once; ValueError when it would run backwards."""
        if ms < 0:
            raise ValueError("time does not run backwards")
        self._utc_ns += ms * 1_000_000
        self._mono_ns += ms * 1_000_000

    async def pass_ms(self, ms: int) -> None:
        """Let time pass and give everybody else a turn."""
        self.advance_ms(ms)
        await asyncio.sleep(0)


class HumanPace(SystemClock):
    """Real time, for a simulated job that a person watches; `speed` 2 is twice as fast."""

    def __init__(self, speed: float = 1.0) -> None:
        self._speed = speed

    async def pass_ms(self, ms: int) -> None:
        """Wait as long as it takes."""
        await asyncio.sleep(ms / 1000 / self._speed)
