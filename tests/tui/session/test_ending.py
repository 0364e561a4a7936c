import asyncio
import os
import signal

import pytest

from tui.session.ending import SIGNALS, Ending


def _never(code: int) -> None:
    raise AssertionError(f"ended hard with {code}")


async def _until_cancelled() -> None:
    await asyncio.Event().wait()


@pytest.mark.parametrize("number", SIGNALS)
async def test_a_signal_cancels_who_entered(number: signal.Signals) -> None:
    before = signal.getsignal(number)
    with Ending(end=_never) as ending:
        asyncio.get_running_loop().call_soon(os.kill, os.getpid(), number)
        with pytest.raises(asyncio.CancelledError):
            await _until_cancelled()
        task = asyncio.current_task()
        assert task is not None
        task.uncancel()
    assert (ending.caught, ending.why) == (number, f"ended by {number.name}")
    assert signal.getsignal(number) is before


async def test_the_grace_ends_what_hangs() -> None:
    ended: asyncio.Future[int] = asyncio.get_running_loop().create_future()
    loop = asyncio.get_running_loop()
    with Ending(0, end=lambda code: loop.call_soon_threadsafe(ended.set_result, code)) as ending:
        ending._task = None  # a task that cannot be cancelled: it hangs
        os.kill(os.getpid(), signal.SIGTERM)
        assert await ended == 128 + signal.SIGTERM


async def test_an_ignored_signal_stays_ignored() -> None:
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with Ending(end=_never) as ending:
            os.kill(os.getpid(), signal.SIGHUP)
            await asyncio.sleep(0)
        assert ending.caught == 0
    finally:
        signal.signal(signal.SIGHUP, before)
