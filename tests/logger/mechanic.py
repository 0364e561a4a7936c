"""A random mechanic at a random machine: works through a sheet by its prompts, and errs for a while."""

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

from logger import events as ev
from logger.bench import declare
from logger.errors import BadInput
from logger.job.job import before_loosening
from logger.job.rules import FAILS

from .lookback import behind, unfinished_run
from .walk import Walk, asked

LONG = ev.Adapter(wrench="400 mm", extension="80 mm")
ERRING = 80
"""Events during which the mechanic errs."""
MOST = 400
"""No job has more events; from the last mistake on, a whole round is about thirty."""


@dataclass(slots=True)
class Machine:
    """Two sides in steps of a flat; slack falls by 4 mm for each flat that both sides tighten."""

    rng: Random
    slack: float = 0.0
    apart: float = 0.0
    out_of_round: float = 0.0
    tight: set[tuple[str, str]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.slack = self.rng.choice((self.rng.uniform(12, 60), self.rng.uniform(91, 99)))
        self.apart = self.rng.choice((0.0, 0.0, self.rng.uniform(-1.2, 1.2)))
        self.out_of_round = self.rng.uniform(0, 4)

    def turn(self, left: Decimal, right: Decimal) -> None:
        """Move both sides; each flat is a sixth of a millimetre."""
        self.slack = max(6.0, min(99.0, self.slack - 2 * float(left + right)))
        self.apart += float(left - right) / 6

    def nudge(self) -> None:
        """Tightening shifts the axle a little."""
        self.slack += self.rng.uniform(-0.6, 0.6)
        self.apart += self.rng.uniform(-0.05, 0.05)


class Mechanic:
    """Does what the prompt says; errs in many ways as long as he may."""

    def __init__(self, walk: Walk, seed: int) -> None:
        self.walk, self.rng = walk, Random(seed)
        self.machine = Machine(self.rng)
        self.erring = True
        self.torque_asked_while_failing: list[int] = []
        self.broken_runs: list[int] = []
        self.passes_begun_early: list[int] = []

    def work(self) -> None:
        """Go on until the job is closed; the caller bounds the events."""
        while not self.walk.job.closed and len(self.walk.records) < MOST:
            self.erring = len(self.walk.records) < ERRING
            self._watch()
            if self.erring and self.rng.random() < 0.3:
                self._err()
            else:
                self._obey()

    # --- as told ---

    def _obey(self) -> None:
        walk, prompt = self.walk, self.walk.prompt
        match prompt.kind:
            case "measure":
                walk.read(f"{self._value(prompt.place, prompt.part, prompt.step)} mm")
            case "note":
                walk.note("12480")
            case "loosen" | "slacken":
                self._shift()
                walk.confirm()
            case "turn":
                self._turn()
            case "torque":
                self._shift()
                walk.pull(asked(walk))
            case "close":
                walk.close()
            case _:
                walk.confirm()

    def _turn(self) -> None:
        left, right = self._wise_turns()
        if not left and not right:
            self._measure_all_again()
            return
        self.machine.turn(left, right)
        self.walk.turned(str(left), str(right))

    def _measure_all_again(self) -> None:
        """Nothing is wrong with the machine, so a reading must be, and nobody can tell which: take all of them back."""
        job = before_loosening(self.walk.job) or self.walk.job
        since = max(job.disturbed.values(), default=0)
        while self.walk.job.last_counted > since:
            self.walk.back("the machine is right, so a reading must be wrong")

    def _shift(self) -> None:
        if self.erring:
            self.machine.nudge()

    def _value(self, place: str, part: str, step: str) -> Decimal:
        machine = self.machine
        if step == "wear":
            value = 101.8
        elif place in ("left", "right"):
            value = 36 + (machine.apart if place == "left" else 0)
        else:
            value = machine.slack + (machine.out_of_round if place == "opposite" else 0)
            if part:
                value = 200 + value if part == "taut up" else 200
        return Decimal(value).quantize(Decimal("0.01"))

    def _wise_turns(self) -> tuple[Decimal, Decimal]:
        """Whole flats that bring slack near its aim, then the sides together; by the machine, not by the advice."""
        apart = round(self.machine.apart * 6)
        both = round((self.machine.slack - 31) / 4 + apart / 2)
        return Decimal(both - apart), Decimal(both)

    # --- mistakes ---

    def _err(self) -> None:
        deeds: list[Callable[[], object]] = [
            self._wrong_value,
            self._in_inches,
            self._stray_reading,
            self._take_back,
            self._take_back_several,
            self._stray_pull,
            self._odd_pull,
            self._report_loosened,
            self._report_turned,
            self._close_early,
            self._again,
        ]
        if any(step.passes or step.adapter for step in self.walk.sheet.torques):
            deeds += [self._other_adapter, self._unasked_pass, self._unasked_pass]
        if self.rng.random() < 0.06:
            deeds = [self._override]
        try:
            self.rng.choice(deeds)()
        except BadInput:
            return

    def _wrong_value(self) -> None:
        self.walk.read(f"{self.rng.choice((3, 24.9, 40.1, 55, 120))} mm")

    def _in_inches(self) -> None:
        self.walk.read("1.42 in")

    def _stray_reading(self) -> None:
        self.walk.read("33.3 mm", kind=self.rng.choice(("caliper", "torque wrench", "", "tape")))

    def _again(self) -> None:
        self.walk.duplicate("36.0 mm")

    def _take_back(self) -> None:
        self.walk.back("slipped")

    def _take_back_several(self) -> None:
        for _ in range(self.rng.randint(2, 4)):
            self.walk.back("all of it doubtful")

    def _stray_pull(self) -> None:
        self.machine.nudge()
        self.walk.pull(f"{self.rng.choice((12, 21, 40, 98, 140))} N·m", alone=self.rng.random() < 0.3)

    def _odd_pull(self) -> None:
        if self.rng.random() < 0.5:
            self.walk.pull("-30 N·m", anticlockwise=True)
        else:
            self.walk.pull(f"{self.rng.choice((12, 40, 98))} N·m", invalid="a gap of 400 ms in the stream")

    def _other_adapter(self) -> None:
        adapter = self.rng.choice((None, ev.Adapter(wrench="500 mm", extension="60 mm", angle=90), LONG))
        self.walk.say(declare.adapter_declared(self.walk.job, self.walk.prompt, "", adapter))

    def _unasked_pass(self) -> None:
        """A pull that suits some pass, whatever the prompt asks for."""
        self.walk.pull(f"{self.rng.choice((13, 14, 24, 26, 36.2, 40, 43.8))} N·m")

    def _report_loosened(self) -> None:
        self.machine.nudge()
        torques = self.walk.sheet.torques
        names = [f"{step.id}.{slot}" if slot else step.id for step in torques for slot in step.slots]
        self.walk.loosened(self.rng.choice(names))

    def _report_turned(self) -> None:
        left, right = Decimal(self.rng.randint(-2, 2)), Decimal(self.rng.randint(-2, 2))
        self.machine.turn(left, right)
        self.walk.turned(str(left), str(right))

    def _close_early(self) -> None:
        self.walk.close()

    def _override(self) -> None:
        self.walk.override(self.rng.choice(self.walk.sheet.checks))

    # --- what must never be seen ---

    def _watch(self) -> None:
        walk, prompt, seq = self.walk, self.walk.prompt, self.walk.seq
        if prompt.kind == "torque":
            before = walk.sheet.step[: walk.sheet.order[prompt.step]]
            failing = {check for step in before if step.kind != "adjust" for check in step.checks}
            if any(walk.verdicts[check].verdict in FAILS for check in failing):
                self.torque_asked_while_failing.append(seq)
            if prompt.number > 1 and any(done < prompt.number - 1 for done in behind(walk, prompt.step)):
                self.passes_begun_early.append(seq)
        if prompt.kind == "measure" and unfinished_run(walk.job, walk.records):
            self.broken_runs.append(seq)
