"""What a person says becomes an event, or is refused with the reason; pure, and the same for screen and plain."""

import re
import unicodedata
from collections.abc import Mapping
from decimal import Decimal

from logger import events as ev
from logger.advice.plan import Plan, expected_after, flats_text
from logger.errors import BadInput
from logger.job.facts import Job
from logger.job.judged import Judged
from logger.job.named import fastener_names
from logger.job.prompted import Prompt
from logger.job.verdictwords import settle
from logger.sheets.sheet import AdjustStep, ConfirmStep, NoteStep, TorqueStep, check_id

NEXT: dict[str, str] = {
    "measure": "a reading is awaited; take it with a tool, or type it with its unit, like 36.2 mm",
    "zero": (
        "the reading of a zero check is awaited; close the tool and take it, or type it with its unit, like 0.00 mm"
    ),
    "note": "something is to be written down; write it as a note",
    "turn": "the adjusters are to be turned; report it when they are",
    "torque": "a pull is awaited; pull, or type its peak with its unit, like 98 N·m",
    "close": "nothing is open; close the job",
}
"""What a prompt waits for, said to who confirmed it."""
MOST_NAME, MOST_TEXT = 64, 300
"""Characters of a person's name, and of a note, a reason or a comment."""
MOST_FLATS = 60
"""More flats than this in one turning is a slip of the hand (ten whole turns of a hexagon)."""

_NUMBER = re.compile(r"[0-9]{1,12}(\.[0-9]{1,3})?")


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
        case (("loosen" | "slacken"), _):
            return loosened(job, prompt, ())
    raise BadInput(f"Nothing to confirm now: {NEXT.get(prompt.kind, 'the job is closed')}.", "")


def cautions_read(job: Job, by: str) -> ev.CautionsRead:
    """Return that the cautions were read, by the person of the job where nobody is named."""
    need_open(job)
    return ev.CautionsRead(by=by or job.by, count=len(job.sheet.cautions))


def is_blank(text: str) -> bool:
    """Whether nothing of a text can be seen: only spaces, controls and characters without width."""
    return all(unicodedata.category(character)[0] in "CZ" for character in text)


def noted(prompt: Prompt, job: Job, text: str) -> ev.Noted:
    """Return a note: the answer to a note prompt, else a free note; BadInput when a number is due and it is none.

    The id of a step that wants a number with one, "mileage 12480", writes that down or corrects it at any time.
    """
    need_open(job)
    text = text.strip()
    if is_blank(text) or len(text) > MOST_TEXT:
        raise BadInput(f"A note needs 1 to {MOST_TEXT} characters.", "Type the note again.")
    step = job.sheet.by_id.get(prompt.step)
    if prompt.kind != "note" or not isinstance(step, NoteStep):
        return _named_number(job, text) or ev.Noted(text=text)
    if step.value == "number" and not _NUMBER.fullmatch(text):
        if named := _named_number(job, text):
            return named
        unit = f" in {step.unit}" if step.unit else ""
        raise BadInput(f'"{text}" is not a number.', f"{step.ask} Type digits only{unit}, such as 12480.")
    return ev.Noted(step=step.id, text=text)


def _named_number(job: Job, text: str) -> ev.Noted | None:
    """The note of a step, where a text names one that wants a number, and a number."""
    name, _, number = text.partition(" ")
    step, number = job.sheet.by_id.get(name), number.strip()
    wanted = isinstance(step, NoteStep) and step.value == "number"
    return ev.Noted(step=name, text=number) if wanted and _NUMBER.fullmatch(number) else None


def need_open(job: Job) -> None:
    """Raise BadInput once the job is closed."""
    if job.closed:
        raise BadInput("The job is closed already.", "Open the record, or start another job.")


def loosened(job: Job, prompt: Prompt, names: tuple[str, ...]) -> ev.Loosened:
    """Return a loosening: of the fasteners named, else of what the prompt is about, else of what adjusting needs.

    It names the step that asked for it; none when a person reports it unasked. BadInput when nothing has to be
    loosened, for an unknown fastener, and once the job is closed.
    """
    need_open(job)
    if names:
        _known(job, names)
    elif prompt.kind in ("untouched", "slacken", "torque"):
        names = (check_id(prompt.step, prompt.place),)
    else:
        names = _adjust_step(job, prompt).loosen
    if not names:
        raise BadInput("Nothing has to be loosened here.", "Name what was loosened, such as axle_nut.")
    asked = prompt.step if prompt.kind in ("loosen", "slacken") else ""
    return ev.Loosened(step=asked, fasteners=names)


def _known(job: Job, names: tuple[str, ...]) -> None:
    known = {check_id(torque.id, slot) for torque in job.sheet.torques for slot in torque.slots}
    known |= {torque.id for torque in job.sheet.torques}
    unknown = [name for name in names if name not in known]
    if unknown:
        raise BadInput(f"There is no fastener {', '.join(unknown)}.", f"Name one of: {', '.join(sorted(known))}.")


def _adjust_step(job: Job, prompt: Prompt) -> AdjustStep:
    step = job.sheet.by_id.get(prompt.step)
    if isinstance(step, AdjustStep):
        return step
    if not job.sheet.adjusts:
        raise BadInput("This sheet adjusts nothing.", "Report only what the sheet has steps for.")
    return job.sheet.adjusts[0]


def turned(job: Job, prompt: Prompt, left: Decimal, right: Decimal, plan: Plan | None = None) -> ev.Turned:
    """Return a turning of the adjusters in flats, positive tightens; BadInput when it is beyond `MOST_FLATS`.

    What was advised and expected goes with it, so that the next reading can be held against it.
    """
    need_open(job)
    if not all(flats.is_finite() and abs(flats) <= MOST_FLATS for flats in (left, right)):
        raise BadInput(
            f"Flats must lie between -{MOST_FLATS} and {MOST_FLATS}.",
            "Give the flats of the left and of the right adjuster.",
        )
    if not left and not right and prompt.kind != "turn":
        raise BadInput("No flats on either side is no turning.", "Turn as advised, or override the check with a note.")
    step = _adjust_step(job, prompt)
    if plan is None or plan.given is None:
        return ev.Turned(step=step.id, left=format(left, "f"), right=format(right, "f"))
    advice = plan.advice
    return ev.Turned(
        step=step.id,
        left=format(left, "f"),
        right=format(right, "f"),
        advised_left=None if advice is None else flats_text(advice.left),
        advised_right=None if advice is None else flats_text(advice.right),
        before=plan.before,
        expected=expected_after(plan.given, left, right),
    )


def as_advised(job: Job, prompt: Prompt, plan: Plan | None) -> tuple[Decimal, Decimal]:
    """Return the flats advised for the left and the right adjuster; BadInput when there are none to turn now."""
    advice = plan.advice if plan else None
    if advice is not None and prompt.kind == "loosen":
        names = fastener_names(job, _adjust_step(job, prompt).loosen)
        raise BadInput("The adjusters are not free to turn yet.", f"First report as loosened: {names}.")
    if advice is None or prompt.kind != "turn":
        raise BadInput("Nothing is advised now.", "Where adjusters were turned all the same, give the flats of each.")
    left, right = (Decimal(side.numerator) / Decimal(side.denominator) for side in (advice.left, advice.right))
    return left, right


def taken_back(job: Job, why: str) -> ev.TakenBack:
    """Return the withdrawal of the last counted reading or pull; it stays on the trail.

    BadInput without a reason, with nothing to take back, and once the job is closed.
    """
    need_open(job)
    if is_blank(why):
        raise BadInput("Taking a reading back needs a reason.", "Say why in a few words.")
    if not job.last_counted:
        raise BadInput("There is no reading to take back.", "Take a reading first.")
    return ev.TakenBack(of=job.last_counted, why=why.strip()[:MOST_TEXT])


def overridden(verdicts: Mapping[str, Judged], check: str, name: str, note: str) -> ev.Overridden:
    """Return an override of one check; BadInput without a name, without a note, or where it passes already."""
    if check not in verdicts:
        raise BadInput(f'There is no check "{check}".', f"Name one of: {', '.join(verdicts)}.")
    if verdicts[check].passes:
        raise BadInput(f"{check} needs no override: it is {verdicts[check].verdict}.", "Override only an open check.")
    if is_blank(name) or is_blank(note):
        raise BadInput(
            "An override needs a name and a note that is not blank.", "Say with it why it may pass as it is."
        )
    return ev.Overridden(
        check=check, name=name.strip()[:MOST_NAME], note=note.strip()[:MOST_TEXT], was=verdicts[check].verdict
    )


def closing(job: Job, verdicts: Mapping[str, Judged]) -> ev.CloseRefused | ev.JobClosed:
    """Return the closing of the job, or its refusal with each open check and what would settle it."""
    need_open(job)
    still_open = tuple(
        ev.OpenCheck(check=check, verdict=judged.verdict, settle=settle(job, judged))
        for check, judged in verdicts.items()
        if not judged.passes
    )
    if still_open:
        return ev.CloseRefused(open=still_open)
    return ev.JobClosed(by=job.by, verdicts={check: judged.verdict for check, judged in verdicts.items()})
