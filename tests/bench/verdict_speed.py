"""From a notification to its verdict, fifty tools at 20 Hz: `python -m tests.bench.verdict_speed [SECONDS]`.

Each tool is a caliper on a job of its own, at a moment of a whole job that asks for a length; its octets are those of
the SIG length type. What is within the span is told by the rows:

- *in memory*: heard (gathered, decoded, looked at for repeats), answered to the prompt, made an event, folded, judged,
  the next prompt found. Nothing is stored, so every notification meets the same moment again. How late it was taken,
  since the one before was still being judged, stands in a row of its own.
- *stored first*: through the door of one bench on a real trail, as the program does it: no verdict is told before its
  event is on the disk. One bench takes one after the other, so here each of the fifty sends once a second.

The floor is `drivers/decode/decode.py` alone on the same octets. The span in memory is compared by processor time,
since hosts have moods.
"""

import asyncio
import os
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from time import perf_counter, thread_time

from drivers import gatt
from drivers.clock import SystemClock
from drivers.decode.bind import Offered, Speech, choose
from drivers.decode.decode import Frame, decode
from drivers.hearing.hearing import Hearing
from drivers.profile.file import shipped_profiles
from drivers.reading import Stamp, ToolReading
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.bench.envelope import envelope
from logger.bench.intake import reading_event
from logger.bench.moment import Moment, moment_of
from logger.job.job import apply
from logger.job.prompt import Prompt, next_prompt
from logger.job.rules import judge
from logger.sheets.store import open_sheet
from logger.shelf.shelf import begin
from logger.trail.trail import Trail
from simulators.tools import SimCharacteristic, sig_payload

from .manyjobs import template
from .rows import Row, quantile, seconds, table

TOOLS, HERTZ = 50, 20
ROUNDS = 3
FLOOR = "bare decode of the same octets"
LENGTH = SimCharacteristic(gatt.LENGTH, ("notify",), handle=3)


@dataclass(slots=True)
class Caliper:
    """One tool: what it sends, the link that hears it, and the moment its job stands at."""

    speech: Speech
    moment: Moment
    payload: bytes
    hearing: Hearing = field(init=False)

    def __post_init__(self) -> None:
        self.hearing = Hearing(self.speech)

    def frame(self, at: Stamp) -> Frame:
        """Return one notification of it."""
        return Frame(LENGTH.handle, LENGTH.uuid, self.payload, 1, at)


def asking() -> list[tuple[Moment, Decimal]]:
    """Return the moments of a whole job at which a length was taken, each with its value in millimetres."""
    found = list[tuple[Moment, Decimal]]()
    first, *rest = template()
    job = begin(first)
    for record in rest:
        event = record.event
        if isinstance(event, ev.ReadingTaken) and event.answers is not None:
            found.append((moment_of(job, record), Decimal(event.value)))
        job = apply(job, record)
    return found


def calipers() -> list[Caliper]:
    """Return fifty tools, spread over those moments."""
    chosen = choose(shipped_profiles(), [Offered(LENGTH.handle, LENGTH.uuid, gatt.INDUSTRIAL_MEASUREMENT)])
    assert chosen is not None
    speech, moments = Speech.by(chosen[0], "", chosen[1]), asking()
    return [
        Caliper(replace(speech, tool=f"DC-{each}"), moment, sig_payload(LENGTH, value))
        for each, (moment, value) in zip(range(TOOLS), moments * TOOLS, strict=False)
    ]


def judged(tool: Caliper, clock: SystemClock) -> Prompt:
    """Take one notification to its verdict and the next prompt, in memory."""
    (arrival,) = tool.hearing.take(tool.frame(clock.now()))
    assert isinstance(arrival, ToolReading)
    before = tool.moment
    event = reading_event(before.job, before.prompt, replace(arrival, duplicate=False))  # 20 Hz is no hand's pace
    job = apply(before.job, envelope(clock, before.job.id, before.job.seq + 1, event, ev.Shown()))
    return next_prompt(job, judge(job))


async def _each_when_due(count: int, hertz: float, take: Callable[[int], None]) -> None:
    """Call `take` for tool after tool, evenly spread, each so many times a second, in all so many times."""
    loop, done = asyncio.get_running_loop(), asyncio.Event()

    def due(number: int) -> None:
        take(number)
        if number == count - 1:
            done.set()

    began = loop.time() + 0.01
    for number in range(count):
        loop.call_at(began + number / (TOOLS * hertz), due, number)
    await done.wait()


def in_memory(tools: Sequence[Caliper], for_s: float) -> tuple[list[float], list[float]]:
    """Return the seconds of processor from each notification to its verdict, and how late each was taken."""
    clock, spans, late = SystemClock(), list[float](), list[float]()
    first = 0.0

    def take(number: int) -> None:
        nonlocal first
        began = perf_counter()
        first = first or began
        late.append(began - first - number / (TOOLS * HERTZ))
        spans.append(seconds(lambda: judged(tools[number % TOOLS], clock), thread_time))

    asyncio.run(_each_when_due(int(TOOLS * HERTZ * for_s), HERTZ, take))
    return spans, late


def bare(tools: Sequence[Caliper]) -> float:
    """Return the seconds of processor that decoding one notification takes, and nothing else."""
    at = SystemClock().now()
    frames = [(tool.frame(at), tool.speech) for tool in tools] * HERTZ
    return seconds(lambda: [decode(*each) for each in frames], thread_time) / len(frames)


def stored_first(tools: Sequence[Caliper], for_s: float, folder: Path) -> tuple[list[float], float]:
    """Return the seconds from due to the verdict of a stored reading, and the median of fdatasync of like bytes."""
    spans = list[float]()

    async def play() -> None:
        clock = SystemClock()
        with Trail.open(folder / "trail.sqlite") as trail:
            bench = await Bench.open(trail, clock, Opening(open_sheet("courier-chain"), "Depot 7", "Robin"))

            async def one(number: int) -> None:
                began = perf_counter()
                for arrival in tools[number % TOOLS].hearing.take(tools[number % TOOLS].frame(clock.now())):
                    await bench.arrive(arrival)
                spans.append(perf_counter() - began)

            async with asyncio.TaskGroup() as group:
                await _each_when_due(int(TOOLS * for_s), 1, lambda number: _keep(group.create_task(one(number))))

    asyncio.run(play())
    return spans, statistics.median(_flushes(folder / "flushed"))


def _keep(_: "asyncio.Task[None]") -> None:
    """The group keeps it."""


def _flushes(path: Path) -> Iterator[float]:
    data = bytes(600)
    with path.open("ab", buffering=0) as file:
        for _ in range(100):
            file.write(data)
            yield seconds(lambda: os.fdatasync(file.fileno()))


def measured(for_s: float) -> list[Row]:
    """Return the rows, with so many seconds of notifications a round."""
    tools = calipers()
    last, middle, lates, disk, flushes = [], [], [], [], []
    for _ in range(ROUNDS):
        floor = bare(tools)
        spans, late = in_memory(tools, for_s)
        last.append(quantile(spans, 0.99) / floor)
        middle.append(quantile(spans, 0.5) / floor)
        lates.append(quantile(late, 0.99) * 1000)
        with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_FOLDER")) as name:
            stored, flush = stored_first(tools, for_s, Path(name))
        disk.append(quantile(stored, 0.99) * 1000)
        flushes.append(quantile(stored, 0.99) / flush)
    return [
        Row(f"{TOOLS} tools at {HERTZ} Hz, notification to verdict in memory, p99", FLOOR, tuple(last), "<= 10"),
        Row("the same, p50", FLOOR, tuple(middle)),
        Row("how late one was taken, since others were judged, p99, ms", "", tuple(lates)),
        Row(f"{TOOLS} tools at 1 Hz, one bench, stored first, p99, ms", "", tuple(disk)),
        Row("the same", "median of fdatasync", tuple(flushes)),
    ]


def rows(quick: bool) -> list[Row]:
    """Return every figure of this file."""
    return measured(2 if quick else 10)


def main(words: Sequence[str]) -> int:
    """Measure for so many seconds a round, and print a table."""
    sys.stdout.write(f"{table(measured(float((*words, '10')[0])))}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:2]))
