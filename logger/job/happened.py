"""The words of what became of the last event: a reading, an act, a word of a person; pure."""

from decimal import Decimal

from logger import events as ev
from logger.sheets.sheet import AdjustStep, ConfirmStep, TorqueStep
from logger.units import trimmed

from .facts import Job
from .named import check_title, fastener_names, flats, places_named, reading_named, spoken, target
from .torquewords import adapter_declared, pulled, tool_declared, tools_picked
from .untaken import in_halves, untaken
from .verdictwords import GROUNDED

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


def happened(job: Job, event: ev.Event) -> str:
    """One line on what just happened; empty for what needs no word."""
    return _came(job, event) or _done(job, event) or _said(job, event)


def _came(job: Job, event: ev.Event) -> str:
    """What a tool sent, or a person typed of one."""
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
        case ev.Suspected(tool=tool, readings=readings):
            count = "1 reading is" if len(readings) == 1 else f"{len(readings)} readings are"
            return f"{tool} failed its zero check: {count} suspect and will be asked for again"
        case _:
            return ""


def _done(job: Job, event: ev.Event) -> str:
    """What hands did, or a person confirmed."""
    match event:
        case ev.Loosened(fasteners=names):
            return f"Loosened: {fastener_names(job, names)}"
        case ev.Turned():
            said = f"Turned: left {flats(Decimal(event.left))}, right {flats(Decimal(event.right))}"
            return f"{said}{runs_taut(event)}{_too_early(job, event)}"
        case ev.Confirmed(step=step) | ev.Seated(step=step):
            return f"Confirmed: {target(job, step, '')}"
        case ev.Untouched(step=step, place=place):
            return f"Untouched: {target(job, step, place)}"
        case ev.AdapterDeclared(step=step):
            return adapter_declared(event, target(job, step, ""))
        case _:
            return ""


def _said(job: Job, event: ev.Event) -> str:
    """What a person said of the job, its readings or its tools, or the program said to them."""
    match event:
        case ev.TakenBack(of=of, why=why):
            halves = "; both halves are taken again" if in_halves(job, of) else ""
            what = reading_named(job, of) or f"number {of}"
            return f"Taken back: {what} ({why}); it stays on the trail{halves}"
        case ev.Overridden():
            return _overridden(job, event)
        case ev.Noted(text=text):
            return f"Noted: {text}"
        case ev.ToolDeclared():
            return tool_declared(event, job.picked)
        case ev.ToolsPicked():
            return tools_picked(event)
        case ev.Commented(at=at, name=name, text=text, signs=signs):
            return f"Signed off by {name}: {text}" if signs else f"Comment by {name} on number {at}: {text}"
        case ev.FaultTold(said=said):
            return said
        case ev.CloseRefused(open=still_open):
            return f"Closing refused: {len(still_open)} open"
        case ev.JobClosed():
            return "Job closed"
        case _:
            return ""


def _overridden(job: Job, event: ev.Overridden) -> str:
    never = untaken(job, event.check)
    said = f"Overridden by {event.name}: {check_title(job, event.check)}" + (f", which {never}" if never else "")
    return f"{GROUNDED}. {said}" if job.sheet.is_vital(event.check) else said


def _too_early(job: Job, event: ev.Turned) -> str:
    """Say at a turning what should have come first: what was never confirmed, and fasteners that are tight."""
    step = job.sheet.by_id.get(event.step)
    if not isinstance(step, AdjustStep):
        return ""
    before = job.sheet.step[: job.sheet.order[step.id]]
    open_ = [each for each in before if isinstance(each, ConfirmStep) and each.id not in job.confirmed]
    tight = [place for place in job.sheet.fasteners(step.loosen) if not job.fastener(place).is_loose]
    missing = [f"confirm {each.title}" for each in open_ if each.id not in job.overrides]
    missing += [f"loosen {places_named(job, tight)}"] if tight else []
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
