"""A service that fails is told and tried again; it ends neither the others nor the screen."""

import asyncio

import pytest

from logger.errors import NothingToTalkTo
from tui.services import Host, supervise

from .hand import Hand


class _Desk:
    """A host that remembers what it was told."""

    def __init__(self, hand: Hand) -> None:
        self.bench = hand.bench
        self.told: list[str] = []
        self.warned = asyncio.Event()

    def warn(self, text: str) -> None:
        self.told.append(text)
        self.warned.set()


async def test_a_service_that_fails_is_told_and_tried_again(hand: Hand) -> None:
    desk, tries = _Desk(hand), 0

    async def radio(_: Host) -> None:
        nonlocal tries
        tries += 1
        if tries < 3:
            raise NothingToTalkTo("There is no adapter.", "Plug one in.")

    await supervise(desk, [radio], (0, 0, 0))
    assert tries == 3
    assert (
        desk.told
        == ["radio stopped: There is no adapter. Plug one in. Typed readings still work. Trying again in 0 s."] * 2
    )


async def test_at_last_it_stays_down_and_says_so(hand: Hand) -> None:
    desk = _Desk(hand)

    async def radio(_: Host) -> None:
        raise ValueError("\x1b[2Jboom")

    await supervise(desk, [radio], (0,))
    assert len(desk.told) == 2
    assert "ValueError: ␛[2Jboom" in desk.told[1]
    assert desk.told[1].endswith("Leave and resume the job to try again.")


async def test_the_others_go_on(hand: Hand) -> None:
    desk, done = _Desk(hand), asyncio.Event()

    async def fails(_: Host) -> None:
        raise ValueError("boom")

    async def works(_: Host) -> None:
        await desk.warned.wait()
        done.set()

    await supervise(desk, [fails, works], ())
    assert done.is_set()


async def test_cancelling_ends_all(hand: Hand) -> None:
    desk = _Desk(hand)

    async def forever(_: Host) -> None:
        await asyncio.Event().wait()

    task = asyncio.ensure_future(supervise(desk, [forever, forever]))
    await asyncio.sleep(0)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert desk.told == []
