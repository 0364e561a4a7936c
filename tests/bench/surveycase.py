"""A machine at random that comes in outside what its sheet asks for, with the slips of the hand that adjusts it."""

from copy import deepcopy
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

from logger.sheets.sheet import Sheet
from simulators.machine import Machine, Run, Side
from tests.logger.walk import sheet_of
from tests.simulators.anymachine import loosened, random_spec

MISCOUNTS, FORGETS_TO_SEAT, WRONG_SIDE, NOTICES = 0.06, 0.08, 0.03, 0.8
"""How often each slip happens, and how often a wrong side is noticed at once: as in the demo."""

SHEET = """
format = 1
id = "survey"
title = "Chain"
revision = "1"
about = "Simulated."
cautions = ["Simulated."]
[drive]
front_teeth = {front}
rear_teeth = {rear}
pitch = "{pitch} mm"
centre = "{centre:.0f} mm"
slack = "slack"
sides = "sides"
thread = "{thread} mm"
adjuster = "pulls"
tighten = "clockwise"
chain_side = "left"
[[step]]
id = "slack"
kind = "measure"
title = "Slack"
tools = ["caliper"]
ask = "Measure."
places = ["tightest", "opposite"]
takes = "difference"
parts = ["taut down", "taut up"]
larger = "taut down"
window = ["{low} mm", "{high} mm"]
aim = "{aim} mm"
governs = "tightest"
recheck = "governing"
method_u = "0.8 mm"
[[step]]
id = "sides"
kind = "measure"
title = "Sides"
tools = ["caliper"]
ask = "Measure."
places = ["left", "right"]
agree_within = "{agree} mm"
grows = "{grows}"
method_u = "0.13 mm"
[[step]]
id = "adjust"
kind = "adjust"
title = "Adjust"
corrects = ["slack", "sides"]
disturbs = ["slack", "sides", "nut"]
loosen = ["nut"]
after = ["Seated"]
[[step]]
id = "nut"
kind = "torque"
title = "Nut"
ask = "Pull."
window = ["90 N·m", "106 N·m"]
aim = "98 N·m"
disturbs = ["slack", "sides"]
witness = "In line"
"""


@dataclass(slots=True)
class Case:
    """One machine with what is asked of it, and how it stood after each adjustment."""

    machine: Machine
    low: float
    high: float
    aim: float
    agree: float
    rng: Random
    tightest: float = 0.0
    stood: list[tuple[bool, bool, bool, bool]] = field(default_factory=list)
    """After each adjustment, in truth: slack inside, all inside; and the same with the nut tight."""

    @classmethod
    def of(cls, seed: int) -> "Case":
        """Draw a machine that comes in wrong."""
        rng = Random(seed)
        while True:
            low, width, agree = rng.randint(20, 30), rng.choice((10, 15)), rng.choice((0.3, 0.5))
            case = cls(Machine(random_spec(rng), rng), low, low + width, low + width / 2, agree, rng)
            if not all(case.inside(case.machine)):
                case.tightest = case._felt()
                return case

    def inside(self, machine: Machine) -> tuple[bool, bool]:
        """Whether the slack is inside in truth, and whether the sides agree as well."""
        slack = self.low <= machine.true_slack(machine.tightest_angle()) <= self.high
        return slack, slack and abs(machine.apart_mm) <= self.agree

    def _felt(self) -> float:
        start = self.rng.uniform(0, 15)
        return min(
            (start + 15 * step for step in range(72)),
            key=lambda at: self._run("taut down", at) - self._run("taut up", at),
        )

    def _run(self, run: Run, angle: float) -> Decimal:
        return self.machine.read_run(run, angle).quantize(Decimal("0.01"))

    def position(self, part: str, place: str = "tightest") -> Decimal:
        """Where the run is read, taut down or taut up."""
        return self._run(
            "taut down" if part == "taut down" else "taut up", self.tightest + (180 if place == "opposite" else 0)
        )

    def slips(self, share: float) -> bool:
        """Whether a slip happens now."""
        return self.rng.random() < share

    def adjust(self, flats: dict[Side, float]) -> None:
        """Loosen all, turn both sides as a hand does, seat, snug; and see how the machine stands."""
        machine = loosened(self.machine)
        for side, count in flats.items():
            went = count + (self.rng.choice((-1, 1)) if count and self.slips(MISCOUNTS) else 0)
            if went < 0:  # out one more, seated, and back in
                machine.turn(side, went - 1)
                machine.seat()
                went = 1
            machine.turn(side, went)
        if not self.slips(FORGETS_TO_SEAT):
            machine.seat()
        machine.snug()
        tight = deepcopy(machine)
        tight.tighten("axle", 98.0)
        self.stood.append((*self.inside(machine), *self.inside(tight)))


def survey_sheet(case: Case) -> Sheet:
    spec = case.machine.spec
    text = SHEET.format(
        front=spec.front,
        rear=spec.rear,
        pitch=spec.pitch_mm,
        centre=case.machine.centre_mm + case.rng.gauss(0, 2),
        thread=spec.thread_mm,
        grows=spec.grows,
        low=case.low,
        high=case.high,
        aim=case.aim,
        agree=case.agree,
    )
    return sheet_of(text)
