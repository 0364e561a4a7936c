"""An independent look at the events of a walk: whether what passed may pass, told without the rules."""

import math
from collections.abc import Callable
from decimal import Decimal

from logger import events as ev
from logger.job.facts import Job
from logger.job.rules import FAILS, judge
from logger.sheets.sheet import AdjustStep, ConfirmStep, MeasureStep, TorqueStep, check_id

from .walk import Walk


def unfinished_run(job: Job, records: list[ev.Record]) -> bool:
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


def check_closed(walk: Walk) -> None:
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


def behind(walk: Walk, step_id: str) -> list[int]:
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
