"""When a tool is tried again: the table, and the loop that obeys it."""

import asyncio
from collections import deque

import pytest

from drivers.radio.supervise import ASLEEP, End, Timing, keep_linked, next_step
from drivers.reading import Link

FAST = Timing(asleep_s=0.01)


@pytest.mark.parametrize(
    ("end", "in_a_row", "wait_s", "link", "words"),
    [
        (End.DROPPED, 1, 0.0, Link.LOST, "press its button"),
        (End.DROPPED, 40, 0.0, Link.LOST, "press its button"),
        (End.BUSY, 1, 0.25, Link.SEARCHING, ""),
        (End.BUSY, 2, 0.5, Link.SEARCHING, ""),
        (End.BUSY, 3, 1.0, Link.SEARCHING, "Another program"),
        (End.BUSY, 9, 4.0, Link.SEARCHING, "Another program"),
        (End.TIMEOUT, 1, 0.25, Link.SEARCHING, ""),
        (End.TIMEOUT, 2, 0.5, Link.SEARCHING, "nearer"),
        (End.ABORTED, 4, 2.0, Link.SEARCHING, ""),
        (End.ABORTED, 5, 4.0, Link.SEARCHING, "Wi-Fi"),
        (End.ABORTED, 5000, 4.0, Link.SEARCHING, "Wi-Fi"),
        (End.REFUSED, 1, 60.0, Link.SEARCHING, "pair it"),
        (End.NOT_UNDERSTOOD, 1, 60.0, Link.SEARCHING, "profile"),
        (End.RADIO_OFF, 1, 5.0, Link.SEARCHING, "switch it on"),
        (End.FULL, 1, 0.25, Link.SEARCHING, "gives way"),
        (End.FULL, 6, 4.0, Link.SEARCHING, "gives way"),
        (End.RELEASED, 1, 0.0, Link.SEARCHING, "press its button"),
        (End.DOUBLED, 1, 0.0, Link.SEARCHING, "made afresh"),
        (End.DOUBLED, 9, 0.0, Link.SEARCHING, "made afresh"),
    ],
)
def test_what_follows_each_end(end: End, in_a_row: int, wait_s: float, link: Link, words: str) -> None:
    step = next_step(end, in_a_row)
    assert (step.wait_s, step.link) == (wait_s, link)
    assert words in step.message
    assert bool(step.message) is bool(words)


@pytest.mark.parametrize("end", End)
def test_every_end_is_told_in_one_sentence_sooner_or_later(end: End) -> None:
    message = next_step(end, 100).message
    assert message.endswith(".")
    assert message.count(".") == 1


class FakeTool:
    """A tool whose sessions end as scripted; it is heard again only when `heard` says so."""

    def __init__(self, ends: list[End], heard: bool = True) -> None:
        self.awake = asyncio.Event()
        self.ends = deque(ends)
        self.told: list[tuple[Link, str]] = []
        self.done = asyncio.Event()
        self.heard = heard
        self.awake.set()

    async def session(self) -> End:
        self.awake.clear()
        end = self.ends.popleft()
        if self.heard:
            self.awake.set()
        return end

    async def tell(self, link: Link, message: str) -> None:
        self.told.append((link, message))
        if not self.ends and (self.heard or link is Link.ASLEEP):
            self.done.set()
            self.awake.clear()


async def run(tool: FakeTool, jitter: float = 1.0) -> list[float]:
    waits: list[float] = []

    async def pause(seconds: float) -> None:
        waits.append(seconds)

    async with asyncio.timeout(5), asyncio.TaskGroup() as group:
        work = group.create_task(keep_linked(tool, FAST, lambda: jitter, pause))
        await tool.done.wait()
        await asyncio.sleep(0)
        work.cancel()
    return waits


async def test_a_busy_adapter_is_tried_with_growing_patience_until_it_works() -> None:
    tool = FakeTool([End.BUSY, End.BUSY, End.BUSY, End.DROPPED])
    assert await run(tool) == [0.25, 0.5, 1.0]
    assert [link for link, _ in tool.told] == [Link.SEARCHING, Link.SEARCHING, Link.SEARCHING, Link.LOST]


async def test_jitter_shortens_a_wait_by_half_at_most() -> None:
    assert await run(FakeTool([End.BUSY, End.BUSY, End.DROPPED]), jitter=0.0) == [0.125, 0.25]


async def test_another_end_starts_the_count_anew() -> None:
    tool = FakeTool([End.BUSY, End.BUSY, End.TIMEOUT, End.BUSY])
    assert await run(tool) == [0.25, 0.5, 0.25, 0.25]


async def test_a_silent_tool_is_said_to_be_asleep_once_and_not_tried() -> None:
    tool = FakeTool([End.DROPPED], heard=False)
    assert await run(tool) == []
    assert [link for link, _ in tool.told] == [Link.LOST, Link.ASLEEP]
    assert tool.told[-1][1] == ASLEEP
