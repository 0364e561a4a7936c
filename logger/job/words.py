"""The words of a prompt: what to do now in one short line, and how to do it; for screen, voice and plain alike."""

from logger.sheets.sheet import AdjustStep, ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep

from .facts import Job
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


def detail(job: Job, prompt: Prompt) -> tuple[str, ...]:
    """How to do it: the lines under the headline, cautions first."""
    if prompt.kind == "closed":
        return (f"The record can be made with: {record_command(job)}",)
    if prompt.kind == "close":
        return tuple(
            f"{GROUNDED if job.sheet.is_vital(check) else 'Mind'}: {check_title(job, check)} does not pass; "
            f"{override.name} lets it: {override.note}"
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


def _measure_lines(job: Job, prompt: Prompt, step: MeasureStep) -> tuple[str, ...]:
    lines = [step.ask]
    if step.datum:
        lines.append(f"From: {step.datum}")
    if step.condition:
        lines.append(f"Holds for: {job.sheet.conditions[step.condition]}")
    if step.window is not None:
        aim = f", aim {step.aim.told}" if step.aim is not None else ""
        lines.append(f"Window {step.window[0].told} to {step.window[1].told}{aim}")
    if step.agree_within is not None:
        lines.append(f"The sides agree within {step.agree_within}")
    lines.append(f"With: {_any_of(job, step)}")
    if prompt.more:
        lines.append("It lies within its uncertainty of a limit: one further repeat; the mean of all counts.")
    if prompt.stays:
        lines.append("No adjustment corrects this: take it again, replace the part, or override with a note.")
    return tuple(lines)


def _zero_headline(job: Job, prompt: Prompt, name: str) -> str:
    step = job.sheet.by_id[prompt.step]
    tool = to_check(job, step) if isinstance(step, ZeroStep) else ""
    if prompt.stays:
        return f"{name}: zero {tool or 'the tool'}, check again"
    return f"{name}: zero check of {tool}" if tool else f"{name}: zero check"


def _zero_lines(job: Job, prompt: Prompt, step: ZeroStep) -> tuple[str, ...]:
    tool = to_check(job, step)
    lines = [
        step.ask,
        f"It must read {step.reference}, within {step.within}",
        f"With: {tool}, no other tool answers for it" if tool else f"With: {_any_of(job, step)}",
    ]
    if not prompt.stays:
        return tuple(lines)
    if tool:
        lines.append("Without this tool: name another one, check that at this step, and read again what is asked for.")
    lines.append(f"It failed: {REMEDY}.")
    return (*lines, "What it read since its last good check is suspect and is asked for again.")


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


def _adjust_lines(job: Job, prompt: Prompt, step: AdjustStep) -> tuple[str, ...]:
    if prompt.kind == "loosen":
        return (
            *(f"- {line}" for line in step.first),
            *(line for each in _torques_of(job, step) for line in unweighed_lines(job, each)),
            f"Loosen: {fastener_names(job, step.loosen)}.",
        )
    if prompt.kind == "seat":
        return (*(f"- {line}" for line in step.after), "Confirm when it is so.")
    drive = job.sheet.drive
    if drive is None:
        return ()
    how = f"Tighter is {drive.tighten}; the chain is on the {drive.chain_side}."
    return (how, f"Sides as seen from {drive.seen_from}.")
