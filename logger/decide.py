"""What a person says becomes an event, or is refused with the reason; pure, and the same for screen and plain."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from . import events as ev
from .errors import BadInput
from .job import Job
from .prompt import Prompt
from .rules import Judged
from .sheet import AdjustStep, ConfirmStep, NoteStep, TorqueStep, check_id
from .words import settle

MOST_FLATS = 60
"""More flats than this in one turning is a slip of the hand (ten whole turns of a hexagon)."""


def confirmed(job: Job, prompt: Prompt) -> ev.Confirmed | ev.Seated | ev.Untouched | ev.Loosened:
    """Return what confirming the present prompt means; BadInput when it cannot be confirmed."""
    step = job.sheet.by_id.get(prompt.step)
    match prompt.kind, step:
        case "confirm", ConfirmStep():
            return ev.Confirmed(step=step.id, items=step.items)
        case "seat", AdjustStep():
            return ev.Seated(step=step.id, items=step.after)
        case "untouched", TorqueStep():
            return ev.Untouched(step=step.id, place=prompt.place)
        case ("loosen" | "slacken"), _:
            return loosened(job, prompt, ())
    raise BadInput(f"Nothing to confirm now: the prompt is {prompt.key}.", "Do what the prompt says.")


def noted(prompt: Prompt, job: Job, text: str) -> ev.Noted:
    """Return a note: the answer to a note prompt, else a free note; BadInput when a number is due and it is none."""
    text = text.strip()
    if not text or len(text) > 300:
        raise BadInput("A note needs 1 to 300 characters.", "Type the note again.")
    step = job.sheet.by_id.get(prompt.step)
    if prompt.kind != "note" or not isinstance(step, NoteStep):
        return ev.Noted(text=text)
    if step.value == "number" and not _is_number(text):
        unit = f" in {step.unit}" if step.unit else ""
        raise BadInput(f'"{text}" is not a number.', f"{step.ask} Type digits only{unit}, such as 12480.")
    return ev.Noted(step=step.id, text=text)


def _is_number(text: str) -> bool:
    try:
        return Decimal(text).is_finite() and text.isascii() and len(text) <= 15
    except InvalidOperation:
        return False


def loosened(job: Job, prompt: Prompt, names: tuple[str, ...]) -> ev.Loosened:
    """Return a loosening: of the fasteners named, else of what the prompt is about, else of what adjusting needs."""
    if names:
        known = {check_id(torque.id, slot) for torque in job.sheet.torques for slot in torque.slots}
        known |= {torque.id for torque in job.sheet.torques}
        unknown = [name for name in names if name not in known]
        if unknown:
            raise BadInput(f"There is no fastener {', '.join(unknown)}.", f"Name one of: {', '.join(sorted(known))}.")
        return ev.Loosened(step="", fasteners=names)
    if prompt.kind in ("untouched", "slacken", "torque"):
        return ev.Loosened(step=prompt.step, fasteners=(check_id(prompt.step, prompt.place),))
    step = _adjust_step(job, prompt)
    return ev.Loosened(step=step.id, fasteners=step.loosen)


def _adjust_step(job: Job, prompt: Prompt) -> AdjustStep:
    step = job.sheet.by_id.get(prompt.step)
    if isinstance(step, AdjustStep):
        return step
    if not job.sheet.adjusts:
        raise BadInput("This sheet adjusts nothing.", "Report only what the sheet has steps for.")
    return job.sheet.adjusts[0]


def turned(
    job: Job,
    prompt: Prompt,
    left: Decimal,
    right: Decimal,
    advised: tuple[Decimal, Decimal] | None,
    expected: ev.Expected | None,
) -> ev.Turned:
    """Return a turning of the adjusters in flats, positive tightens; BadInput when it is beyond `MOST_FLATS`."""
    if not all(flats.is_finite() and abs(flats) <= MOST_FLATS for flats in (left, right)):
        raise BadInput(f"Flats must lie between -{MOST_FLATS} and {MOST_FLATS}.", "Say: turned LEFT RIGHT, in flats.")
    step = _adjust_step(job, prompt)
    return ev.Turned(
        step=step.id,
        left=str(left),
        right=str(right),
        advised_left=None if advised is None else str(advised[0]),
        advised_right=None if advised is None else str(advised[1]),
        expected=expected,
    )


def taken_back(job: Job, why: str) -> ev.TakenBack:
    """Return the withdrawal of the last counted reading or pull; it stays on the trail."""
    if not why.strip():
        raise BadInput("Taking a reading back needs a reason.", "Say why in a few words.")
    if not job.last_counted:
        raise BadInput("There is no reading to take back.", "Take a reading first.")
    return ev.TakenBack(of=job.last_counted, why=why.strip()[:300])


def overridden(verdicts: Mapping[str, Judged], check: str, name: str, note: str) -> ev.Overridden:
    """Return an override of one check; BadInput without a name, without a note, or where it passes already."""
    if check not in verdicts:
        raise BadInput(f'There is no check "{check}".', f"Name one of: {', '.join(verdicts)}.")
    if verdicts[check].passes:
        raise BadInput(f"{check} needs no override: it is {verdicts[check].verdict}.", "Override only an open check.")
    if not name.strip() or not note.strip():
        raise BadInput("An override needs a name and a note that is not blank.", "Say who you are and why it may pass.")
    return ev.Overridden(check=check, name=name.strip()[:64], note=note.strip()[:300], was=verdicts[check].verdict)


def closing(job: Job, verdicts: Mapping[str, Judged]) -> ev.CloseRefused | ev.JobClosed:
    """Return the closing of the job, or its refusal with each open check and what would settle it."""
    if job.closed:
        raise BadInput("The job is closed already.", "Open the record, or start another job.")
    still_open = tuple(
        ev.OpenCheck(check=check, verdict=judged.verdict, settle=settle(job, judged))
        for check, judged in verdicts.items()
        if not judged.passes
    )
    if still_open:
        return ev.CloseRefused(open=still_open)
    return ev.JobClosed(by=job.by, verdicts={check: judged.verdict for check, judged in verdicts.items()})
