"""A moment of a job as lines of text, the same live and replayed; pure, and owns no rule."""

from collections.abc import Mapping
from decimal import Decimal

from drivers.typed import TYPED
from logger import events as ev
from logger.advice.plan import Plan
from logger.advice.wear import pitch_of, wear_of
from logger.advice.words import fitted_line, how_to_span, shift_lines, wear_line, why_not_line
from logger.bench.moment import Moment
from logger.job.job import Job
from logger.job.line import caution
from logger.job.named import check_title, flats, spoken
from logger.job.rules import Judged
from logger.job.verdictwords import SHAPES, short, verdict_line, warning_lines
from logger.job.words import detail, headline, record_command
from logger.sheets.sheet import MeasureStep, check_id

Lines = tuple[str, ...]
Verdicts = Mapping[str, Judged]


def left(moment: Moment) -> str:
    """Return how to go on with a job that was left: where it was closed, its record."""
    job = moment.job
    if job.closed:
        return f"Job {job.id} is closed. Its record: {record_command(job)}"
    return f"The job stays open. Take it up again with: evenhand resume {job.id}"


def told(moment: Moment) -> str:
    """Say what happened in one line, also of what a screen shows without words; empty when there is nothing to say."""
    match moment.record.event:
        case ev.JobOpened(machine=machine, by=by, simulated=simulated):
            kind = " (simulated)" if simulated else ""
            return f"Job {moment.job.id} opened by {by}: {moment.job.sheet.title}, {machine}{kind}"
        case ev.JobResumed(by=by):
            return f"Taken up again by {by}"
        case ev.CautionsRead(by=by, count=count):
            return f"{'The caution was' if count == 1 else f'All {count} cautions were'} read by {by}"
        case ev.Interrupted(why=why):
            return f"Left open: {why}"
        case ev.ToolSeen() as event:
            return _tool(event)
        case ev.FrameUndecoded(tool=tool, reason=reason) if tool == TYPED:
            return f"Not taken: {reason}"
        case ev.FaultTold(said=said):
            return f"Warning: {said}"
        case ev.DueOpened(what=what, after=after):
            return f"Becomes due: {what}, after {after}"
        case _:
            return moment.said


def cautions(moment: Moment) -> Lines:
    """Give the sheet's cautions, and the kit to lay out."""
    sheet = moment.job.sheet
    kit = (f"Kit: {'; '.join(sheet.kit)}",) if sheet.kit else ()
    return (*(caution(each) for each in sheet.cautions), *kit)


def _tool(event: ev.ToolSeen) -> str:
    if event.tool == event.tool_kind == "radio":
        return event.message or f"Radio {event.link}"
    kind = f" ({event.tool_kind})" if event.tool_kind else ""
    battery = "" if event.battery is None else f", battery {event.battery} %"
    message = f". {event.message}" if event.message else ""
    return f"Tool {event.tool}{kind}: {event.link}{battery}{message}"


# --- verdicts -------------------------------------------------------------------------------------------------------


def verdicts(before: Verdicts, moment: Moment) -> Lines:
    """Give the check that the event was about as a line of its own, and what else changed, gathered by verdict."""
    mine = about(moment)
    asked = [moment.verdicts[check] for check in mine]
    own = (
        *(verdict_line(moment.job, each) for each in asked),
        *(line for each in asked for line in warning_lines(moment.job, each)),
        *pull_warnings(moment),
        *_worn_now(moment),
    )
    others: dict[ev.Verdict, list[str]] = {}
    for check, judged in moment.verdicts.items():
        if check not in mine and check in before and before[check].verdict != judged.verdict:
            others.setdefault(judged.verdict, []).append(check_title(moment.job, check))
    return (*own, *(f"{SHAPES[verdict]} now {verdict}: {'; '.join(names)}" for verdict, names in others.items()))


def pull_warnings(moment: Moment) -> Lines:
    """What was noticed at a pull that was just made, such as peaks that disagree."""
    event = moment.record.event
    return tuple(f"Mind: {each}." for each in event.warnings) if isinstance(event, ev.PullTaken) else ()


def _worn_now(moment: Moment) -> Lines:
    """What a wear check that was just read says of the chain."""
    event = moment.record.event
    if not isinstance(event, ev.ReadingTaken) or event.answers is None:
        return ()
    step = moment.job.sheet.by_id.get(event.answers.step)
    return worn(moment.job, step) if isinstance(step, MeasureStep) else ()


def worn(job: Job, step: MeasureStep) -> Lines:
    """What a wear check says of the chain, in a sentence; nothing for another step, or before it was read."""
    found = wear_of(job, step)
    return () if found is None else (_sentence(wear_line(found)),)


def to_span(moment: Moment) -> Lines:
    """How to span the pitches of the wear check that is asked for, and what stands against the last reading of it."""
    step, pitch = moment.job.sheet.by_id.get(moment.prompt.step), pitch_of(moment.job.sheet)
    if not isinstance(step, MeasureStep) or step.pitches is None or pitch is None:
        return ()
    found = wear_of(moment.job, step)
    stands = (wear_line(found),) if found is not None and (found.past or found.miscounted) else ()
    return tuple(_sentence(line) for line in (*stands, how_to_span(step, pitch)))


def _sentence(line: str) -> str:
    return f"{line[:1].upper()}{line[1:]}."


def about(moment: Moment) -> Lines:
    """The checks one event is about: its own, and the agreement of a pair once both sides are there."""
    match moment.record.event:
        case ev.ReadingTaken(answers=ev.Slot() as slot):
            return _of_place(moment, slot.step, slot.place)
        case ev.PullTaken(touches=ev.Slot() as slot):
            return _of_place(moment, slot.step, slot.place)
        case ev.TakenBack(of=of):
            return _of_place(moment, *_place_of(moment.job, of))
        case ev.Untouched(step=step, place=place):
            return _of_place(moment, step, place)
        case ev.Confirmed(step=step) | ev.Noted(step=step):
            return _of_place(moment, step, "")
        case ev.Overridden(check=check):
            return (check,)
        case _:
            return ()


def _of_place(moment: Moment, step: str, place: str) -> Lines:
    known = [check for check in (check_id(step, place), f"{step}.agreement") if check in moment.verdicts]
    if len(known) == 2 and moment.verdicts[known[1]].verdict in ("waiting", "stale"):
        return (known[0],)
    return tuple(known)


def _place_of(job: Job, seq: int) -> tuple[str, str]:
    for place, attempts in job.attempts.items():
        if any(taken.seq == seq for attempt in attempts for taken in attempt.taken):
            return place
    for place, fastener in job.fasteners.items():
        if any(pull.seq == seq for pull in fastener.pulls):
            return place
    return "", ""


def refused(moment: Moment) -> Lines:
    """Each check that keeps the job open, with its verdict and what settles it; nothing unless closing was refused."""
    event = moment.record.event
    if not isinstance(event, ev.CloseRefused):
        return ()
    return tuple(
        f"{SHAPES[each.verdict]} {each.verdict}: {check_title(moment.job, each.check)} [{each.check}]. {each.settle}"
        for each in event.open
    )


def status(moment: Moment) -> Lines:
    """Every check with its id and verdict, in sheet order."""
    return tuple(f"{verdict_line(moment.job, judged)} [{check}]" for check, judged in moment.verdicts.items())


# --- prompts --------------------------------------------------------------------------------------------------------


def prompt(moment: Moment) -> Lines:
    """What to do next: one line that says it, then how, with the advice at an adjust prompt."""
    if moment.prompt.kind == "closed":
        return detail(moment.job, moment.prompt)
    how = (*detail(moment.job, moment.prompt), *to_span(moment), *_say(moment), *advice(moment.plan))
    return (next_line(moment), *(f"  {line}" for line in how if line))


def next_line(moment: Moment) -> str:
    """What to do next in one line."""
    said = headline(moment.job, moment.prompt)
    return said if moment.prompt.kind == "closed" else f"Next: {said}"


_SAY = {
    "note": "Say note and what to write down.",
    "confirm": "Say done.",
    "seat": "Say done.",
    "untouched": "Say done, or loosened.",
    "loosen": "Say loosened.",
    "slacken": "Say loosened.",
    "turn": "Say turned when done, or turned LEFT RIGHT if it was otherwise.",
    "close": "Say close.",
}


def _say(moment: Moment) -> Lines:
    return tuple(filter(None, (_SAY.get(moment.prompt.kind, ""),)))


def advice(plan: Plan | None) -> Lines:
    """How far to turn each side and what to expect after, or why nothing is advised; nothing without a plan."""
    if plan is None:
        return ()
    if plan.advice is None:
        return (*as_it_stands(plan), f"No advice: {plan.stop}.")
    sides = (f"Turn left: {flats(plan.advice.left)}.", f"Turn right: {flats(plan.advice.right)}.")
    return (*as_it_stands(plan), *sides, *expected(plan), *shown_by_the_job(plan))


def as_it_stands(plan: Plan) -> Lines:
    """How the last turning came out, and what is read now."""
    return (*(line for line, _ in came_out(plan)), stands(plan))


def stands(plan: Plan) -> str:
    """What is read now."""
    return f"Now: {_figures(plan.before, plan.called, plan.carried)}."


def came_out(plan: Plan) -> tuple[tuple[str, bool], ...]:
    """Expected beside measured for the last turning, each with whether it came out so within its uncertainty.

    Likely causes are named once, and not where they stand already in why nothing is advised.
    """
    told: set[tuple[str, ...]] = {()} if not plan.stop else {found.causes for found in plan.came_out.values()}
    lines = []
    for what, found in plan.came_out.items():
        lines.append((_came_out(what, plan, with_causes=found.causes not in told), found.outcome == "agrees"))
        told.add(found.causes)
    return tuple(lines)


def expected(plan: Plan) -> Lines:
    """What to expect after the advised turns, and what to mind with them."""
    after = (f"Expected after: {_figures(plan.expected, plan.called)}.",) if plan.expected is not None else ()
    if plan.advice is None:
        return after
    return (*after, *(f"Mind: {note}." for note in plan.advice.notes))


def shown_by_the_job(plan: Plan) -> Lines:
    """What this job's own readings show of convergence, nut and thread, as sentences."""
    said = (
        why_not_line(plan.why_not, plan.rounds),
        *shift_lines(plan.shift, plan.advice, plan.allowing, plan.called),
        *(fitted_line(each) for each in plan.fitted),
    )
    return tuple(_sentence(line) for line in said if line)


def _figures(figures: ev.Figures, called: str, carried: tuple[str, ...] = ()) -> str:
    mark = dict.fromkeys(carried, " (carried from the last round)")
    slack = ", ".join(
        (
            *(
                f"{_slack(called, place)} {tidy(value)} mm{mark.get(place, '')}"
                for place, value in figures.slack.items()
            ),
            *(f"{_slack(called, place)} none, the chain taut" for place in figures.taut),
        )
    )
    if figures.difference is None:
        return slack
    return f"{slack}; left minus right {tidy(figures.difference)} mm"


def _slack(called: str, place: str) -> str:
    return f"{called} {spoken(place)}".rstrip()


def tidy(text: str) -> str:
    """A figure without the zeros that arithmetic left at its end; one decimal stays."""
    whole, point, decimals = text.partition(".")
    return f"{whole}{point}{decimals.rstrip('0') or '0'}" if point else text


def _came_out(what: str, plan: Plan, *, with_causes: bool) -> str:
    found = plan.came_out[what]
    name = "left minus right" if what == "difference" else plan.called
    digits = Decimal("0.01") if what == "difference" else Decimal("0.1")
    expected, measured = (Decimal(str(value)).quantize(digits) for value in (found.expected_mm, found.measured_mm))
    causes = f": {'; '.join(found.causes)}" if with_causes and found.causes else ""
    fits = {"agrees": "as expected", "differs": "not as expected", "opposite": "the other way round"}[found.outcome]
    counted = f" ({found.counted})" if found.counted else ""
    within = f" ± {short(2 * found.u_mm)}" if found.u_mm else ""
    return f"The last turning: {name} expected {expected}{within} mm{counted}, measured {measured} mm, {fits}{causes}."
