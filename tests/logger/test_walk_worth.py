"""Random mechanics on a guarded sheet with zero checks and known tools: a job ends, and closes on nothing doubtful."""

import math
from collections.abc import Mapping
from decimal import Decimal

import pytest

from logger import events as ev
from logger.job.job import apply, current, opened
from logger.job.prompt import next_prompt
from logger.job.rules import Judged, judge, values_of
from logger.job.zeroed import suspected
from logger.sheets.sheet import MeasureStep

from .mechanic import ERRING, MOST, Mechanic
from .walk import SMALL, Walk, described, sheet_of

ZERO = """
[[step]]
id = "{id}"
kind = "zero"
title = "{id}"
tools = ["caliper"]
ask = "Close the jaws and read."
reference = "0 mm"
within = "0.02 mm"
every = 9
"""


def _sheet(decision: str) -> str:
    """The small sheet with a method, zero checks before, between and at the end, and a difference for its sag."""
    difference = 'takes = "difference"\nparts = ["taut down", "taut up"]\nlarger = "taut up"\nmethod_u = "0.8 mm"\n'
    text = SMALL.replace('about = "', f'decision = "{decision}"\nabout = "')
    text = text.replace('window = ["25 mm", "40 mm"]', f'{difference}window = ["25 mm", "40 mm"]')
    text = text.replace('agree_within = "0.5 mm"', 'agree_within = "0.5 mm"\nmethod_u = "0.1 mm"')
    for step in ("gap", "adjust"):
        text = text.replace(f'[[step]]\nid = "{step}"', ZERO.format(id=f"zero_{step}") + f'[[step]]\nid = "{step}"')
    return text + ZERO.format(id="zero_end")


class Careful(Mechanic):
    """As clumsy as the others; the caliper may be off zero or out of battery as long as he errs."""

    def _obey(self) -> None:
        if self.walk.prompt.kind == "zero":
            off = self.erring and self.rng.random() < 0.3
            self.walk.read("0.07 mm" if off else "0.01 mm")
            return
        if not self.erring and self.walk.job.batteries.get("C1", 90) < 20:
            self._battery(90)
        super()._obey()

    def _err(self) -> None:
        if self.rng.random() < 0.05:
            self._battery(self.rng.choice((3, 12, 90)))
        super()._err()

    def _battery(self, level: int) -> None:
        self.walk.say(ev.ToolSeen(tool="C1", tool_kind="caliper", link="ready", battery=level))


def _walked(decision: str, seed: int) -> Walk:
    walk = Walk(sheet_of(_sheet(decision)))
    walk.say(described("C1", "caliper", accuracy="0.03 mm", resolution="0.01 mm", calibration_u="0.02 mm"))
    walk.say(described())
    Careful(walk, seed).work()
    return walk


WALKS = [pytest.param(kind, seed, id=f"{kind}-{seed}") for kind in ("guarded", "simple") for seed in range(12)]


@pytest.mark.parametrize(("decision", "seed"), WALKS)
def test_any_walk_ends_on_what_nothing_stands_against(decision: str, seed: int) -> None:
    walk = _walked(decision, seed)
    assert walk.job.closed, f"still at {walk.key} after {len(walk.records)} events"
    assert ERRING < MOST
    assert suspected(walk.job) is None
    verdicts = judge(walk.job)
    for step in walk.sheet.step:
        if isinstance(step, MeasureStep):
            _check_place(walk, step, verdicts, guarded=decision == "guarded")
        elif step.kind == "zero" and verdicts[step.id].verdict != "overridden":
            assert abs(_newest(walk, step.id)) <= Decimal("0.02")


def _newest(walk: Walk, zero: str) -> Decimal:
    """The last reading of a zero check that was not taken back, in mm, from the events alone."""
    gone = {record.event.of for record in walk.records if isinstance(record.event, ev.TakenBack)}
    readings = [
        record.event
        for record in walk.records
        if isinstance(record.event, ev.ReadingTaken)
        and record.event.answers is not None
        and record.event.answers.step == zero
        and record.seq not in gone
    ]
    return Decimal(readings[-1].value) * (1 if readings[-1].unit == "mm" else Decimal("25.4"))


def _check_place(walk: Walk, step: MeasureStep, verdicts: Mapping[str, Judged], *, guarded: bool) -> None:
    """A check that passed rests on sound readings, at most one further repeat, and on U where the rule guards.

    U by hand: one caliper, so that only two roundings of 0.01 mm and the method are left of a difference.
    """
    values: list[Decimal] = []
    for slot in step.slots:
        attempt = current(walk.job.attempts[step.id, slot])
        assert attempt is not None
        halves = 2 if step.takes == "difference" else 1
        assert len(attempt.live) <= step.set_size + halves
        passed = {verdicts[check].verdict for check in step.checks}
        if "overridden" in passed:
            return
        assert not {each.seq for each in attempt.live} & set(walk.job.suspect)
        assert all(each.battery is None or each.battery > 5 for each in attempt.live)
        found = values_of(step, attempt.live)
        (unit,) = attempt.units
        values.append(sum(found, Decimal(0)) / len(found) * (1 if unit == "mm" else Decimal("25.4")))
    method = 0.8 if step.takes == "difference" else 0.1
    room = 2 * math.sqrt(method**2 + 2 * 0.01**2 / 12) if guarded else 0.0
    if step.agree_within is not None:
        assert abs(values[0] - values[1]) <= float(step.agree_within.value) - room + 1e-9
    elif step.window is not None:
        low, high = (float(limit.value) for limit in step.window)
        assert low + room - 1e-9 <= float(values[0]) <= high - room + 1e-9


@pytest.mark.parametrize(("decision", "seed"), WALKS[::9])
def test_it_replays_to_the_same_verdicts_at_every_event(decision: str, seed: int) -> None:
    walk = _walked(decision, seed)
    job = opened(walk.records[0], walk.sheet)
    for record in walk.records[1:]:
        job = apply(job, ev.Record.model_validate_json(record.model_dump_json()))
    assert (job, judge(job), next_prompt(job)) == (walk.job, walk.verdicts, walk.prompt)


def test_the_walks_meet_what_they_are_meant_to_meet() -> None:
    """Without this the properties above could hold for want of trying."""
    seen: set[str] = set()
    for param in WALKS[::2]:
        walk = _walked(*param.values)  # type: ignore[arg-type]
        job = opened(walk.records[0], walk.sheet)
        for record in walk.records[1:]:
            job = apply(job, record)
            prompt, verdicts = next_prompt(job), judge(job)
            seen |= {judged.verdict for judged in verdicts.values()} | {prompt.kind}
            seen |= {word for each in verdicts.values() for word in REASONS if word in each.reason}
            seen |= {"more"} if prompt.more else set()
            seen |= {"suspected"} if record.event.kind == "suspected" else set()
    assert {"unsure", "more", "zero", "suspected", *REASONS} <= seen


REASONS = ("battery", "zero check of C1 failed", "changed from", "due after 9", "used since", "not plausible")
