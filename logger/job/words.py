"""The words a person reads: each prompt, each verdict, what settles an open check, what became of the last event."""

from decimal import Decimal
from fractions import Fraction

from logger import events as ev
from logger.sheets.sheet import AdjustStep, ConfirmStep, MeasureStep, NoteStep, TorqueStep, ZeroStep
from logger.units import Limits, approx_limits, approx_margin, decimals, trimmed

from .facts import Job
from .picked import picks_at, typed_from
from .prompt import Prompt
from .rules import FAILS, Judged, value_at
from .torquewords import (
    adapter_declared,
    called,
    pull_headline,
    pulled,
    settle_torque,
    tool_declared,
    tools_picked,
    torque_lines,
    unweighed_lines,
    which_first,
)
from .untaken import in_halves, untaken
from .zeroed import REMEDY, to_check

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

GROUNDED = "NOT TO BE RIDDEN OR RUN"
"""What a check on which a life hangs says where it does not pass, whoever let it pass."""

ASIDE: dict[str, str] = {
    "unprompted": "nothing asked for it: kept, does not count",
    "look": "a look only: it neither counts nor confirms a turn",
    "duplicate": "the same frame again: kept, does not count",
    "wrong tool": "not a tool for this step: kept, does not count",
    "other tool": "another tool was picked for this: kept, does not count",
    "wrong unit": "not a unit for this step: kept, does not count",
    "knock": "a knock, no pull: kept, does not count",
    "job closed": "the job is closed: kept, does not count",
    "old": "measured before the tool came in reach: kept, does not count",
}


NOT_AS_FOUND = 'From now on what is read is no longer "as found"'
"""What goes with a pull that nothing asked for before anything was loosened."""


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


def fastener_names(job: Job, names: tuple[str, ...]) -> str:
    """Fasteners as a person says them, "Axle nut, Adjuster lock nuts left"."""
    return ", ".join(target(job, step, place) for step, place in job.sheet.fasteners(names))


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


# --- verdicts -------------------------------------------------------------------------------------------------------


def verdict_line(job: Job, judged: Judged) -> str:
    """One check as a line: shape, word, name, value and reason, and what the value is worth."""
    value = f" {judged.text} {judged.unit}".rstrip() if judged.text else ""
    reason = f" ({judged.reason})" if judged.reason else ""
    worth = f" · {worth_line(judged)}" if judged.decision is not None and judged.decision.u > 0 else ""
    return f"{SHAPES[judged.verdict]} {judged.verdict:<10} {check_title(job, judged.check)}{value}{reason}{worth}"


def worth_line(judged: Judged) -> str:
    """Return margin, expanded uncertainty and chance of a decided value, "margin 1.20 mm, U 0.90 mm, 98.3 % inside".

    Where no accuracy is stated, U is "at least" that, and the chance rests on it. Under a guarded rule also from where
    to where it passes; empty where nothing was decided.
    """
    decision, unit = judged.decision, judged.unit
    if decision is None:
        return ""
    digits = decimals(judged.text.removeprefix("≈ "))
    room = approx_margin(decision.margin, unit, digits).removeprefix("+")
    expanded, chance = f"{short(decision.expanded)} {unit}", f"{decision.chance_shown} inside"
    unstated = "accuracy" in judged.unknown  # what nobody stated counts as nothing, so U can only be larger
    worth = [f"U at least {expanded}", f"{chance} if U is no more"] if unstated else [f"U {expanded}", chance]
    parts = [f"margin {room}", *worth]
    if decision.guard:
        parts.append(_accepts(decision.acceptance, unit, digits))
    return ", ".join(parts if decision.u > 0 else parts[:1])


def _accepts(zone: Limits | None, unit: str, digits: int) -> str:
    if zone is None:
        return "too uncertain to pass at all"
    low, high = approx_limits(zone, unit, digits)
    return f"passes from {low} to {high}" if low and high else f"passes from {low}" if low else f"passes up to {high}"


def short(figure: float) -> str:
    """Return an uncertainty with the two digits that it is good for, never as a power of ten."""
    return format(Decimal(f"{figure:.1e}"), "f")


def warning_lines(job: Job, judged: Judged) -> tuple[str, ...]:
    """Return what should be known of a check though it changes no verdict, and what its U rests on, a line each."""
    title = check_title(job, judged.check)
    rests = (f"Rests on: {judged.assumed}.",) if judged.assumed else ()
    return (*(f"Mind: {title}: {warning}" for warning in judged.warnings), *rests)


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
        case TorqueStep():
            return settle_torque(job, step, place, judged, name)
        case ZeroStep() if judged.verdict in FAILS:
            return f"Zero the tool and take {name} again, or override with a note."
        case ZeroStep():
            return f"Take {name}: {judged.reason}."
        case MeasureStep() if judged.verdict in FAILS:
            if any(step_id in adjust.corrects for adjust in job.sheet.adjusts):
                return f"Adjust, then measure {name} again, or override with a note."
            return f"Take {name} again, replace the part, or override with a note."
        case MeasureStep() if place == "agreement":
            return _settle_pair(job, step, judged, name)
        case _:
            return f"Measure {name}" + (f": {judged.reason}." if judged.reason else ".")


def _settle_pair(job: Job, step: MeasureStep, judged: Judged, name: str) -> str:
    """The first side that gives no value, with its reason; else what stands against the two together."""
    for slot in step.slots:
        value = value_at(job, step, slot)
        if value.verdict != "inside":
            return f"Measure {target(job, step.id, slot)}: {value.reason}."
    return f"Measure {name}: {judged.reason}."


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
            given = "typed" if event.tool == event.source == "typed" else f"from {event.tool}"
            return f"{trimmed(event.value)} {event.unit} {given}: {ASIDE.get(event.set_aside, event.set_aside)}"
        case ev.PullTaken():
            return _pulled(job, event)
        case ev.FrameUndecoded():
            return f"A frame of {event.tool} could not be read ({event.reason}); kept as it came"
        case ev.Loosened(fasteners=names):
            return f"Loosened: {fastener_names(job, names)}"
        case ev.Turned():
            said = f"Turned: left {flats(Decimal(event.left))}, right {flats(Decimal(event.right))}"
            return f"{said}{runs_taut(event)}{_too_early(job, event)}"
        case ev.TakenBack(of=of, why=why):
            halves = "; both halves are taken again" if in_halves(job, of) else ""
            return f"Taken back: number {of} ({why}); it stays on the trail{halves}"
        case ev.Overridden(check=check, name=name):
            never = untaken(job, check)
            said = f"Overridden by {name}: {check_title(job, check)}" + (f", which {never}" if never else "")
            return f"{GROUNDED}. {said}" if job.sheet.is_vital(check) else said
        case ev.Suspected(tool=tool, readings=readings):
            count = "1 reading is" if len(readings) == 1 else f"{len(readings)} readings are"
            return f"{tool} failed its zero check: {count} suspect and will be asked for again"
        case ev.CloseRefused(open=still_open):
            return f"Closing refused: {len(still_open)} open"
        case ev.Confirmed(step=step) | ev.Seated(step=step):
            return f"Confirmed: {job.sheet.by_id[step].title}"
        case ev.Untouched(step=step, place=place):
            return f"Untouched: {target(job, step, place)}"
        case ev.Noted(text=text):
            return f"Noted: {text}"
        case ev.ToolDeclared():
            return tool_declared(event, job.picked)
        case ev.ToolsPicked():
            return tools_picked(event)
        case ev.AdapterDeclared(step=step):
            return adapter_declared(event, job.sheet.by_id[step].title)
        case ev.FaultTold(said=said):
            return said
        case ev.JobClosed():
            return "Job closed"
        case ev.Commented(at=at, name=name, text=text, signs=signs):
            return f"Signed off by {name}: {text}" if signs else f"Comment by {name} on number {at}: {text}"
        case _:
            return ""


def _too_early(job: Job, event: ev.Turned) -> str:
    """Say at a turning what should have come first: what was never confirmed, and fasteners that are tight."""
    step = job.sheet.by_id.get(event.step)
    if not isinstance(step, AdjustStep):
        return ""
    before = job.sheet.step[: job.sheet.order[step.id]]
    open_ = [each for each in before if isinstance(each, ConfirmStep) and each.id not in job.confirmed]
    tight = [place for place in job.sheet.fasteners(step.loosen) if not job.fastener(place).is_loose]
    missing = [f"confirm {each.title}" for each in open_ if each.id not in job.overrides]
    missing += [f"loosen {', '.join(target(job, *place) for place in tight)}"] if tight else []
    return f". That should have come first: {'; '.join(missing)}" if missing else ""


def runs_taut(event: ev.Turned) -> str:
    """The warning that goes with turns by which the chain is to run taut; empty where it is not."""
    if event.expected is None or not event.expected.taut:
        return ""
    where = " and ".join(spoken(place) for place in event.expected.taut if place)
    at = f" ({where})" if where else ""
    return f". The chain would run taut by that{at}: look at it before anything is tightened, and turn back"


def _pulled(job: Job, event: ev.PullTaken) -> str:
    meant = event.answers or event.touches
    step = job.sheet.by_id.get(meant.step) if meant else None
    unit = step.window[0].unit if isinstance(step, TorqueStep) else ""
    said = pulled(event, target(job, meant.step, meant.place) if meant else "no fastener asked for", unit)
    first = event.answers is None and not (job.loosened or job.turns or job.closed)
    return f"{said}. {NOT_AS_FOUND}" if first else said
