"""The real clocks."""

import time

from drivers.clock import SystemClock


def test_both_clocks_are_the_hosts() -> None:
    before = (time.time_ns(), time.monotonic_ns())
    now = SystemClock().now()
    after = (time.time_ns(), time.monotonic_ns())
    assert before[1] <= now.mono_ns <= after[1]
    assert abs(now.utc_ns - before[0]) < 60 * 1_000_000_000
