"""How long from a reading on the disk to its warning: as a word to the speech engine, as sound, and as the bell.

Run as `python -m tests.bench.voice_speed`. What is said is made of every moment of a whole job; the engine is the
system's espeak-ng, which writes the sound to a pipe here, so that its first sample can be seen coming.
"""

import asyncio
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

from logger.bench.moment import Moment
from logger.bench.replay import moments
from logger.shelf.shelf import load_job
from tests.played import WHOLE, play
from tui.voice.bells import sound_of
from tui.voice.engine import espeak
from tui.voice.spoken import spoken
from tui.voice.voice import Voice

from .rows import Row, quantile

ROUNDS = 20
WAV_HEADER = 44


def _spread(took_ns: Sequence[int]) -> str:
    ordered = sorted(took_ns)
    p50, p99 = (ordered[min(len(ordered) - 1, int(len(ordered) * share))] / 1e6 for share in (0.5, 0.99))
    return f"p50 {p50:7.2f} ms   p99 {p99:7.2f} ms   most {ordered[-1] / 1e6:7.2f} ms   ({len(ordered)})"


class _Ear:
    """An engine that notes when it is told to speak."""

    def __init__(self) -> None:
        self.told_ns: list[int] = []
        self.told = asyncio.Event()

    async def speak(self, text: str) -> None:
        self.told_ns.append(time.perf_counter_ns())
        self.told.set()


async def _to_engine(found: Sequence[Moment]) -> list[int]:
    """From the bench's call of its listener to the engine being told the first word."""
    ear, took = _Ear(), []
    voice = Voice(ear, lambda: None)
    async with asyncio.TaskGroup() as group:
        run = group.create_task(voice.run())
        for before, moment in pairwise(found):
            if not spoken(moment, before.prompt):
                continue
            ear.told.clear()
            ear.told_ns.clear()
            began = time.perf_counter_ns()
            voice.hear(moment)
            await ear.told.wait()
            took.append(ear.told_ns[0] - began)
            await asyncio.sleep(0.005)  # let it end, as it would between two readings
        run.cancel()
    return took


def _to_sound(path: str) -> list[int]:
    """From the making of the process to its first samples."""
    took = []
    for _ in range(ROUNDS):
        began = time.perf_counter_ns()
        command = espeak(path, more=("--stdout",)).command
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
            assert process.stdin is not None
            assert process.stdout is not None
            process.stdin.write(b"high: forty-five millimetres")
            process.stdin.close()
            process.stdout.read(WAV_HEADER + 2)
            took.append(time.perf_counter_ns() - began)
            process.stdout.read()
    return took


def _timed(found: Sequence[Moment], what: Callable[[Moment], object]) -> list[int]:
    took = []
    for _ in range(ROUNDS):
        for moment in found:
            began = time.perf_counter_ns()
            what(moment)
            took.append(time.perf_counter_ns() - began)
    return took


def rows(_quick: bool) -> list[Row]:
    """Return how long a moment of the bench takes to reach the speech engine."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "trail.sqlite"
        asyncio.run(play(path, WHOLE))
        found = list(moments(load_job(path, "j1")[1]))
    spoken(found[0])  # the words are loaded once
    took = tuple(quantile(asyncio.run(_to_engine(found)), 0.99) / 1e6 for _ in range(3))
    return [Row("reading stored to the speech engine told, p99, ms", "", took, "<= 100")]


async def main() -> int:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "trail.sqlite"
        await play(path, WHOLE)
        found = list(moments(load_job(path, "j1")[1]))
    spoken(found[0])  # the words are loaded once
    rows = [
        ("words made of a moment", _timed(found, spoken)),
        ("sound of a moment (bell)", _timed(found, sound_of)),
        ("listener called -> engine told", await _to_engine(found)),
    ]
    engine = shutil.which("espeak-ng")
    rows += [("engine told -> first sample", _to_sound(engine))] if engine else []
    for name, took in rows:
        sys.stdout.write(f"{name:32} {_spread(took)}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(asyncio.run(main()))
