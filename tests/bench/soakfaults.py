"""What goes wrong in the soak: every fault of tools, air, radio, clock and program, one after the other at random.

A fault is entered where it really was injected. None of them waits: whoever needs a tool waits for it.
"""

import asyncio
from collections import Counter, deque
from collections.abc import Awaitable, Callable, Iterable
from decimal import Decimal
from random import Random

from bleak.exc import BleakBluetoothNotAvailableReason

from drivers.reading import RADIO, Link
from simulators.tools import SimTool, SimWrench, sig_payload
from tests.bench.soakair import SoakClient, link_of
from tests.bench.soaksite import Site
from tests.bench.soaktools import SoakCaliper, TextCaliper

Press = Callable[[], Awaitable[None]]
FLOOD = 5000
"""More notifications at once than a line holds."""
KNOCK = [Decimal(each) for each in ("0.00", "0.01", "0.00", "14.20", "0.40", "0.00", "0.01", "0.00")]
OLD_TORQUE = Decimal("777.77")
DAY_S = 86_400
EVERY = {"flood": 20, "program ended, job resumed": 5, "connect never answers": 5, "adapter off and on": 2}
"""Faults that cost seconds come in each so many-th round only."""


class Deck:
    """Names that are dealt in rounds: each once, shuffled, then all of them again."""

    def __init__(self, names: Iterable[str], rng: Random) -> None:
        self._names, self._rng = tuple(names), rng
        self._round = 0
        self._left: deque[str] = deque()

    def deal(self) -> str:
        """Return the next name."""
        if not self._left:
            fresh = [name for name in self._names if self._round % EVERY.get(name, 1) == 0]
            self._rng.shuffle(fresh)
            self._left.extend(fresh)
            self._round += 1
        return self._left.popleft()

    def put_back(self, name: str) -> None:
        """Take a name back that did not fit, for later."""
        self._left.append(name)


class Faults:
    """Injects faults and counts them: before this share of prompts, and at this share of presses."""

    def __init__(self, site: Site, rng: Random, rate: float) -> None:
        self.site, self._rng, self._rate = site, rng, rate
        self.injected: Counter[str] = Counter()
        self._unheard_of = 0
        self._at_rest: dict[str, Callable[[], Awaitable[bool]]] = {
            "link dropped": self._drop,
            "tool asleep": self._sleep,
            "back with readings from its memory": self._memory,
            "frame of a dead link": self._late,
            "garbage": self._garbage,
            "every notification twice over a link": self._doubled,
            "message cut off by a lost link": self._cut_off,
            "frame lost on the air": self._lose,
            "clock put back or forward": self._jump,
            "adapter off and on": self._adapter,
            "connect: in progress": lambda: self._connect("busy", "busy"),
            "connect: aborted": lambda: self._connect("abort"),
            "connect never answers": lambda: self._connect("hang"),
            "link lost while it is made": lambda: self._connect("break"),
            "link lost after the first frames": self._short,
            "flood": self._flood,
            "knock on a wrench": self._knock,
            "another tool is pressed": self._stray,
            "all tools at once": self._crowd,
            "program ended, job resumed": self._restart,
        }
        self._pressing: dict[str, Callable[[SimTool, SoakClient, Press], Awaitable[bool]]] = {
            "notification twice": self._echo,
            "late, in one burst": self._burst,
            "link dropped just after": self._dropped_after,
            "link dropped just before": self._dropped_before,
            "link dropped in a pull": self._dropped_in,
            "a sample without a value in a pull": self._unknown,
            "asleep when pressed": self._asleep,
        }

        self._rest_deck, self._press_deck = Deck(self._at_rest, rng), Deck(self._pressing, rng)

    async def before_prompt(self) -> None:
        """Let something go wrong, perhaps, while nobody presses anything."""
        if self._rng.random() < self._rate:
            name = self._rest_deck.deal()
            if await self._at_rest[name]():
                self.injected[name] += 1
            else:
                self._rest_deck.put_back(name)

    async def press(self, tool: SimTool, press: Press) -> None:
        """Press or pull, and let something go wrong with it, perhaps."""
        link = link_of(tool)
        if link is None or self._rng.random() >= self._rate or not await self._wrong(tool, link, press):
            await press()

    async def _wrong(self, tool: SimTool, link: SoakClient, press: Press) -> bool:
        """Press with the first fault that fits the tool."""
        for _ in self._pressing:
            name = self._press_deck.deal()
            if await self._pressing[name](tool, link, press):
                self.injected[name] += 1
                return True
            self._press_deck.put_back(name)
        return False

    def missing(self) -> list[str]:
        """Name the faults that were never injected."""
        return [name for name in (*self._at_rest, *self._pressing) if not self.injected[name]]

    # --- who --------------------------------------------------------------------------------------------------------

    def _any(self) -> SimTool:
        return self._rng.choice(list(self.site.tools))

    def _gauge(self) -> SoakCaliper:
        return self._rng.choice(self.site.tools.gauges)

    def _wrench(self) -> SimWrench:
        return self._rng.choice(self.site.tools.wrenches)

    def _strange(self) -> Decimal:
        """Return a length that no press of the soak sends, another one each time."""
        self._unheard_of += 1
        return 500 + Decimal(self._unheard_of % 100_000) / 10_000

    # --- at rest ----------------------------------------------------------------------------------------------------

    async def _drop(self) -> bool:
        self._any().drop()
        return True

    async def _sleep(self) -> bool:
        self._any().sleep()
        return True

    async def _memory(self) -> bool:
        tool = self._any()
        if isinstance(tool, SoakCaliper):
            for _ in range(3):
                self.site.books.foreign(tool.remember(self._strange())[1])
        elif isinstance(tool, SimWrench):
            payload = sig_payload(tool.peak, OLD_TORQUE)
            self.site.books.foreign(payload)
            tool.kept.append((tool.peak.handle, payload))
        tool.drop()
        return True

    async def _late(self) -> bool:
        tool = self._gauge()
        link = link_of(tool)
        if link is None or not tool.subscribed:
            return False
        handle, payload = tool.remember(self._strange())
        tool.kept.clear()
        handle = handle if handle in tool.subscribed else min(tool.subscribed)
        tool.drop()
        link.late(handle, payload)
        return True

    async def _garbage(self) -> bool:
        tool = self._any()
        if isinstance(tool, TextCaliper):  # what does not look like a number at all is another kind of message
            tool.send(tool.text, b"+0101,8037")
            tool.send(tool.text, b" mm\r\n")
            return True
        for payload in (b"\xde", b"\xff\xff", bytes(3)):
            tool.send(tool.measured.characteristics[0], payload)
        return True

    async def _doubled(self) -> bool:
        tool = self._any()
        link = link_of(tool)
        if link is None:
            return False
        link.doubled = True
        return True

    async def _cut_off(self) -> bool:
        tool = self.site.tools.text
        if not tool.subscribed or self._wanted(tool):
            return False
        tool.cut_off = True
        tool.press()
        return True

    async def _lose(self) -> bool:
        tool = self.site.tools.counting
        link = link_of(tool)
        if link is None or not tool.subscribed or self._wanted(tool):
            return False
        link.lose = 1
        for _ in range(2):
            tool.press()
        return True

    async def _jump(self) -> bool:
        self.site.clock.jump_s(self._rng.choice((-7200, -3, 7200)))
        return True

    async def _adapter(self) -> bool:
        self.site.air.switch_off(BleakBluetoothNotAvailableReason.POWERED_OFF)
        await self.site.until("the radio was not missed", lambda: self.site.links.get(RADIO) is Link.LOST)
        self.site.air.switch_on()
        return True

    async def _connect(self, *faults: str, tool: SimTool | None = None) -> bool:
        tool = tool or self._any()
        self.site.connecting.setdefault(tool.label.serial, []).extend(faults)
        tool.drop()
        return True

    async def _short(self) -> bool:
        tool = self._gauge()
        self.site.books.foreign(tool.remember(self._strange())[1])
        return await self._connect("short", tool=tool)

    async def _flood(self) -> bool:
        wrench = self._wrench()
        await self.site.ready(wrench)
        for n in range(FLOOD):
            wrench.send(wrench.stream, sig_payload(wrench.stream, Decimal(n % 7) / 100))
        await self.site.settled()
        return True

    async def _knock(self) -> bool:
        await self._wrench().pull(KNOCK)
        return True

    async def _stray(self) -> bool:
        tool = self._gauge()
        if self._wanted(tool):
            return False
        tool.press()
        return True

    async def _crowd(self) -> bool:
        async with asyncio.TaskGroup() as group:
            for wrench in self.site.tools.wrenches:
                group.create_task(wrench.pull(KNOCK))
            for gauge in self.site.tools.gauges:
                if not self._wanted(gauge):
                    gauge.press()
        return True

    async def _restart(self) -> bool:
        await self.site.settled()
        await self.site.bench.interrupted("the soak ends the program")
        await self.site.stop()
        await self.site.resume()
        return True

    def _wanted(self, tool: SoakCaliper) -> bool:
        """Whether a press of this tool could answer the prompt: another hand does not do that."""
        moment = self.site.bench.moment
        step = moment.job.sheet.by_id.get(moment.prompt.step)
        kind = "depth gauge" if tool is self.site.tools.counting else "caliper"
        return moment.prompt.kind in ("measure", "zero") and kind in getattr(step, "tools", ())

    # --- with a press -----------------------------------------------------------------------------------------------

    async def _echo(self, tool: SimTool, link: SoakClient, press: Press) -> bool:
        if not isinstance(tool, SoakCaliper):
            return False
        link.echo = 1
        await press()
        link.echo = 0
        return True

    async def _burst(self, tool: SimTool, link: SoakClient, press: Press) -> bool:
        link.held = []
        await press()
        await self.site.clock.pass_ms(700)
        link.let_through()
        return True

    async def _dropped_after(self, tool: SimTool, _: SoakClient, press: Press) -> bool:
        await press()
        tool.drop()
        return True

    async def _dropped_before(self, tool: SimTool, _: SoakClient, press: Press) -> bool:
        tool.drop()
        await press()
        return True

    async def _dropped_in(self, tool: SimTool, link: SoakClient, press: Press) -> bool:
        if not isinstance(tool, SimWrench):
            return False
        link.drop_after = self._rng.randrange(20, 60)
        await press()
        link.drop_after = 0
        return True

    async def _unknown(self, tool: SimTool, link: SoakClient, press: Press) -> bool:
        if not isinstance(tool, SimWrench):
            return False
        link.unknown_after = self._rng.randrange(20, 60)
        await press()
        link.unknown_after = 0
        return True

    async def _asleep(self, tool: SimTool, _: SoakClient, press: Press) -> bool:
        tool.sleep()
        await press()
        return True
