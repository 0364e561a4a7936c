"""What is newer takes the place of what is older, a warning always; nothing is told after the end."""

import asyncio
from dataclasses import dataclass

import pytest

from tui.voice.newest import Newest, queued


@dataclass(frozen=True, slots=True)
class Word:
    text: str
    urgent: bool = False


A, B, C = Word("a"), Word("b"), Word("c")
HOT, WARM = Word("hot", urgent=True), Word("warm", urgent=True)


@pytest.mark.parametrize(
    ("now", "waiting", "new", "then", "cut"),
    [
        (None, (), (), (), False),
        (None, (), (A,), (A,), False),
        (A, (B,), (), (B,), False),
        (A, (B,), (C,), (C,), True),
        (A, (B,), (HOT, C), (HOT, C), True),
        (HOT, (B,), (C,), (C,), False),
        (HOT, (WARM, B), (C,), (WARM, C), False),
        (HOT, (WARM, B), (WARM,), (WARM,), True),
    ],
)
def test_what_waits_and_what_is_cut(
    now: Word | None, waiting: tuple[Word, ...], new: tuple[Word, ...], then: tuple[Word, ...], cut: bool
) -> None:
    assert queued(now, waiting, new) == (then, cut)


class Mouth:
    """Tells each word until it is let go on, and notes how it ended."""

    def __init__(self) -> None:
        self.ended: list[tuple[str, str]] = []
        self.go = asyncio.Event()
        self.began = asyncio.Event()

    async def tell(self, word: Word) -> None:
        self.began.set()
        try:
            await self.go.wait()
        except asyncio.CancelledError:
            self.ended.append((word.text, "cut"))
            raise
        self.ended.append((word.text, "whole"))

    async def until_begun(self) -> None:
        await self.began.wait()
        self.began.clear()


async def test_news_is_told_in_order_and_cut_by_what_is_newer() -> None:
    mouth = Mouth()
    newest = Newest(mouth.tell)
    async with asyncio.TaskGroup() as group:
        run = group.create_task(newest.run())
        newest.put((A, B))
        await mouth.until_begun()
        newest.put((HOT, C))
        await mouth.until_begun()
        newest.put((B,))  # waits behind the warning, in the place of what waited
        assert mouth.ended == [("a", "cut")]
        mouth.go.set()
        await mouth.until_begun()
        run.cancel()
    assert mouth.ended == [("a", "cut"), ("hot", "whole"), ("b", "whole")]


async def test_the_end_cuts_what_is_being_told() -> None:
    mouth = Mouth()
    newest = Newest(mouth.tell)
    async with asyncio.TaskGroup() as group:
        run = group.create_task(newest.run())
        newest.put((HOT, A))
        await mouth.until_begun()
        run.cancel()
    assert mouth.ended == [("hot", "cut")]


async def test_what_telling_raises_ends_it() -> None:
    async def fails(word: Word) -> None:
        raise ValueError(word.text)

    newest = Newest(fails)
    newest.put((A,))
    with pytest.raises(ExceptionGroup) as raised:
        await newest.run()
    assert [str(fault) for fault in raised.value.exceptions] == ["a"]
