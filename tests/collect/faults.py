"""What is done to a shop on a real broker, and what is left afterwards: each fault gives one row of a table."""

import asyncio
import contextlib
import functools
import random
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from logger.collector.read import Shelf, copied, newest
from logger.errors import BadInput
from logger.shop.outbox import Outbox
from logger.shop.topics import BenchTopics
from logger.shop.wireport import Message
from logger.trail.read import read, verify

from .hall import RealHall, kill
from .made import SHOP, TRAIL, ListSource, chain, sent
from .servers import Mosquitto, mosquitto
from .waiting import until


@dataclass(frozen=True)
class Row:
    """What became of one fault."""

    fault: str
    times: int
    on_trail: int
    at_shop: int
    lost: int
    doubled: int
    alarms: tuple[str, ...]


@contextlib.asynccontextmanager
async def hall_at(folder: Path, *, persistent: bool = False) -> AsyncIterator[tuple[RealHall, Mosquitto]]:
    with mosquitto(folder, persistent=persistent) as broker:
        hall = RealHall(folder, broker.port)
        try:
            yield hall, broker
        finally:
            await hall.end_all()


def row(fault: str, hall: RealHall, source: ListSource, times: int = 1) -> Row:
    """Hold what the shop keeps against the bench's trail, byte for byte."""
    shelf = Shelf(hall.store)
    with copied(shelf, newest(shelf, "bay-1")) as path:
        assert verify(path).sound or "parked" in hall.alarms()
        kept = list(read(path))
    shelf.close()
    there = {event.seq: event for event in kept}
    lost = sum(there.get(event.seq) != event for event in source.events)
    return Row(
        fault, times, len(source.events), len(kept), lost, len(kept) - len(there), tuple(dict.fromkeys(hall.alarms()))
    )


async def all_kept(hall: RealHall, count: int) -> None:
    await until(lambda: hall.kept().get("bay-1") == count, f"{count} kept, but {hall.kept()} and {hall.told[-3:]}")


async def broker_killed(folder: Path, times: int, *, persistent: bool = True) -> Row:
    source = ListSource(chain(40))
    async with hall_at(folder, persistent=persistent) as (hall, broker):
        hall.collect()
        hall.send(source)
        for _ in range(times):
            await until(lambda: hall.kept().get("bay-1", 0) > 0)
            source.events += chain(200, after=source.events[-1])
            await asyncio.sleep(0.05)  # somewhere in the middle of it; where does not matter
            broker.kill()
            source.events += chain(20, after=source.events[-1])
            broker.start()
            await all_kept(hall, len(source.events))
        return row("broker killed" if persistent else "broker restarted, forgetting all", hall, source, times)


async def broker_forgetting(folder: Path, times: int) -> Row:
    return await broker_killed(folder, times, persistent=False)


async def collector_killed(folder: Path, times: int) -> Row:
    source = ListSource(chain(20))
    async with hall_at(folder) as (hall, _):
        hall.send(source)
        for _ in range(times):
            process = hall.collector_process(holds=True)
            assert process.stdout is not None
            said = await asyncio.to_thread(process.stdout.readline)
            assert said == b"committing\n"
            kill(process)
            source.events += chain(7, after=source.events[-1])
        hall.collector_process(holds=False)
        await all_kept(hall, len(source.events))
        return row("collector killed between receive and commit", hall, source, times)


def settings(port: int) -> str:
    table = {"on": "true", "name": f'"{SHOP}"', "bench": '"bay-1"', "host": '"127.0.0.1"', "tls": "false"}
    return "\n".join(["[shop]", f"port = {port}", *(f"{key} = {value}" for key, value in table.items())])


def has_more(trail: Path, count: int) -> bool:
    try:
        return len(list(read(trail))) > count
    except BadInput:  # not there yet, or being made
        return False


async def bench_killed(folder: Path, times: int) -> Row:
    """A whole bench as a process, killed with its job open; what is on its trail is sent by the next one."""
    home = folder / "home"
    home.mkdir()
    async with hall_at(folder) as (hall, _):
        (home / "settings.toml").write_text(settings(hall.port))
        hall.collect()
        for turn in range(times):
            words = ["resume"] if turn else ["start", "courier-chain", "--machine", "Depot 7", "--by", "Robin"]
            bench = hall.process("tui.cli", "--home", str(home), *words, "--plain", "--no-radio")
            assert bench.stdin is not None
            for number in range(5):
                bench.stdin.write(f"note {number}\n".encode())
            bench.stdin.flush()
            await until(functools.partial(has_more, home / "trail.sqlite", 5 * turn))
            kill(bench)
        source = ListSource(list(read(home / "trail.sqlite")))
        sender = hall.process("tui.cli", "--home", str(home), "shop", "send")
        assert await asyncio.to_thread(sender.wait) == 0
        await all_kept(hall, len(source.events))
        return row("bench killed", hall, source, times)


async def network_cut(folder: Path, times: int, cut_s: float = 1.0) -> Row:
    source = ListSource(chain(40))
    async with hall_at(folder) as (hall, broker):
        hall.collect()
        hall.send(source)
        for _ in range(times):
            await until(lambda: hall.kept().get("bay-1", 0) > 0)
            source.events += chain(200, after=source.events[-1])
            broker.pause()
            await asyncio.sleep(cut_s)  # as long as the cut lasts
            broker.go_on()
            await all_kept(hall, len(source.events))
        return row("network cut both ways", hall, source, times)


async def doubled_and_reordered(folder: Path, times: int) -> Row:
    source, draw = ListSource(chain(60)), random.Random(5)
    async with hall_at(folder) as (hall, _):
        hall.collect()
        await until(lambda: hall.kept() == {})
        async with hall.stranger() as line:
            for _ in range(times):
                heap = [sent(event) for event in source.events] * 2
                draw.shuffle(heap)
                for message in heap:
                    await line.publish(message)
            hall.send(source)
            await all_kept(hall, 60)
        return row("delivered twice and in any order", hall, source, times)


async def same_name_twice(folder: Path, times: int) -> Row:
    source = ListSource(chain(30))
    async with hall_at(folder) as (hall, _):
        hall.collect()
        boxes = [hall.send(source, name=name) for name in ("one", "other")]
        await until(lambda: any(box.status.standing == "doubled" for box in boxes), "one gives way")
        await all_kept(hall, 30)
        return row("same client id twice", hall, source, times)


async def poisoned(folder: Path, times: int) -> Row:
    """One event whose hash is wrong however often it is sent; it stays behind, parked, and holds nothing up."""
    source = ListSource(chain(10 * times + 5))
    source.events[10] = source.events[10]._replace(hash=b"?" * 32)
    async with hall_at(folder) as (hall, _):
        hall.collect()
        outbox = hall.send(source)
        await all_kept(hall, len(source.events))
        await until(lambda: outbox.status.standing == "level")
        return row("poison event", hall, source, times)


async def forged(folder: Path, times: int) -> Row:
    source = ListSource(chain(10))
    async with hall_at(folder) as (hall, _):
        hall.collect()
        hall.send(source)
        await all_kept(hall, 10)
        other = chain(11, text="forged")[10]
        async with hall.stranger() as line:
            for _ in range(times):
                await line.publish(Message(BenchTopics(SHOP, "bay-2").event(TRAIL, 11), sent(other).payload))
            await line.publish(sent(other))  # under the right name, but it does not follow
            await until(lambda: set(hall.alarms()) == {"conflict", "forged"})
        return row("forged bench, forged event", hall, source, times)


async def replayed(folder: Path, times: int) -> Row:
    source = ListSource(chain(50))
    async with hall_at(folder) as (hall, _):
        hall.collect()
        async with hall.stranger() as line:
            await line.subscribe([f"{SHOP}/1/bay-1/#"])
            outbox = hall.send(source)
            await until(lambda: outbox.status.standing == "level")
            caught = []
            async for message in line.messages():
                caught.append(message)
                if not line.waiting():
                    break
            for _ in range(times):
                for message in caught:
                    await line.publish(message)
        await until(lambda: hall.kept() == {"bay-1": 50})
        return row("old messages replayed", hall, source, times)


async def stands(outbox: Outbox, how: str) -> None:
    await until(lambda: outbox.status.standing == how)


async def clock_put_back(folder: Path, times: int) -> Row:
    """The bench's clock goes back by years each time, as after a start without the network, and its cursor is lost."""
    source = ListSource(chain(20))
    async with hall_at(folder) as (hall, _):
        hall.collect()
        for turn in range(times):
            with mock.patch("logger.shop.outbox.time.time_ns", lambda turn=turn: (times - turn) * 10**15):
                outbox = hall.send(source)
                source.events += chain(20, after=source.events[-1], utc=f"20{20 - turn}-01-01T00:00:00.000000Z")
                await all_kept(hall, len(source.events))
                await stands(outbox, "level")
                await hall.end("bay-1")
            (folder / "bay-1.json").unlink()
        return row("the bench's clock put back", hall, source, times)


Fault = Callable[[Path, int], Awaitable[Row]]
FAULTS: dict[str, Fault] = {
    "broker-killed": broker_killed,
    "broker-forgets": broker_forgetting,
    "collector-killed": collector_killed,
    "bench-killed": bench_killed,
    "network-cut": network_cut,
    "disorder": doubled_and_reordered,
    "same-name": same_name_twice,
    "poison": poisoned,
    "forged": forged,
    "replayed": replayed,
    "clock-back": clock_put_back,
}
