"""A person who does what the prompt says, with human error; seeded.

The mechanic sees only what a person sees: the prompt, its words and the advice. The machine's truth stays in the
machine: hands turn its adjusters, and gauges read it with their scatter.
"""

from collections import Counter
from collections.abc import Awaitable, Callable
from contextlib import suppress
from decimal import Decimal
from random import Random

from logger.bench.bench import Bench
from logger.bench.moment import Moment
from logger.sheets.sheet import (
    AdjustStep,
    ConfirmStep,
    MeasureStep,
    NoteStep,
    TorquePass,
    TorqueStep,
    ZeroStep,
    check_id,
)

from .answers import Answers
from .hands import amount, between_jaws, feel_for_tightest, gain, turn_side
from .machine import Fastener, seen
from .workshop import Control, Habits, SentHomeError, Slip, Slipped, Workshop

MOST_ROUNDS = 12
MOST_ACTIONS = 400
MOST_RETAKES = 3
"""How often a failing value that nothing adjusts is taken again before the job is left open."""
MOST_ASKED = {"measure": 8, "zero": 8, "torque": 8, "slacken": 5}
"""How often the same is asked with nothing between that could settle it, before it is let pass with a note."""
DIRT_MM = Decimal("0.06")
"""What a caliper reads whose jaws close on dirt."""


class Mechanic:
    """Works through one job, prompt by prompt."""

    def __init__(self, bench: Bench, shop: Workshop, rng: Random, habits: Habits) -> None:
        self._bench, self._shop, self._rng, self._habits = bench, shop, rng, habits
        self._tightest = 0.0
        self._retakes: Counter[str] = Counter()
        self._asked: Counter[tuple[str, int, int]] = Counter()
        self.slips: list[Slip] = []
        self.prompts = 0
        self._control: Control | None = None
        self._answers = Answers(bench)

    async def work(self, control: Control) -> None:
        """Go on until the job is closed, a person takes over, or there is no sense in going on."""
        self._control = control
        with suppress(SentHomeError):
            while self._sensible() and await control.may_go_on():
                self.prompts += 1
                if self._asked_in_vain():
                    await self._let_pass()
                else:
                    await self._act(self._bench.moment)

    def _sensible(self) -> bool:
        moment = self._bench.moment
        rounds = len(moment.job.turns)
        return not moment.job.closed and rounds <= MOST_ROUNDS and self.prompts < MOST_ACTIONS

    def _asked_in_vain(self) -> bool:
        """Whether the same is asked for again and again although nothing was done between that could settle it.

        Loosening a fastener for another pull is no such thing, but readings have to be taken again after it.
        """
        job, prompt = self._bench.moment.job, self._bench.moment.prompt
        if prompt.kind not in MOST_ASKED or prompt.stays:
            return False
        since = max(job.loosened, job.last_turned) if prompt.kind == "measure" else job.last_turned
        asked = (prompt.key, prompt.number, since)
        self._asked[asked] += 1
        return self._asked[asked] > MOST_ASKED[prompt.kind] and bool(self._open_checks())

    def _open_checks(self) -> list[str]:
        """The checks of the place that is asked about, else of its step, that do not pass."""
        moment = self._bench.moment
        here = check_id(moment.prompt.step, moment.prompt.place)
        step = moment.job.sheet.by_id[moment.prompt.step]
        checks = (here,) if here in moment.verdicts else step.checks
        return [check for check in checks if not moment.verdicts[check].passes]

    async def _let_pass(self) -> None:
        await self._takes(4000)
        for check in self._open_checks():
            why = self._bench.moment.verdicts[check].reason or "it is asked for again and again"
            await self._bench.override(check, self._bench.moment.job.by, f"asked for without end: {why}"[:300])

    async def _act(self, moment: Moment) -> None:
        step = moment.job.sheet.by_id.get(moment.prompt.step)
        match moment.prompt.kind, step:
            case "confirm", ConfirmStep():
                await self._see_to(step)
            case "note", NoteStep():
                await self._takes(2000)
                await self._bench.note("12480" if step.value == "number" else f"{moment.job.machine}, routine service")
            case "measure", MeasureStep():
                await self._measure(moment, step)
            case "zero", ZeroStep():
                await self._zero(step)
            case "loosen", AdjustStep():
                await self._takes(9000)
                for place in moment.job.sheet.fasteners(step.loosen):
                    self._shop.machine.loosen(self._shop.machine.fastener(place[1]))
                await self._bench.loosened()
            case "turn", AdjustStep():
                await self._turn(moment)
            case "seat", AdjustStep():
                await self._seat()
            case (("torque" | "slacken" | "untouched"), TorqueStep()):
                await self._nut(moment, step)
            case _:
                await self._close()

    async def _close(self) -> None:
        """Close the job; where that is refused although nothing is asked for, leave it open."""
        await self._takes(1500)
        await self._bench.close()
        if not self._bench.moment.job.closed:
            self.prompts = MOST_ACTIONS

    async def _takes(self, ms: int) -> None:
        """Spend time on something; who was sent home meanwhile does not do it."""
        await self._shop.clock.pass_ms(ms)
        if self._control is not None and not await self._control.may_go_on():
            raise SentHomeError

    def _slips(self, what: Slipped) -> bool:
        rate: float = getattr(self._habits, what.replace(" ", "_"))
        slipped = self._rng.random() < rate
        if slipped:
            self.slips.append(Slip(what, self._bench.moment.record.seq))
        return slipped

    # --- confirming and measuring -----------------------------------------------------------------------------------

    async def _see_to(self, step: ConfirmStep) -> None:
        await self._takes(2500)
        if "tightest" in " ".join((step.title, *step.items)).lower():
            self._tightest = feel_for_tightest(self._shop.machine, self._rng)
            self._shop.machine.rotate_to(self._tightest)
        await self._bench.confirm()

    async def _measure(self, moment: Moment, step: MeasureStep) -> None:
        await self._takes(3000)
        prompt = moment.prompt
        self._retakes[prompt.key] += prompt.stays
        if self._retakes[prompt.key] > MOST_RETAKES:
            self.prompts = MOST_ACTIONS
            return
        slipped = bool(prompt.place in ("left", "right") and self._slips("wrong side"))
        self._shop.jaws.mm = between_jaws(self._shop.machine, moment, step, self._tightest, wrong_side=slipped)
        if self._slips("pressed twice"):
            await self._press(self._shop.caliper.press_twice)
        else:
            await self._press(self._pressed)
        if slipped:
            await self._notice("held the gauge to the wrong side")
        elif self._slips("pressed again"):
            await self._takes(400)
            await self._press(self._pressed)
            await self._notice("pressed again by mistake")

    async def _press(self, press: Callable[[], Awaitable[None]]) -> None:
        await self._answers.to(press)

    async def _pressed(self) -> None:
        self._shop.caliper.press()

    async def _zero(self, step: ZeroStep) -> None:
        """Close the jaws, or hold them over the gauge block; dirt between them is wiped off for the next time."""
        await self._takes(2500)
        reference = amount(step.reference, "mm")
        dirt = DIRT_MM if self._slips("dirty jaws") else Decimal(0)
        self._shop.jaws.mm = seen(reference + self._rng.gauss(0, 0.004)) + dirt
        await self._press(self._pressed)

    async def _notice(self, why: str) -> None:
        if self._rng.random() < self._habits.notices and self._bench.moment.job.last_counted:
            await self._takes(1500)
            await self._bench.take_back(why)

    # --- adjusting --------------------------------------------------------------------------------------------------

    async def _turn(self, moment: Moment) -> None:
        plan = moment.plan
        if plan is None or plan.advice is None:
            await self._look_again()
            return
        await self._takes(5000)
        for side, advised in (("left", plan.advice.left), ("right", plan.advice.right)):
            flats = float(advised)
            if advised and self._slips("miscounted flats"):
                flats += self._rng.choice((-1, 1))
            turn_side(self._shop.machine, "left" if side == "left" else "right", flats)
        await self._bench.turned_as_advised()

    async def _look_again(self) -> None:
        """Seat the axle and take back what was read since the last act, so that all of it is measured again."""
        self._shop.machine.seat()
        job = self._bench.moment.job
        acted = max(job.last_turned, *(fastener.pulled for fastener in job.fasteners.values()), 0)
        while self._bench.moment.job.last_counted > acted:
            await self._bench.take_back("the last adjustment went the other way: measuring again")

    async def _seat(self) -> None:
        await self._takes(3000)
        if not self._slips("forgot to seat"):
            self._shop.machine.seat()
        self._shop.machine.snug()
        await self._bench.confirm()

    # --- nuts -------------------------------------------------------------------------------------------------------

    async def _nut(self, moment: Moment, step: TorqueStep) -> None:
        fastener = self._shop.machine.fastener(moment.prompt.place)
        if moment.prompt.kind == "untouched":
            await self._takes(1500)
            await self._bench.confirm()
        elif moment.prompt.kind == "slacken":
            await self._takes(2500)
            self._shop.machine.loosen(fastener)
            await self._bench.loosened()
        else:
            before_last = moment.prompt.number <= min(len(step.passes), moment.prompt.of - 1)
            to = step.passes[moment.prompt.number - 1] if before_last else step
            await self._pull(to, fastener, gain(step.adapter))

    async def _pull(self, to: TorqueStep | TorquePass, fastener: Fastener, gain: float) -> None:
        """Pull a fastener to a window; what the wrench shows is less than it gets by the gain of an adapter."""
        low, high, aim = (amount(each, "N·m") / gain for each in (*to.window, to.aim))
        peak = self._rng.gauss(aim, 0.012 * aim)
        if self._slips("pulled early"):
            peak = low * self._rng.uniform(0.75, 0.96)
        elif self._slips("pulled too far"):
            peak = high * self._rng.uniform(1.02, 1.08)
        target = Decimal(peak).quantize(Decimal("0.01"))
        await self._takes(2500)
        curve = self._shop.machine.pull_curve(fastener, target, self._rng)
        self._shop.machine.tighten(fastener, float(target) * gain)
        await self._press(lambda: self._shop.wrench.pull(curve))
