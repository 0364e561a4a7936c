"""The words a person reads: each prompt, each verdict, what settles an open check, what became of the last event."""

from decimal import Decimal
from fractions import Fraction

from . import events as ev
from .facts import Job
from .prompt import Prompt
from .rules import Judged
from .sheet import AdjustStep, ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep
from .units import trimmed

SHAPES: dict[ev.Verdict, str] = {
    "overridden": "⚑",
    "waiting": "○",
    "stale": "↻",
    "unsteady": "≈",
    "low": "▼",
    "high": "▲",
    "uneven": "◆",
    "unsure": "?",
    "inside": "■",
    "done": "✓",
}
"""A shape for each verdict, so that none is told by colour alone."""

ASIDE: dict[str, str] = {
    "unprompted": "nothing asked for it: kept, does not count",
    "look": "a look only: it neither counts nor confirms a turn",
    "duplicate": "the same frame again: kept, does not count",
    "wrong tool": "not a tool for this step: kept, does not count",
    "wrong unit": "not a unit for this step: kept, does not count",
    "knock": "a knock, no pull: kept, does not count",
    "job closed": "the job is closed: kept, does not count",
    "old": "measured before the tool came in reach: kept, does not count",
}


def spoken(place: str) -> str:
    """A place or fastener as a person says it."""
    return place.replace("_", " ").replace("-", " ")


def target(job: Job, step_id: str, place: str) -> str:
    """The step's title with its place, "Chain slack, tightest"."""
    title = job.sheet.by_id[step_id].title
    return f"{title}, {spoken(place)}" if place else title


def check_title(job: Job, check: str) -> str:
    """A check as a person says it."""
    step, _, place = check.partition(".")
    return target(job, step, place)


def headline(job: Job, prompt: Prompt) -> str:
    """What to do now, in one short line."""
    if prompt.kind == "closed":
        return "Job closed"
    if prompt.kind == "close":
        return "Nothing is open: close the job" if job.overrides else "Everything passes: close the job"
    name = target(job, prompt.step, prompt.place)
    match prompt.kind:
        case "measure" if prompt.part:
            return f"{name}: {prompt.part}"
        case "measure":
            return f"{name}: {prompt.number} of {prompt.of}" if prompt.of > 1 else name
        case "loosen":
            return f"{name}: loosen first"
        case "turn":
            return f"{name}: turn"
        case "seat":
            return f"{name}: seat and snug"
        case "untouched":
            return f"{name}: untouched?"
        case "torque":
            return f"{name}: pull"
        case "slacken":
            return f"{name}: loosen it"
        case _:
            return name


def detail(job: Job, prompt: Prompt) -> tuple[str, ...]:
    """How to do it: the lines under the headline, cautions first."""
    if prompt.kind == "closed":
        return ("The record can be made with: evenhand record " + job.id,)
    if prompt.kind == "close":
        return tuple(
            f"Mind: {check_title(job, check)} does not pass; {override.name} lets it: {override.note}"
            for check, override in job.overrides.items()
        ) or ("Every check passes.",)
    step = job.sheet.by_id[prompt.step]
    cautions = tuple(f"Caution: {caution}" for caution in step.cautions)
    match step:
        case ConfirmStep():
            return (*cautions, *(f"- {item}" for item in step.items), "Confirm when all of it is so.")
        case NoteStep():
            return (*cautions, step.ask + (f" (number, {step.unit})" if step.unit else ""))
        case ZeroStep():
            return (*cautions, step.ask)
        case MeasureStep():
            return (*cautions, *_measure_lines(job, prompt, step))
        case AdjustStep():
            return (*cautions, *_adjust_lines(job, prompt, step))
        case TorqueStep():
            return (*cautions, *_torque_lines(prompt, step))


def _measure_lines(job: Job, prompt: Prompt, step: MeasureStep) -> tuple[str, ...]:
    lines = [step.ask]
    if step.datum:
        lines.append(f"From: {step.datum}")
    if step.condition:
        lines.append(f"Holds for: {job.sheet.conditions[step.condition]}")
    if step.window is not None:
        aim = f", aim {step.aim}" if step.aim is not None else ""
        lines.append(f"Window {step.window[0]} to {step.window[1]}{aim}")
    if step.agree_within is not None:
        lines.append(f"The sides agree within {step.agree_within}")
    lines.append(f"With: {' or '.join(step.tools)}, or typed with its unit")
    if prompt.stays:
        lines.append("No adjustment corrects this: take it again, replace the part, or override with a note.")
    return tuple(lines)


def fastener_names(job: Job, names: tuple[str, ...]) -> str:
    """Fasteners as a person says them, "Axle nut, Adjuster lock nuts left"."""
    return ", ".join(target(job, step, place) for step, place in job.sheet.fasteners(names))


def _adjust_lines(job: Job, prompt: Prompt, step: AdjustStep) -> tuple[str, ...]:
    if prompt.kind == "loosen":
        return (
            *(f"- {line}" for line in step.first),
            f"Loosen: {fastener_names(job, step.loosen)}.",
        )
    if prompt.kind == "seat":
        return (*(f"- {line}" for line in step.after), "Confirm when it is so.")
    drive = job.sheet.drive
    how = f"Tighter is {drive.tighten}; the chain is on the {drive.chain_side}." if drive is not None else ""
    return (how, "Sides as seen from the saddle.")


def _torque_lines(prompt: Prompt, step: TorqueStep) -> tuple[str, ...]:
    window = f"Window {step.window[0]} to {step.window[1]}, aim {step.aim}"
    match prompt.kind:
        case "untouched":
            return (step.witness, "Confirm that it was not touched, or loosen it.", window)
        case "slacken":
            return ("A torque starts from loose: loosen it.", window)
        case _:
            return (step.ask, window)


# --- verdicts -------------------------------------------------------------------------------------------------------


def verdict_line(job: Job, judged: Judged) -> str:
    """One check as a line: shape, word, name, value and reason."""
    value = f" {judged.text} {judged.unit}".rstrip() if judged.text else ""
    reason = f" ({judged.reason})" if judged.reason else ""
    return f"{SHAPES[judged.verdict]} {judged.verdict:<10} {check_title(job, judged.check)}{value}{reason}"


def settle(job: Job, judged: Judged) -> str:
    """What would settle an open check, in one sentence."""
    step_id, _, place = judged.check.partition(".")
    step = job.sheet.by_id[step_id]
    name = target(job, step_id, place)
    match step:
        case ConfirmStep():
            return f"Confirm {name} again." if judged.verdict == "stale" else f"Confirm {name}."
        case NoteStep():
            return f"Write down {name}."
        case TorqueStep() if judged.to_loosen:
            return f"Loosen {name}, then torque it into {step.window[0]} to {step.window[1]}."
        case TorqueStep() if not job.fastener((step_id, place)).loosened:
            return (
                f"Confirm that {name} is untouched, or loosen and torque it into {step.window[0]} to {step.window[1]}."
            )
        case TorqueStep():
            return f"Torque {name} into {step.window[0]} to {step.window[1]}."
        case MeasureStep() if judged.verdict in ("low", "high", "uneven"):
            if any(step_id in adjust.corrects for adjust in job.sheet.adjusts):
                return f"Adjust, then measure {name} again, or override with a note."
            return f"Take {name} again, replace the part, or override with a note."
        case _:
            return f"Measure {name}" + (f": {judged.reason}." if judged.reason else ".")


def flats(count: Decimal | Fraction) -> str:
    """Flats as a person says them: "2 flats tighter", "half a flat looser", "leave it"."""
    exact = Fraction(count)
    if exact == 0:
        return "leave it"
    whole, part = divmod(abs(exact), 1)
    said = {(0, Fraction(1, 2)): "half a flat", (1, 0): "1 flat"}.get((whole, part))
    if said is None:
        said = {Fraction(0): f"{whole} flats", Fraction(1, 2): f"{whole} and a half flats"}.get(part)
    return f"{said or f'{abs(count)} flats'} {'tighter' if exact > 0 else 'looser'}"


def happened(job: Job, event: ev.Event) -> str:
    """One line on what just happened; empty for what needs no word."""
    match event:
        case ev.ReadingTaken(answers=ev.Slot() as slot):
            part = f", {slot.part}" if slot.part else ""
            return f"Taken: {trimmed(event.value)} {event.unit} for {target(job, slot.step, slot.place)}{part}"
        case ev.ReadingTaken():
            return (
                f"{trimmed(event.value)} {event.unit} from {event.tool}: {ASIDE.get(event.set_aside, event.set_aside)}"
            )
        case ev.PullTaken():
            return _pulled(job, event)
        case ev.FrameUndecoded():
            return f"A frame of {event.tool} could not be read ({event.reason}); kept as it came"
        case ev.Loosened(fasteners=names):
            return f"Loosened: {fastener_names(job, names)}"
        case ev.Turned():
            return f"Turned: left {flats(Decimal(event.left))}, right {flats(Decimal(event.right))}"
        case ev.TakenBack(of=of, why=why):
            return f"Taken back: number {of} ({why}); it stays on the trail"
        case ev.Overridden(check=check, name=name):
            return f"Overridden by {name}: {check_title(job, check)}"
        case ev.CloseRefused(open=still_open):
            return f"Closing refused: {len(still_open)} open"
        case ev.Confirmed(step=step) | ev.Seated(step=step):
            return f"Confirmed: {job.sheet.by_id[step].title}"
        case ev.Untouched(step=step, place=place):
            return f"Untouched: {target(job, step, place)}"
        case ev.Noted(text=text):
            return f"Noted: {text}"
        case ev.JobClosed():
            return "Job closed"
        case _:
            return ""


def _pulled(job: Job, event: ev.PullTaken) -> str:
    peak = event.own_peak or event.host_peak or "?"
    meant = event.answers or event.touches
    where = target(job, meant.step, meant.place) if meant else "no fastener asked for"
    if event.direction == "anticlockwise":
        return f"Pulled anticlockwise ({where}): it disturbs; say loosened once it is loose"
    if event.invalid:
        return f"Pull on {where} cannot be used: {event.invalid}"
    if event.answers is None:
        return f"Pull of {peak} {event.unit}, not asked for ({where}): it does not count, but it disturbs"
    return f"Pull of {peak} {event.unit} on {where}"
