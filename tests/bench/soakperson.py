"""The simulated mechanic of the soak: that of the demo with several tools at hand, and faults between the prompts."""

from collections.abc import Awaitable, Callable
from contextlib import suppress
from random import Random

from logger.bench.moment import Moment
from logger.errors import BadInput
from logger.sheets.sheet import MeasureStep, TorquePass, TorqueStep, ZeroStep
from simulators.answers import Answers
from simulators.machine import Fastener, Machine
from simulators.mechanic import Mechanic
from simulators.tools import SimTool
from simulators.workshop import Habits, Workshop
from tests.bench.soakfaults import Faults
from tests.bench.soaksite import Site, SoakError

MOST_TRIES = 60
"""How often one press is tried: with two in five going wrong, nobody needs as many."""


class Person(Mechanic):
    """Works through one job; waits for a tool to be ready, and presses again when nothing came of it."""

    def __init__(self, site: Site, faults: Faults, machine: Machine, rng: Random) -> None:
        self._site, self._faults = site, faults
        self._gauge = rng.choice(site.tools.calipers)
        shop = Workshop(machine, site.jaws, self._gauge, site.tools.wrenches[0], site.clock)
        super().__init__(site.bench, shop, rng, Habits())
        self._hand: SimTool = self._gauge

    async def finish(self) -> None:
        """Close what the mechanic left open: what still fails is let pass with a note, where that is allowed."""
        bench = self._site.bench
        for check, judged in bench.moment.verdicts.items():
            if not judged.passes:
                with suppress(BadInput):
                    await bench.override(check, "Foreman", "the soak goes on")
        await bench.close()

    async def _act(self, moment: Moment) -> None:
        await self._faults.before_prompt()
        if self._bench is not self._site.bench:  # the program was started again
            self._bench = self._site.bench
            self._answers = Answers(self._bench)
        self._shop.wrench = self._rng.choice(self._site.tools.wrenches)
        with suppress(BadInput):  # what was on its way has changed what is asked: the new prompt is read next
            await super()._act(self._bench.moment)

    async def _measure(self, moment: Moment, step: MeasureStep) -> None:
        deep = "depth gauge" in step.tools and moment.prompt.part != "second" and self._rng.random() < 0.3
        self._hand = self._shop.caliper = self._site.tools.counting if deep else self._gauge
        await super()._measure(moment, step)

    async def _zero(self, step: ZeroStep) -> None:
        self._hand = self._shop.caliper = self._gauge
        await super()._zero(step)

    async def _pull(self, to: TorqueStep | TorquePass, fastener: Fastener, gain: float) -> None:
        self._hand = self._shop.wrench
        await super()._pull(to, fastener, gain)

    async def _press(self, press: Callable[[], Awaitable[None]]) -> None:
        """Press until it is answered; all that was sent has arrived by then."""
        before = self._bench.moment.record.seq
        for _ in range(MOST_TRIES):
            await self._site.ready(self._hand)
            await self._faults.press(self._hand, press)
            await self._site.settled()
            if self._answers.since(before):
                return
            self._off_and_on(self._hand)
        raise SoakError(f"{self._hand.name} was pressed {MOST_TRIES} times without an answer")

    def _off_and_on(self, tool: SimTool) -> None:
        """Put a tool off and on of which it was told that what it writes comes twice; it helps at once."""
        if tool.label.serial in self._site.twice:
            self._site.twice.discard(tool.label.serial)
            tool.drop()
