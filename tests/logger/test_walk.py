"""Random mechanics and machines walk three sheets: a job ends, closes on nothing stale, replays as it happened."""

import dataclasses
import functools
import math
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

import pytest

from logger import events as ev
from logger.bench import declare
from logger.errors import BadInput
from logger.job.facts import Job
from logger.job.job import apply, before_loosening, opened
from logger.job.prompt import next_prompt
from logger.job.rules import FAILS, judge
from logger.sheets.sheet import AdjustStep, ConfirmStep, MeasureStep, TorqueStep, check_id

from .walk import SMALL, Walk, asked, bolted, described, sheet_of, shipped

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
            if prompt.number > 1 and any(behind < prompt.number - 1 for behind in _behind(walk, prompt.step)):
                self.passes_begun_early.append(seq)
        if prompt.kind == "measure" and _unfinished_run(walk.job, walk.records):
            self.broken_runs.append(seq)


# --- an independent look at the events ------------------------------------------------------------------------------


def _unfinished_run(job: Job, records: list[ev.Record]) -> bool:
    """Whether an asked pull was the last act, its run is not finished, and nothing before the run fails."""
    acts = (ev.PullTaken, ev.Loosened, ev.Turned)
    last = next((record.event for record in reversed(records) if isinstance(record.event, acts)), None)
    if not isinstance(last, ev.PullTaken) or last.answers is None or last.invalid:
        return False
    verdicts, order = judge(job), job.sheet.order
    first = min(order[torque.id] for torque in job.sheet.torques)
    earlier = [check for step in job.sheet.step[:first] if step.kind != "adjust" for check in step.checks]
    if any(verdicts[check].verdict in FAILS for check in earlier):
        return False
    return any(not verdicts[check].passes for torque in job.sheet.torques for check in torque.checks)


def _last_disturbance(records: list[ev.Record], walk: Walk, step_id: str) -> int:
    """The last event that touches a step's standing, worked out from the events and the sheet alone."""
    last = 0
    for record in records:
        event, moved = record.event, list[str]()
        if isinstance(event, ev.Turned):
            step = walk.sheet.by_id[event.step]
            last = record.seq if isinstance(step, AdjustStep) and step_id in step.disturbs else last
        if isinstance(event, ev.PullTaken):
            meant = event.answers or event.touches
            moved = [meant.step] if meant else [torque.id for torque in walk.sheet.torques]
            last = record.seq if meant is None and step_id in moved else last
        if isinstance(event, ev.Loosened):
            moved = [name.partition(".")[0] for name in event.fasteners]
        for name in moved:
            torque, target = walk.sheet.by_id[name], walk.sheet.by_id[step_id]
            locks = isinstance(target, ConfirmStep) and name in target.locks
            if isinstance(torque, TorqueStep) and (step_id in torque.disturbs or locks):
                last = record.seq
    return last


def _withdrawn(walk: Walk) -> set[int]:
    """Every reading or pull taken back; of a difference the other half of its pair too, that is its neighbour."""
    gone: set[int] = set()
    for record in walk.records:
        if isinstance(record.event, ev.TakenBack):
            gone |= {record.event.of} | _other_half(walk, record.event.of, record.seq, gone)
    return gone


def _other_half(walk: Walk, of: int, before: int, gone: set[int]) -> set[int]:
    event = walk.records[of - 1].event
    if not isinstance(event, ev.ReadingTaken) or event.answers is None or not event.answers.part:
        return set()
    step, slot = walk.sheet.by_id[event.answers.step], event.answers
    assert isinstance(step, MeasureStep)
    alike = [seq for seq, _ in _counted(walk, slot.step, slot.place) if seq < before and seq not in gone]
    at = alike.index(of)
    if slot.part == step.parts[1]:
        return {alike[at - 1]}
    following = alike[at + 1 : at + 2]
    return {seq for seq in following if _part(walk, seq) == step.parts[1]}


def _part(walk: Walk, seq: int) -> str:
    event = walk.records[seq - 1].event
    return event.answers.part if isinstance(event, ev.ReadingTaken) and event.answers else ""


def _counted(walk: Walk, step: str, place: str) -> list[tuple[int, ev.ReadingTaken]]:
    return [
        (record.seq, record.event)
        for record in walk.records
        if isinstance(record.event, ev.ReadingTaken)
        and record.event.answers is not None
        and (record.event.answers.step, record.event.answers.place) == (step, place)
    ]


def _check_closed(walk: Walk) -> None:
    """Hold every passing check of a closed job against the events, without the rules."""
    closing = walk.last
    assert isinstance(closing, ev.JobClosed)
    gone = _withdrawn(walk)
    for step in walk.sheet.step:
        for check in () if step.kind == "adjust" else step.checks:
            verdict, disturbed = closing.verdicts[check], _last_disturbance(walk.records, walk, step.id)
            if verdict == "overridden":
                _check_overridden(walk, step.id, check, disturbed)
            elif isinstance(step, MeasureStep):
                assert verdict == "inside"
                _check_measured(walk, step, check, disturbed, gone)
            elif isinstance(step, TorqueStep):
                _check_fastener(walk, step, check, disturbed, gone)
            else:
                assert verdict == "done"
                assert _last_said(walk.records, step.id) > disturbed, f"{check} was closed on what was disturbed"


def _check_overridden(walk: Walk, step: str, check: str, disturbed: int) -> None:
    """An override is younger than every act and every counted reading on its check."""
    said = [r.seq for r in walk.records if isinstance(r.event, ev.Overridden) and r.event.check == check]
    place = check.partition(".")[2]
    places = ("left", "right") if place == "agreement" else (place,)
    read = [seq for each in places for seq, _ in _counted(walk, step, each)]
    assert said, f"{check} was never overridden"
    assert said[-1] > max([disturbed, *read]), f"the override of {check} had ended"


def _last_said(records: list[ev.Record], step_id: str) -> int:
    said = (ev.Confirmed, ev.Noted)
    return max(record.seq for record in records if isinstance(record.event, said) and record.event.step == step_id)


def _check_measured(walk: Walk, step: MeasureStep, check: str, disturbed: int, gone: set[int]) -> None:
    """Each place has its newest live readings after the last act, and their value lies in the window."""
    places = step.slots if check.endswith(".agreement") else (check.partition(".")[2],)
    values = []
    for place in places:
        taken = [event for seq, event in _counted(walk, step.id, place) if seq > disturbed and seq not in gone]
        assert len(taken) >= step.set_size, f"{check} was closed with nothing read since event {disturbed}"
        newest = [Decimal(event.value) * (1 if event.unit == "mm" else Decimal("25.4")) for event in taken]
        values.append(newest[-1] - newest[-2] if step.takes == "difference" else newest[-1])
        assert len({event.unit for event in taken[-step.set_size :]}) == 1
    if check.endswith(".agreement"):
        assert step.agree_within is not None
        assert abs(values[0] - values[1]) <= step.agree_within.value
    elif step.window is not None:
        assert step.window[0].value <= values[0] <= step.window[1].value


def _check_fastener(walk: Walk, step: TorqueStep, check: str, disturbed: int, gone: set[int]) -> None:
    """A fastener was left alone, or one asked pull took it into its window from loose; nothing went above or undid it.

    With passes one asked pull took it through each. Only peaks in N·m are pulled in these walks, and the windows of
    the sheets are in N·m.
    """
    place = check.partition(".")[2]
    loosened, pulls, undone = _pulls_on(walk, step, place)
    held = _held(step, pulls)
    if not loosened:
        left = _newest(walk, lambda e: isinstance(e, ev.Untouched) and (e.step, e.place) == (step.id, place))
        assert left > max([disturbed, undone, *(seq for seq, _ in pulls)]), f"{check} was touched after all"
        assert not held
        return
    assert len(held) == len(step.passes) + 1, f"{check} was closed before its last pass"
    for seq, pull in held:
        assert pull.answers is not None
        assert not pull.invalid
        assert seq not in gone, f"{check} was closed on a pull taken back"
    assert held[0][0] > max(disturbed, undone), f"{check} was undone after it was torqued"
    if walk.sheet.decision == "guarded":
        _check_guarded(step, _peak(held[-1][1]))


def _check_guarded(step: TorqueStep, peak: float) -> None:
    """Drawn in by U = 2 u of a wrench of 1 % of the true torque that counts in 0.1 N·m, worked out beside the rules."""
    half_width = peak * (1 / 0.99 - 1 / 1.01) / 2
    expanded = 2 * math.sqrt(half_width**2 / 3 + 0.1**2 / 12)
    assert float(step.window[0].value) + expanded - 1e-3 <= peak <= float(step.window[1].value) - expanded + 1e-3


def _windows(step: TorqueStep) -> list[tuple[float, float]]:
    windows = [*(each.window for each in step.passes), step.window]
    return [(float(low.value), float(high.value)) for low, high in windows]


def _pulls_on(walk: Walk, step: TorqueStep, place: str) -> tuple[int, list[tuple[int, ev.PullTaken]], int]:
    """When a fastener was last loosened, the clockwise pulls on it since, and the last anticlockwise one."""
    names = {check_id(step.id, place), step.id}
    loosened = _newest(walk, lambda e: isinstance(e, ev.Loosened) and bool(names & set(e.fasteners)))
    all_on_it = [
        (record.seq, record.event)
        for record in walk.records
        if isinstance(record.event, ev.PullTaken)
        and (meant := record.event.answers or record.event.touches) is not None
        and (meant.step, meant.place) == (step.id, place)
        and record.seq > loosened
    ]
    pulls = [(seq, pull) for seq, pull in all_on_it if pull.direction == "clockwise"]
    return loosened, pulls, max((seq for seq, pull in all_on_it if pull.direction == "anticlockwise"), default=0)


def _held(step: TorqueStep, pulls: list[tuple[int, ev.PullTaken]]) -> list[tuple[int, ev.PullTaken]]:
    """The pull that took a fastener through each pass, one after the other; none may go above the window of its own."""
    held: list[tuple[int, ev.PullTaken]] = []
    windows = _windows(step)
    for seq, pull in pulls:
        low, high = windows[min(len(held), len(windows) - 1)]
        assert _peak(pull) <= high, f"{step.id}: a pull above its window"
        if len(held) < len(windows) and _peak(pull) >= low:
            held.append((seq, pull))
    return held


def _behind(walk: Walk, step_id: str) -> list[int]:
    """How many passes each fastener is through that is still to be pulled."""
    step, verdicts = walk.sheet.by_id[step_id], walk.verdicts
    assert isinstance(step, TorqueStep)
    left = [slot for slot in step.slots if not verdicts[check_id(step_id, slot)].passes]
    return [len(_held(step, _pulls_on(walk, step, slot)[1])) for slot in left]


def _newest(walk: Walk, wanted: Callable[[ev.Event], bool]) -> int:
    return max((record.seq for record in walk.records if wanted(record.event)), default=0)


def _peak(pull: ev.PullTaken) -> float:
    """The torque at the fastener: with an adapter, by the moment of the hand's force about it."""
    peak = float(pull.own_peak or pull.host_peak or "0")
    if pull.adapter is None:
        return peak
    length, more = (float(text.split()[0]) for text in (pull.adapter.wrench, pull.adapter.extension))
    force = peak / length
    return force * (length + more * math.cos(math.radians(pull.adapter.angle)))


# --- the properties -------------------------------------------------------------------------------------------------

SEEDS = range(int(os.environ.get("EVENHAND_WALKS", "18")))
"""How many walks of each kind; more by the environment, as EVENHAND_WALKS=500."""
NAMES = ("shipped", "small", "bolted")
WALKS = [pytest.param(name, seed, id=f"{name}-{seed}") for name in NAMES for seed in SEEDS]


def _bolted(seed: int) -> str:
    """A sheet with passes, an adapter and a guarded decision, each or none."""
    rng = Random(f"sheet {seed}")
    return bolted(
        fasteners=rng.randint(1, 4),
        passes=rng.randint(0, 2),
        adapter=rng.choice(("", "400 mm, 40 mm, 0", "400 mm, 40 mm, 45", "300 mm, 25 mm, 135")),
        decision=rng.choice(("simple", "guarded")),
    )


def _begun(name: str, seed: int) -> Walk:
    if name == "bolted":
        caliper = described("C1", "caliper", accuracy="0.02 mm", resolution="0.01 mm")
        return Walk(sheet_of(_bolted(seed))).say(described()).say(caliper)
    return Walk(shipped() if name == "shipped" else sheet_of(SMALL))


@functools.cache
def _walked(name: str, seed: int) -> Mechanic:
    walk = _begun(name, seed)
    mechanic = Mechanic(walk, seed)
    mechanic.work()
    return mechanic


@pytest.mark.parametrize(("name", "seed"), WALKS)
def test_any_walk_ends_clean_and_replays(name: str, seed: int) -> None:
    mechanic = _walked(name, seed)
    walk = mechanic.walk
    assert walk.job.closed, f"still at {walk.key} after {len(walk.records)} events"
    _check_closed(walk)
    assert mechanic.torque_asked_while_failing == []
    assert mechanic.broken_runs == []
    assert mechanic.passes_begun_early == []


@pytest.mark.parametrize(("name", "seed"), WALKS[::9])
def test_replay_from_the_recorded_bytes_is_the_same_at_every_prefix(name: str, seed: int) -> None:
    walk = _walked(name, seed).walk
    live = Walk(walk.sheet)
    job = opened(walk.records[0], walk.sheet)
    for record in walk.records[1:]:
        stored = ev.Record.model_validate_json(record.model_dump_json())
        assert stored == record
        job, live = apply(job, stored), live.say(record.event)
        assert job == dataclasses.replace(live.job, seq=record.seq)
        assert next_prompt(job) == live.prompt
    assert job == walk.job


@pytest.mark.parametrize(("name", "seed"), WALKS[::6])
def test_taking_back_never_undoes_an_act(name: str, seed: int) -> None:
    """What is disturbed, loosened, turned or pulled never grows younger or fewer, whatever is taken back."""
    walk = _walked(name, seed).walk
    job = opened(walk.records[0], walk.sheet)
    for record in walk.records[1:]:
        after = apply(job, record)
        if isinstance(record.event, ev.TakenBack):
            assert (after.disturbed, after.turns, after.loosened) == (job.disturbed, job.turns, job.loosened)
            assert {p: len(f.pulls) for p, f in after.fasteners.items()} == {
                p: len(f.pulls) for p, f in job.fasteners.items()
            }
        assert all(after.disturbed[step] >= seq for step, seq in job.disturbed.items())
        job = after


def test_the_walks_meet_what_they_are_meant_to_meet() -> None:
    """The random mechanics do reach the corners; without this the properties above could hold for want of trying."""
    wanted = {"taken_back", "overridden", "close_refused", "untouched", "turned", "loosened", "pull_taken"}
    wanted |= {"high", "low", "stale", "uneven", "done", "slacken", "seat", "loosen"}
    for seed in range(60):
        walk = _walked(NAMES[seed % len(NAMES)], seed).walk
        wanted -= {record.event.kind for record in walk.records}
        job = opened(walk.records[0], walk.sheet)
        for record in walk.records[1:]:
            job = apply(job, record)
            wanted -= {judged.verdict for judged in judge(job).values()} | {next_prompt(job).kind}
        if not wanted:
            break
    assert not wanted
