"""What to prompt next: derived from the events each time, never stored."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from .job import Job, Place, open_attempt
from .rules import FAILS, WANTS, Judged, current, judge, value_at
from .sheet import AdjustStep, ConfirmStep, MeasureStep, NoteStep, TorqueStep, check_id

PromptKind = Literal[
    "confirm",  # see to the items and confirm them
    "note",  # write something down
    "measure",  # take one reading
    "loosen",  # adjust, first: loosen what holds the adjusters
    "turn",  # adjust, then: turn the adjusters as advised
    "seat",  # adjust, last: seat the axle and snug the nut
    "untouched",  # a fastener nobody loosened: confirm its witness mark, or loosen it
    "torque",  # pull one fastener into its window
    "slacken",  # a fastener that is over its window, or tight and disturbed: loosen it
    "close",  # everything passes: close the job
    "closed",
]


@dataclass(frozen=True, slots=True)
class Prompt:
    """One thing to do now."""

    kind: PromptKind
    step: str = ""
    place: str = ""
    """The place of a measure step, or the fastener of a torque step."""
    part: str = ""
    """The half of a difference to take now."""
    number: int = 1
    of: int = 1
    """Which reading of the attempt this is."""
    stays: bool = False
    """A failing measure that no later adjustment corrects: take it again, replace the part, or override."""

    @property
    def key(self) -> str:
        """A short text that names this prompt on the trail, such as `measure:slack.tightest/taut down`."""
        target = check_id(self.step, self.place)
        return f"{self.kind}:{target}" + (f"/{self.part}" if self.part else "")


Verdicts = Mapping[str, Judged]


def next_prompt(job: Job, verdicts: Verdicts | None = None) -> Prompt:
    """Return the one thing to do now; `verdicts` saves judging twice."""
    if job.closed:
        return Prompt("closed")
    verdicts = judge(job) if verdicts is None else verdicts
    return _to_seat(job) or _begun_run(job, verdicts) or _walk(job, verdicts)


def _to_seat(job: Job) -> Prompt | None:
    for step in job.sheet.adjusts:
        if job.turned(step.id) > job.seated.get(step.id, 0):
            return Prompt("seat", step.id)
    return None


def torque_runs(job: Job) -> tuple[tuple[TorqueStep, ...], ...]:
    """Return the runs of consecutive torque steps of the sheet."""
    runs = groupby(job.sheet.step, key=lambda step: isinstance(step, TorqueStep))
    return tuple(tuple(step for step in run if isinstance(step, TorqueStep)) for torque, run in runs if torque)


def _begun_run(job: Job, verdicts: Verdicts) -> Prompt | None:
    """Finish a run of torque steps that was begun since the last loosening or adjustment, before re-measuring."""
    since = max(job.loosened, job.last_turned)
    for run in torque_runs(job):
        begun = any(job.fastener((step.id, slot)).pulled > since for step in run for slot in step.slots)
        if begun and not _fails_before(job, verdicts, run[0].id):
            for step in run:
                prompt = _torque(job, step, verdicts)
                if prompt is not None:
                    return prompt
    return None


def _fails_before(job: Job, verdicts: Verdicts, step_id: str) -> bool:
    before = job.sheet.step[: job.sheet.order[step_id]]
    return any(verdicts[check].verdict in FAILS for step in before for check in _checks(step))


def _checks(step: object) -> tuple[str, ...]:
    return () if isinstance(step, AdjustStep) or not hasattr(step, "checks") else tuple(step.checks)


def _walk(job: Job, verdicts: Verdicts) -> Prompt:
    for step in job.sheet.step:
        prompt = None
        match step:
            case ConfirmStep() | NoteStep():
                wanted = verdicts[step.id].verdict in WANTS
                prompt = Prompt(step.kind, step.id) if wanted else None
            case MeasureStep():
                prompt = _measure(job, step, verdicts)
            case AdjustStep():
                prompt = _adjust(job, step, verdicts)
            case TorqueStep():
                prompt = _torque(job, step, verdicts)
        if prompt is not None:
            return prompt
    return Prompt("close")


# --- measure --------------------------------------------------------------------------------------------------------


def _measure(job: Job, step: MeasureStep, verdicts: Verdicts) -> Prompt | None:
    later = later_round(job, step, verdicts)
    for slot in step.slots:
        verdict = place_verdict(step, slot, verdicts, job)
        if verdict not in WANTS:
            continue
        if verdict == "stale" and later and slot != step.governs:
            continue
        return reading_prompt(job, step, slot)
    if step.agree_within is not None and verdicts[f"{step.id}.agreement"].verdict in WANTS and not later:
        return reading_prompt(job, step, step.slots[0])
    failing = [check for check in step.checks if verdicts[check].verdict in FAILS]
    if failing and not corrected_later(job, step):
        return reading_prompt(job, step, _failing_slot(step, failing), stays=True)
    return None


def place_verdict(step: MeasureStep, slot: str, verdicts: Verdicts, job: Job) -> str:
    """Return the verdict that says whether a place wants a reading; a pair without a window has no check a place."""
    check = check_id(step.id, slot)
    if check in verdicts:
        judged = verdicts[check]
        return judged.verdict
    agreement = verdicts[f"{step.id}.agreement"]
    if agreement.verdict not in WANTS:
        return agreement.verdict
    return value_at(job, step, slot).verdict


def later_round(job: Job, step: MeasureStep, verdicts: Verdicts) -> bool:
    """Whether only the governing place is read now: a later torque that disturbs this step is still to come."""
    if step.recheck != "governing":
        return False
    return any(
        not verdicts[check].passes
        for torque in job.sheet.torques
        if step.id in torque.disturbs
        for check in torque.checks
    )


def corrected_later(job: Job, step: MeasureStep) -> bool:
    """Whether an adjust step further on corrects this one."""
    here = job.sheet.order[step.id]
    return any(step.id in adjust.corrects and job.sheet.order[adjust.id] > here for adjust in job.sheet.adjusts)


def _failing_slot(step: MeasureStep, failing: list[str]) -> str:
    return next((slot for slot in step.slots if check_id(step.id, slot) in failing), step.slots[0])


def reading_prompt(job: Job, step: MeasureStep, slot: str, *, stays: bool = False) -> Prompt:
    """Return the prompt for the next reading at one place."""
    attempt = current(job, (step.id, slot))
    disturbed = job.disturbed.get(step.id, 0)
    begun = len(attempt.live) if attempt is not None and open_attempt(step, attempt, disturbed) else 0
    part = step.parts[begun % 2] if step.takes == "difference" else ""
    return Prompt("measure", step.id, slot, part, begun + 1, step.set_size, stays)


# --- adjust and torque ----------------------------------------------------------------------------------------------


def _adjust(job: Job, step: AdjustStep, verdicts: Verdicts) -> Prompt | None:
    corrected = [check for each in step.corrects for check in _checks(job.sheet.by_id[each])]
    if not any(verdicts[check].verdict in FAILS for check in corrected):
        return None
    if all(job.fastener(place).is_loose for place in job.sheet.fasteners(step.loosen)):
        return Prompt("turn", step.id)
    return Prompt("loosen", step.id)


def _torque(job: Job, step: TorqueStep, verdicts: Verdicts) -> Prompt | None:
    for slot in step.slots:
        judged = verdicts[check_id(step.id, slot)]
        if judged.passes:
            continue
        place: Place = (step.id, slot)
        fastener = job.fastener(place)
        if judged.verdict == "high" or _tight_but_disturbed(job, place):
            return Prompt("slacken", step.id, slot)
        if not fastener.loosened:
            return Prompt("slacken" if fastener.pulls else "untouched", step.id, slot)
        return Prompt("torque", step.id, slot)
    return None


def _tight_but_disturbed(job: Job, place: Place) -> bool:
    fastener = job.fastener(place)
    disturbed = job.disturbed.get(place[0], 0)
    return fastener.loosened > 0 and any(fastener.loosened < pull.seq < disturbed for pull in fastener.pulls)
