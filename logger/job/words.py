"""The words of a prompt: what to do now in one short line, and how to do it; for screen, voice and plain alike."""

from logger.sheets.sheet import AdjustStep, ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep

from .facts import Job
from .line import Line, caution, item
from .named import check_title, fastener_names, target
from .picked import picks_at, typed_from
from .prompt import Prompt
from .torquewords import called, pull_headline, torque_lines, unweighed_lines, which_first
from .verdictwords import GROUNDED
from .zeroed import REMEDY, to_check


def headline(job: Job, prompt: Prompt) -> str:
    """What to do now, in one short line."""
    if prompt.kind == "closed":
        return "Job closed"
    if prompt.kind == "close":
        return "Nothing is open: close the job" if job.overrides else "Everything passes: close the job"
    name = target(job, prompt.step, prompt.place)
    match prompt.kind:
        case "measure" if prompt.more:
            return f"{name}: {prompt.part}, once more" if prompt.part else f"{name}: once more"
        case "measure" if prompt.part:
            return f"{name}: {prompt.part}"
        case "zero":
            return _zero_headline(job, prompt, name)
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
            return pull_headline(name, prompt)
        case "slacken":
            return f"{name}: loosen it"
        case _:
            return name


def detail(job: Job, prompt: Prompt) -> tuple[Line, ...]:
    """How to do it: the lines under the headline, cautions first."""
    if prompt.kind == "closed":
        return (Line(f"The record can be made with: {record_command(job)}"),)
    if prompt.kind == "close":
        return tuple(
            Line(
                f"{GROUNDED if job.sheet.is_vital(check) else 'Mind'}: {check_title(job, check)} does not pass; "
                f"{override.name} lets it: {override.note}"
            )
            for check, override in job.overrides.items()
        ) or (Line("Every check passes."),)
    step = job.sheet.by_id[prompt.step]
    cautions = tuple(caution(each) for each in step.cautions)
    match step:
        case ConfirmStep():
            return (*cautions, *(item(each) for each in step.items), Line("Confirm when all of it is so."))
        case NoteStep():
            return (*cautions, Line(step.ask + (f" (number, {step.unit})" if step.unit else "")))
        case ZeroStep():
            return (*cautions, *_zero_lines(job, prompt, step))
        case MeasureStep():
            return (*cautions, *_measure_lines(job, prompt, step))
        case AdjustStep():
            return (*cautions, *_adjust_lines(job, prompt, step))
        case TorqueStep():
            return (*cautions, *torque_lines(job, prompt, step))


def record_command(job: Job) -> str:
    """The command that makes the record of a job as a page."""
    return f"evenhand record {job.id} --format html --out {job.id}.html"


def _measure_lines(job: Job, prompt: Prompt, step: MeasureStep) -> tuple[Line, ...]:
    lines = [Line(step.ask)]
    if step.datum:
        lines.append(Line(f"From: {step.datum}", "datum"))
    if step.condition:
        lines.append(Line(f"Holds for: {job.sheet.conditions[step.condition]}", "condition"))
    if step.window is not None:
        aim = f", aim {step.aim.told}" if step.aim is not None else ""
        lines.append(Line(f"Window {step.window[0].told} to {step.window[1].told}{aim}", "window"))
    if step.agree_within is not None:
        lines.append(Line(f"The sides agree within {step.agree_within}", "window"))
    lines.append(Line(f"With: {_any_of(job, step)}", "tool"))
    if prompt.more:
        lines.append(Line("It lies within its uncertainty of a limit: one further repeat; the mean of all counts."))
    if prompt.stays:
        out = "No adjustment corrects this: take it again, replace the part, or override with a note."
        lines.append(Line(out, "ways out"))
    return tuple(lines)


def _zero_headline(job: Job, prompt: Prompt, name: str) -> str:
    step = job.sheet.by_id[prompt.step]
    tool = to_check(job, step) if isinstance(step, ZeroStep) else ""
    if prompt.stays:
        return f"{name}: zero {tool or 'the tool'}, check again"
    return f"{name}: zero check of {tool}" if tool else f"{name}: zero check"


def _zero_lines(job: Job, prompt: Prompt, step: ZeroStep) -> tuple[Line, ...]:
    tool = to_check(job, step)
    lines = [
        Line(step.ask),
        Line(f"It must read {step.reference}, within {step.within}"),
        Line(f"With: {tool}, no other tool answers for it" if tool else f"With: {_any_of(job, step)}", "tool"),
    ]
    if not prompt.stays:
        return tuple(lines)
    if tool:
        without = "Without this tool: name another one, check that at this step, and read again what is asked for."
        lines.append(Line(without))
    lines.append(Line(f"It failed: {REMEDY}."))
    return (*lines, Line("What it read since its last good check is suspect and is asked for again."))


def _any_of(job: Job, step: MeasureStep | ZeroStep) -> str:
    picks = picks_at(job, step.id)
    names = {pick.tool_kind: called(pick) for pick in picks}
    said = typed_from(job, step.id, "length") if picks else None
    names |= {} if said is None else {said.tool_kind: called(said)}
    which = f" of {said.tool}" if said is not None and len(names) > 1 else ""
    typed = f"; typed: say {which_first(picks)} first" if picks and said is None else f", or typed with its unit{which}"
    return f"{' or '.join(names.get(kind, kind) for kind in step.tools)}{typed}"


def _torques_of(job: Job, step: AdjustStep) -> tuple[TorqueStep, ...]:
    """The torque steps whose fasteners an adjustment loosens."""
    names = dict.fromkeys(torque for torque, _ in job.sheet.fasteners(step.loosen))
    return tuple(each for each in job.sheet.torques if each.id in names)


def _adjust_lines(job: Job, prompt: Prompt, step: AdjustStep) -> tuple[Line, ...]:
    if prompt.kind == "loosen":
        return (
            *(item(line) for line in step.first),
            *(line for each in _torques_of(job, step) for line in unweighed_lines(job, each)),
            Line(f"Loosen: {fastener_names(job, step.loosen)}.", "act"),
        )
    if prompt.kind == "seat":
        return (*(item(line) for line in step.after), Line("Confirm when it is so."))
    drive = job.sheet.drive
    if drive is None:
        return ()
    how = f"Tighter is {drive.tighten}; the chain is on the {drive.chain_side}."
    return (Line(how), Line(f"Sides as seen from {drive.seen_from}."))
