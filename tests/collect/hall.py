"""A shop over a real broker: benches and collectors as tasks or as processes, and what is kept of each bench."""

import asyncio
import contextlib
import subprocess
import sys
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path

from logger.collector.collector import Collector
from logger.collector.read import Shelf
from logger.collector.store import Store
from logger.collector.tables import open_database
from logger.shop.outbox import Outbox, Status, Timing
from logger.shop.outboxtrail import CursorFile, Source
from logger.shop.topics import BenchTopics
from logger.shop.wire import BenchState, pack
from logger.shop.wiremqtt import MqttBroker
from logger.shop.wireport import Line, Message

from .made import SHOP

ROOT = Path(__file__).parents[2]
QUICK = Timing(look_s=0.02, stall_s=0.5)


@dataclass
class RealHall:
    """One shop at one broker."""

    folder: Path
    port: int
    store: str = ""
    mqtt: str = "3.1.1"
    tasks: dict[str, "asyncio.Task[None]"] = field(default_factory=dict)
    processes: list[subprocess.Popen[bytes]] = field(default_factory=list)
    told: list[Status] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.store = self.store or str(self.folder / "shop.sqlite")

    def broker(self, client: str, **more: object) -> MqttBroker:
        return MqttBroker("127.0.0.1", self.port, client, mqtt=self.mqtt, **{"timeout_s": 2.0, **more})  # type: ignore[arg-type]

    def collect(self, broker: MqttBroker | None = None) -> None:
        engine = open_database(self.store)
        store = Store(engine, SHOP, lambda: "2025-01-01T00:00:00Z")
        collector = Collector(SHOP, broker or self.broker("collector"), store, share=lambda: 0.0)
        task = asyncio.get_running_loop().create_task(collector.run())
        task.add_done_callback(lambda _: engine.dispose())
        self.tasks["collector"] = task

    def collector_process(self, *, holds: bool) -> subprocess.Popen[bytes]:
        how = "holds" if holds else "goes"
        return self.process("tests.collect.slow_collector", str(self.port), self.store, SHOP, how)

    def process(self, module: str, *words: str) -> subprocess.Popen[bytes]:
        program = [sys.executable, "-m", module, *words]
        process = subprocess.Popen(program, stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT)
        self.processes.append(process)
        return process

    def send(self, source: Source, bench: str = "bay-1", name: str = "", broker: MqttBroker | None = None) -> Outbox:
        cursor = CursorFile(self.folder / f"{name or bench}.json")
        outbox = Outbox(
            source,
            broker or self.broker(bench),
            BenchTopics(SHOP, bench),
            cursor,
            told=self.told.append,
            timing=QUICK,
            share=lambda: 0.0,
        )
        self.tasks[name or bench] = asyncio.get_running_loop().create_task(outbox.run())
        return outbox

    async def end(self, name: str) -> None:
        task = self.tasks.pop(name)
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task

    async def end_all(self) -> None:
        for name in list(self.tasks):
            await self.end(name)
        for process in self.processes:
            kill(process)

    def kept(self) -> dict[str, int]:
        shelf = Shelf(self.store)
        found = {each.bench: each.seq for each in shelf.kept()}
        shelf.close()
        return found

    def alarms(self) -> list[str]:
        shelf = Shelf(self.store)
        found = sorted(each.kind for each in shelf.alarms())
        shelf.close()
        return found

    @contextlib.asynccontextmanager
    async def stranger(self, client: str = "stranger", **more: object) -> AsyncIterator[Line]:
        """A connection that says whatever it likes."""
        will = BenchState(bench="stranger", session=0, state="lost", instance="0" * 16)
        async with self.broker(client, **more).connect(Message("elsewhere", pack(will))) as line:
            yield line


def kill(process: subprocess.Popen[bytes]) -> None:
    if process.poll() is None:
        process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with contextlib.suppress(BrokenPipeError):
                pipe.close()
