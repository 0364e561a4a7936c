"""The real clocks of the host."""

import time

from .reading import Stamp


class SystemClock:
    """Wall clock and monotonic clock of this host, in nanoseconds."""

    def now(self) -> Stamp:
        """Return the present moment by both clocks."""
        return Stamp(utc_ns=time.time_ns(), mono_ns=time.monotonic_ns())
