"""What to prompt next: derived from the events each time, never stored."""

from logger.sheets.sheet import AdjustStep, AnyStep, ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep, check_id

from .facts import Attempt, Job
from .job import before_loosening, current, open_attempt
from .prompted import Prompt, PromptKind, Verdicts, checks_of, fails_before
from .rules import FAILS, WANTS, is_whole, judge, value_at
from .torqueprompt import begun_run, torque_runs
from .torqueprompt import wanted as torque_wanted

__all__ = [
    "ROUNDS_UNREAD",
    "Prompt",
    "PromptKind",
    "Verdicts",
    "corrected_later",
    "later_round",
    "next_prompt",
    "place_verdict",
    "reading_prompt",
    "torque_runs",
]

ROUNDS_UNREAD = 2
"""After so many turnings every place is read again, also those that do not govern: advice rests on them too."""


def next_prompt(job: Job, verdicts: Verdicts | None = None) -> Prompt:
    """Return the one thing to do now; `verdicts` saves judging twice."""
    if job.closed:
        return Prompt("closed")
    verdicts = judge(job) if verdicts is None else verdicts
    first = _to_seat(job) or begun_run(job, verdicts) or _failed_zero(job, verdicts) or _to_turn(job)
    return first or _walk(job, verdicts)


def _to_seat(job: Job) -> Prompt | None:
    for step in job.sheet.adjusts:
        if job.turned(step.id) > job.seated.get(step.id, 0):
            return Prompt("seat", step.id)
    return None


def _to_turn(job: Job) -> Prompt | None:
    """Go on with an adjustment once its fasteners are loosened: what called for it need not be read again first."""
    before = before_loosening(job)
    prompt = None if before is None else _walk(before, judge(before))
    return prompt if prompt is not None and prompt.kind in ("loosen", "turn") else None


def _walk(job: Job, verdicts: Verdicts) -> Prompt:
    """Walk the steps in sheet order to the first that wants something."""
    prompts = (_wanted(job, step, verdicts) for step in job.sheet.step)
    return next((prompt for prompt in prompts if prompt is not None), Prompt("close"))


def _wanted(job: Job, step: AnyStep, verdicts: Verdicts) -> Prompt | None:
    match step:
        case ConfirmStep() | NoteStep():
            return Prompt(step.kind, step.id) if verdicts[step.id].verdict in WANTS else None
        case ZeroStep():
            return _zero(job, step, verdicts)
        case MeasureStep():
            return _measure(job, step, verdicts)
        case AdjustStep():
            return _adjust(job, step, verdicts)
        case TorqueStep():
            return None if fails_before(job, verdicts, step) else torque_wanted(job, step, verdicts)


# --- zero -----------------------------------------------------------------------------------------------------------


def _failed_zero(job: Job, verdicts: Verdicts) -> Prompt | None:
    """See to a tool that failed its zero check before anything else is measured with it."""
    failed = (step for step in job.sheet.zeros if verdicts[step.id].verdict in FAILS)
    return next((Prompt("zero", step.id, stays=True) for step in failed), None)


def _zero(job: Job, step: ZeroStep, verdicts: Verdicts) -> Prompt | None:
    """Ask for a zero check that is wanted; one that became due is left until a value that was begun is whole."""
    judged = verdicts[step.id]
    if judged.verdict not in WANTS or (judged.attempts and _begun_value(job, verdicts)):
        return None
    return Prompt("zero", step.id)


def _begun_value(job: Job, verdicts: Verdicts) -> bool:
    """Whether some place that still wants a reading has part of its value."""
    return any(
        place_verdict(job, step, slot, verdicts) in WANTS and reading_prompt(job, step, slot).number > 1
        for step in job.sheet.step
        if isinstance(step, MeasureStep)
        for slot in step.slots
    )


# --- measure --------------------------------------------------------------------------------------------------------


def _measure(job: Job, step: MeasureStep, verdicts: Verdicts) -> Prompt | None:
    governing_only = later_round(job, step, verdicts)
    for slot in step.slots:
        verdict = place_verdict(job, step, slot, verdicts)
        left_for_later = verdict == "stale" and governing_only and slot != step.governs
        if verdict in WANTS and not (left_for_later and _known_well_enough(job, step, slot)):
            return reading_prompt(job, step, slot)
    if step.agree_within is not None and verdicts[f"{step.id}.agreement"].verdict in WANTS:
        return reading_prompt(job, step, _older(job, step))
    further = next((slot for slot in step.slots if _repeat_serves(job, step, slot, verdicts)), None)
    if further is not None:
        return reading_prompt(job, step, further, more=True)
    failing = [check for check in step.checks if verdicts[check].verdict in FAILS]
    if failing and not corrected_later(job, step):
        return reading_prompt(job, step, _failing_slot(job, step, failing), stays=True)
    return None


def _known_well_enough(job: Job, step: MeasureStep, slot: str) -> bool:
    """Whether a place was read less than two turnings ago; when those did not do, it is read again with the rest."""
    attempt = current(job.attempts.get((step.id, slot), ()))
    return attempt is not None and len(job.turns) - job.turns_before(attempt.since) < ROUNDS_UNREAD


def place_verdict(job: Job, step: MeasureStep, slot: str, verdicts: Verdicts) -> str:
    """Return the verdict that says whether a place wants a reading; a pair without a window has no check a place."""
    check = check_id(step.id, slot)
    if check in verdicts:
        return verdicts[check].verdict
    agreement = verdicts[f"{step.id}.agreement"].verdict
    return value_at(job, step, slot).verdict if agreement in WANTS else agreement


def later_round(job: Job, step: MeasureStep, verdicts: Verdicts) -> bool:
    """Whether only the governing place is read now: a torque that disturbs this step is still to come."""
    torques = [torque for torque in job.sheet.torques if step.id in torque.disturbs]
    to_come = any(not verdicts[check].passes for torque in torques for check in torque.checks)
    return step.recheck == "governing" and to_come


def corrected_later(job: Job, step: MeasureStep) -> bool:
    """Whether an adjust step further on corrects this one."""
    here = job.sheet.order[step.id]
    return any(step.id in adjust.corrects and job.sheet.order[adjust.id] > here for adjust in job.sheet.adjusts)


def _older(job: Job, step: MeasureStep) -> str:
    """Return the place of a pair that was read first (or not at all): taking that again ends two units soonest."""
    return min(step.slots, key=lambda slot: value_at(job, step, slot).since)


def _failing_slot(job: Job, step: MeasureStep, failing: list[str]) -> str:
    return next((slot for slot in step.slots if check_id(step.id, slot) in failing), _older(job, step))


def _repeat_serves(job: Job, step: MeasureStep, slot: str, verdicts: Verdicts) -> bool:
    """Whether a check of this place lies within its uncertainty of a limit and had no further repeat here yet."""
    asked = (check_id(step.id, slot), f"{step.id}.agreement")
    near = any(verdicts[check].more for check in asked if check in verdicts)
    return near and value_at(job, step, slot).repeatable


def reading_prompt(job: Job, step: MeasureStep, slot: str, *, stays: bool = False, more: bool = False) -> Prompt:
    """Return the prompt for the next reading at one place; `more` asks for a further repeat of a whole value."""
    attempt = current(job.attempts.get((step.id, slot), ()))
    halves = 2 if step.takes == "difference" else 1
    more = more or (attempt is not None and _half_a_repeat(job, step, attempt))
    goes_on = more or open_attempt(job, step, attempt)
    begun = len(attempt.live) if attempt is not None and goes_on else 0
    part = step.parts[begun % 2] if halves == 2 else ""
    of = step.set_size + (halves if more else 0)
    return Prompt("measure", step.id, slot, part, begun + 1, of, stays, more)


def _half_a_repeat(job: Job, step: MeasureStep, attempt: Attempt) -> bool:
    """Whether the first half of a further difference was taken, and nothing came between."""
    if len(attempt.live) <= step.set_size or is_whole(step, attempt.live) or len(attempt.units) != 1:
        return False
    suspect = any(each.seq in job.suspect for each in attempt.live)
    return not suspect and not job.is_disturbed(step.id, attempt.since)


# --- adjust ----------------------------------------------------------------------------------------------------------


def _adjust(job: Job, step: AdjustStep, verdicts: Verdicts) -> Prompt | None:
    corrected = [check for each in step.corrects for check in checks_of(job.sheet.by_id[each])]
    if not any(verdicts[check].verdict in FAILS for check in corrected):
        return None
    if all(job.fastener(place).is_loose for place in job.sheet.fasteners(step.loosen)):
        return Prompt("turn", step.id)
    return Prompt("loosen", step.id)
