"""Who gives way when there are more tools than can be linked: the table, and the places themselves."""

import asyncio

import pytest

from drivers.radio.slots import Slots, Wait, least_used

LIMIT_S = 10


@pytest.mark.parametrize(
    ("used_s", "now_s", "found"),
    [
        ([], 100.0, Wait(60.0)),
        ([40.0], 100.0, 0),  # idle for exactly as long as it takes
        ([41.0], 100.0, Wait(1.0)),
        ([30.0, 10.0, 20.0], 100.0, 1),
        ([90.0, 99.0, 70.0], 100.0, Wait(30.0)),
    ],
)
def test_the_one_used_longest_ago_gives_way_once_it_is_idle(
    used_s: list[float], now_s: float, found: int | Wait
) -> None:
    assert least_used(used_s, now_s, 60.0) == found


class Tool:
    def __init__(self, slots: Slots, used_s: float) -> None:
        self.slots = slots
        self.used_s = used_s
        self.told = 0
        self.released = asyncio.Event()

    def release(self) -> None:
        self.released.set()

    async def tell(self) -> None:
        self.told += 1

    async def take(self) -> None:
        await self.slots.take(self, self.tell)


class Bench:
    def __init__(self, most: int, idle_s: float) -> None:
        self.freed = 0
        self.slots = Slots(most, idle_s, self._freed)

    def _freed(self) -> None:
        self.freed += 1

    def tool(self, idle_s: float) -> Tool:
        return Tool(self.slots, asyncio.get_running_loop().time() - idle_s)


async def test_a_place_is_taken_without_a_word_while_there_is_one() -> None:
    bench = Bench(2, 60.0)
    tools = [bench.tool(0.0) for _ in range(2)]
    for tool in tools:
        await tool.take()
    assert [tool.told for tool in tools] == [0, 0]
    await bench.slots.give_back(tools[0])
    assert bench.freed == 1, "nobody waited for it"


async def test_one_that_comes_on_top_is_told_once_and_the_idlest_gives_way_to_it() -> None:
    bench = Bench(2, 60.0)
    idle, idler, new = bench.tool(70.0), bench.tool(80.0), bench.tool(0.0)
    await idle.take()
    await idler.take()
    async with asyncio.timeout(LIMIT_S), asyncio.TaskGroup() as group:
        waiting = group.create_task(new.take())
        await idler.released.wait()
        assert not waiting.done()
        await bench.slots.give_back(idler)
    assert (new.told, idle.released.is_set(), bench.freed) == (1, False, 0)


async def test_two_that_wait_make_two_give_way_and_no_more() -> None:
    bench = Bench(3, 60.0)
    held = [bench.tool(70.0 + n) for n in range(3)]
    for tool in held:
        await tool.take()
    new = [bench.tool(0.0) for _ in range(2)]
    async with asyncio.timeout(LIMIT_S), asyncio.TaskGroup() as group:
        for tool in new:
            group.create_task(tool.take())
        await held[2].released.wait()
        await held[1].released.wait()
        await bench.slots.give_back(held[2])
        await bench.slots.give_back(held[1])
    assert not held[0].released.is_set()


async def test_nobody_gives_way_while_all_are_in_use_and_one_does_when_it_rests() -> None:
    bench = Bench(1, 0.05)
    used, new = bench.tool(0.0), bench.tool(0.0)
    await used.take()
    async with asyncio.timeout(LIMIT_S), asyncio.TaskGroup() as group:
        group.create_task(new.take())
        await used.released.wait()
        assert asyncio.get_running_loop().time() - used.used_s >= 0.05
        await bench.slots.give_back(used)


async def test_one_that_stops_waiting_leaves_everything_as_it_was() -> None:
    bench = Bench(1, 60.0)
    used, new = bench.tool(0.0), bench.tool(0.0)
    await used.take()
    work = asyncio.ensure_future(new.take())
    await asyncio.sleep(0)
    work.cancel()
    with pytest.raises(asyncio.CancelledError):
        await work
    await bench.slots.give_back(used)
    assert bench.freed == 1
    await new.take()


async def test_an_adapter_that_holds_fewer_is_remembered_until_there_is_another() -> None:
    bench = Bench(3, 60.0)
    first, second, third = (bench.tool(0.0) for _ in range(3))
    for tool in (first, second):
        await tool.take()
    bench.slots.shrink()  # the second one was refused
    await bench.slots.give_back(second)
    async with asyncio.timeout(LIMIT_S), asyncio.TaskGroup() as group:
        waiting = group.create_task(third.take())
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        assert third.told == 1
        await bench.slots.give_back(first)
        await waiting
    bench.slots.restore()
    await first.take()
    await second.take()
    assert (first.told, second.told) == (0, 0)
