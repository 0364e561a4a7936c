"""A shop in memory: a broker without a network, one collector over a real store, and benches, as tasks."""

import asyncio
import contextlib
import functools
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from logger.collector.collector import Collector
from logger.collector.read import Shelf
from logger.collector.store import Answers, Store
from logger.collector.tables import open_database
from logger.errors import NotStored
from logger.shop.outbox import Outbox, Status, Timing
from logger.shop.outboxtrail import CursorFile
from logger.shop.topics import BenchTopics
from logger.shop.wire import Ack
from logger.shop.wireport import Message
from tests.collect.air import Air, FakeBroker
from tests.collect.made import SHOP, ListSource
from tests.collect.waiting import until as soon

QUICK = Timing(look_s=0.005, stall_s=0.05)
until = functools.partial(soon, pause_s=0.002)


@dataclass
class Hall:
    """A shop in memory: the broker, one collector over a real SQLite store, and benches."""

    folder: Path
    air: Air = field(default_factory=Air)
    tasks: dict[str, "asyncio.Task[None]"] = field(default_factory=dict)
    told: list[Status] = field(default_factory=list)

    def collect(self, wrap: Callable[[Store], "Store | Failing"] = lambda store: store) -> None:
        engine = open_database(str(self.folder / "shop.sqlite"))
        store = Store(engine, SHOP, lambda: "2025-01-01T00:00:00Z")
        collector = Collector(SHOP, FakeBroker(self.air, "collector"), wrap(store))
        task = asyncio.get_running_loop().create_task(collector.run())
        task.add_done_callback(lambda _: engine.dispose())
        self.tasks["collector"] = task

    def send(self, source: ListSource, bench: str = "bay-1", client: str = "") -> Outbox:
        topics = BenchTopics(SHOP, bench)
        cursor = CursorFile(self.folder / f"{client or bench}.json")
        broker = FakeBroker(self.air, bench)
        outbox = Outbox(source, broker, topics, cursor, told=self.told.append, timing=QUICK)
        self.tasks[client or bench] = asyncio.get_running_loop().create_task(outbox.run())
        return outbox

    async def kill(self, name: str) -> None:
        """End one as a killed process ends: the broker tells its last will, nothing is said."""
        self.air.drop(name)
        await self.end(name)

    async def end(self, name: str) -> None:
        task = self.tasks.pop(name)
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task

    def kept(self) -> dict[str, int]:
        shelf = Shelf(str(self.folder / "shop.sqlite"))
        found = {each.bench: each.seq for each in shelf.kept()}
        shelf.close()
        return found

    def alarms(self) -> list[str]:
        shelf = Shelf(str(self.folder / "shop.sqlite"))
        found = [each.kind for each in shelf.alarms()]
        shelf.close()
        return found


class Failing:
    """A store whose disk is full for a while."""

    def __init__(self, store: Store, failures: int) -> None:
        self._store = store
        self.left = failures

    def take(self, batch: list[Message]) -> Answers:
        if self.left:
            self.left -= 1
            raise NotStored("The disk is full.")
        return self._store.take(batch)

    def standing(self) -> list[Ack]:
        return self._store.standing()


async def stands(outbox: Outbox, how: str) -> None:
    await until(lambda: outbox.status.standing == how, f"{how}, but {outbox.status}")


async def level(outbox: Outbox) -> None:
    await stands(outbox, "level")
