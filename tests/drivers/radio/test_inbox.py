"""The bounded inbox between callbacks and tasks."""

import asyncio

from drivers.radio.inbox import Inbox


async def test_items_come_out_in_order_and_none_after_closing() -> None:
    inbox: Inbox[int] = Inbox(10)
    for n in range(3):
        inbox.put(n)
    inbox.close()
    assert [await inbox.take() for _ in range(4)] == [0, 1, 2, None]


async def test_what_does_not_fit_is_counted_once() -> None:
    inbox: Inbox[int] = Inbox(2)
    for n in range(5):
        inbox.put(n)
    assert (inbox.take_lost(), inbox.take_lost()) == (3, 0)
    assert await inbox.take() == 0


async def test_a_waiting_taker_is_woken_by_an_item_and_by_closing() -> None:
    inbox: Inbox[int] = Inbox(2)
    taken: list[int | None] = []

    async def take() -> None:
        taken.extend([await inbox.take(), await inbox.take()])

    async with asyncio.timeout(5), asyncio.TaskGroup() as group:
        group.create_task(take())
        await asyncio.sleep(0)
        inbox.put(7)
        await asyncio.sleep(0)
        inbox.close()
    assert taken == [7, None]
