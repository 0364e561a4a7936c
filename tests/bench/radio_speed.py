"""How fast notifications come through D-Bus, with 1, 4 and 8 tools: sent, received, lost, and how late.

Run as `python -m tests.bench.radio_speed`. The moments of sending and of arriving are of one clock, the host's
monotonic one, read in two processes. Three tables: wrenches that stream at 100 Hz, from the tool's send to the
driver's callback; wrenches that send as fast as they can; calipers that are pressed, to the driver's callback and to
the event on the disk, on an open job whose every reading is judged.
"""

import asyncio
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from drivers.clock import SystemClock
from drivers.profile.file import shipped_profiles
from drivers.radio.ble import Radio
from drivers.reading import Arrival, Link, ToolReading, ToolState, TorqueSample
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.bench.moment import Moment
from logger.sheets.store import open_sheet
from logger.trail.trail import Trail
from simulators.bluez.private_bus import PrivateBus
from simulators.bluez.remote import RemoteStandIn

from .rows import Row

TOOLS = (1, 4, 8)
PACED = 500
"""Notifications a tool at 100 Hz: five seconds."""
BURST = 3000
PRESSES = 60
PRESS_MS = 50


async def _ready(radio: Radio, tools: int) -> None:
    seen: set[str] = set()
    while len(seen) < tools:
        arrival = await radio.next()
        if isinstance(arrival, ToolState) and arrival.link is Link.READY:
            seen.add(arrival.tool)


def _spread(late_ns: Sequence[int]) -> str:
    """Return the median and the 99th percentile in ms."""
    if not late_ns:
        return f"{'-':>8} {'-':>8}"
    ordered = sorted(late_ns)
    at = [ordered[min(len(ordered) - 1, int(len(ordered) * share))] / 1e6 for share in (0.5, 0.99)]
    return f"{at[0]:8.2f} {at[1]:8.2f}"


async def _sent(remote: RemoteStandIn, tools: Sequence[str]) -> dict[str, list[int]]:
    return {tool: (await remote.tell("sent", tool))["sent_ns"] for tool in tools}


async def streams(tools: int, count: int, every_ms: int) -> str:
    """Let wrenches stream through the driver and return a line of the table."""
    names = [f"TW-{n}" for n in range(tools)]
    arrived: dict[str, list[int]] = {name: [] for name in names}
    said: list[str] = []
    async with PrivateBus() as bus, RemoteStandIn(bus, [f"wrench:{name}" for name in names]) as remote:
        os.environ.update(bus.environ())
        async with Radio(shipped_profiles(), SystemClock(), max_tools=tools) as radio:
            await _ready(radio, tools)
            began = time.monotonic()
            work = [remote.begin("stream", name, count, every_ms) for name in names]

            def done(arrival: Arrival) -> bool:
                if isinstance(arrival, TorqueSample):
                    arrived[arrival.tool].append(arrival.at.mono_ns)
                elif isinstance(arrival, ToolState):
                    said.append(arrival.message)
                lost = sum(int(message.split()[0]) for message in said if "were lost" in message)
                return sum(map(len, arrived.values())) + lost >= tools * count

            while not done(await radio.next()):
                pass
            await asyncio.gather(*work)
        took = time.monotonic() - began
        sent = await _sent(remote, names)
    late = [got - was for name in names for was, got in zip(sent[name], arrived[name], strict=False)]
    received = sum(map(len, arrived.values()))
    total = sum(map(len, sent.values()))
    spread = _spread(late if received == total else [])
    return f"{tools:5} {total:7} {received:8} {total - received:5} {received / took:9.0f} {spread}"


async def presses(tools: int, home: Path) -> str:
    """Press calipers on an open job and return a line of the table."""
    names = [f"DC-{n}" for n in range(tools)]
    heard: dict[str, list[int]] = {name: [] for name in names}
    stored: dict[str, list[int]] = {name: [] for name in names}

    def listen(moment: Moment) -> None:
        if isinstance(moment.record.event, ev.ReadingTaken):
            stored[moment.record.event.tool].append(time.monotonic_ns())

    async with PrivateBus() as bus, RemoteStandIn(bus, [f"caliper:{name}" for name in names]) as remote:
        os.environ.update(bus.environ())
        opening = Opening(open_sheet("courier-chain"), "Depot 7", "Robin")
        with Trail.open(home / "trail.sqlite") as trail:
            bench = await Bench.open(trail, SystemClock(), opening)
            bench.listeners.append(listen)
            async with Radio(shipped_profiles(), SystemClock(), max_tools=tools) as radio:
                await _ready(radio, tools)
                work = [remote.begin("stream", name, PRESSES, PRESS_MS) for name in names]
                while sum(map(len, stored.values())) < tools * PRESSES:
                    arrival = await radio.next()
                    if isinstance(arrival, ToolReading):
                        heard[arrival.tool].append(arrival.at.mono_ns)
                    await bench.arrive(arrival)
                await asyncio.gather(*work)
        sent = await _sent(remote, names)
    total, kept = sum(map(len, sent.values())), sum(map(len, stored.values()))
    to_callback = [got - was for n in names for was, got in zip(sent[n], heard[n], strict=True)]
    to_disk = [got - was for n in names for was, got in zip(sent[n], stored[n], strict=True)]
    return f"{tools:5} {total:7} {kept:8} {total - kept:5} {'':9} {_spread(to_callback)} {_spread(to_disk)}"


def rows(quick: bool) -> list[Row]:
    """Return what eight calipers take to the disk; nothing where there is no dbus-daemon."""
    if shutil.which("dbus-daemon") is None:
        return []
    lost, late = [], []
    for _ in range(1 if quick else 3):
        with tempfile.TemporaryDirectory() as home:
            figures = asyncio.run(presses(TOOLS[-1], Path(home))).split()
        lost.append(float(figures[3]))
        late.append(float(figures[-1]))
    return [
        Row("8 calipers over D-Bus, 20 readings a second each: lost", "", tuple(lost), "<= 0"),
        Row("the same: sent to on the disk, p99, ms", "", tuple(late)),
    ]


async def main() -> None:
    """Print the three tables."""
    head = f"{'tools':>5} {'sent':>7} {'received':>8} {'lost':>5} {'a second':>9} {'median':>8} {'p99':>8}"
    _out(f"100 Hz a tool, send to callback, ms\n{head}")
    for tools in TOOLS:
        _out(await streams(tools, PACED, 10))
    _out(f"\nas fast as it goes, {BURST} a tool, send to callback, ms\n{head}")
    for tools in TOOLS:
        _out(await streams(tools, BURST, 0))
    _out(
        "\n20 readings a second a tool, send to callback and send to event on the disk, ms\n"
        f"{head} {'median':>8} {'p99':>8}"
    )
    for tools in TOOLS:
        with tempfile.TemporaryDirectory() as home:
            _out(await presses(tools, Path(home)))


def _out(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    asyncio.run(main())
