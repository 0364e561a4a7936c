"""A service that fails is told and tried again; it ends neither the others nor the screen."""

import asyncio

import pytest

from logger import events as ev
from logger.bench.moment import Moment
from logger.errors import NothingToTalkTo, NotStored
from logger.shelf.shelf import records
from tui.services import Workplace, supervise

from .hand import Hand


class _Desk:
    """A workplace that remembers what it was told, by an event of the bench or beside it."""

    def __init__(self, hand: Hand) -> None:
        self.bench = hand.bench
        self.bench.listeners.append(self._listen)
        self.told: list[str] = []
        self.beside: list[str] = []
        self.warned = asyncio.Event()

    def _listen(self, moment: Moment) -> None:
        event = moment.record.event
        if isinstance(event, ev.FaultTold):
            self.told.append(event.said)
            self.warned.set()

    def warn(self, text: str) -> None:
        self.beside.append(text)


async def test_a_service_that_fails_is_told_and_tried_again(hand: Hand) -> None:
    desk, tries = _Desk(hand), 0

    async def radio(_: Workplace) -> None:
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


async def test_a_fault_of_a_service_is_on_the_trail(hand: Hand) -> None:
    async def radio(_: Workplace) -> None:
        raise NothingToTalkTo("There is no adapter.", "Plug one in.")

    desk = _Desk(hand)
    await supervise(desk, [radio], ())
    last = [record.event for record in records(hand.bench.path)][-1]
    assert last == ev.FaultTold(what="radio", said=desk.told[0])
    assert desk.beside == []


async def test_a_fault_that_does_not_reach_the_disk_is_told_all_the_same(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def full(*_: str) -> None:
        raise NotStored("The disk is full.")

    async def radio(_: Workplace) -> None:
        raise ValueError("boom")

    monkeypatch.setattr(hand.bench, "fault", full)
    desk = _Desk(hand)
    await supervise(desk, [radio], ())
    assert len(desk.beside) == 1
    assert "radio stopped: ValueError: boom" in desk.beside[0]


async def test_at_last_it_stays_down_and_says_so(hand: Hand) -> None:
    desk = _Desk(hand)

    async def radio(_: Workplace) -> None:
        raise ValueError("\x1b[2Jboom")

    await supervise(desk, [radio], (0,))
    assert len(desk.told) == 2
    assert "ValueError: ␛[2Jboom" in desk.told[1]
    assert desk.told[1].endswith("Leave and resume the job to try again.")


async def test_the_others_go_on(hand: Hand) -> None:
    desk, done = _Desk(hand), asyncio.Event()

    async def fails(_: Workplace) -> None:
        raise ValueError("boom")

    async def works(_: Workplace) -> None:
        await desk.warned.wait()
        done.set()

    await supervise(desk, [fails, works], ())
    assert done.is_set()


async def test_cancelling_ends_all(hand: Hand) -> None:
    desk = _Desk(hand)

    async def forever(_: Workplace) -> None:
        await asyncio.Event().wait()

    task = asyncio.ensure_future(supervise(desk, [forever, forever]))
    await asyncio.sleep(0)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert desk.told == []
