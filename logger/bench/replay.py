"""A trail through the same fold and rules as the live bench: what is replayed is what happened."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta, timezone

from logger import events as ev
from logger.errors import BadInput, TrailDamaged
from logger.job.facts import Job
from logger.job.happened import happened
from logger.job.job import apply
from logger.job.judged import Judged
from logger.pulls.figures import retraced
from logger.shelf.shelf import begin
from logger.units import approx_margin, decimals, trimmed

from .moment import Moment, moment_of


def moments(records: Iterable[ev.Record]) -> Iterator[Moment]:
    """Give the moments of one job, from its opening on, as the bench gave them; TrailDamaged without an opening.

    BadInput names the event with which the job can no longer be judged, such as by a unit that is none.
    """
    job: Job | None = None
    for record in records:
        moment = _moment(job, record)
        job = moment.job
        yield moment


def _moment(before: Job | None, record: ev.Record) -> Moment:
    try:
        job = begin(record) if before is None else apply(before, record)
        return replace(moment_of(job, record), said=happened(job, record.event))
    except BadInput as error:
        said = f"With event {record.seq} job {record.job} can no longer be judged: {error.message}"
        raise BadInput(said, error.remedy) from error


def differences(before: Moment | None, moment: Moment) -> tuple[str, ...]:
    """Say where the verdicts and the prompt worked out now differ from what was shown when it happened, and why."""
    shown, found = moment.record.shown, []
    old = {} if before is None else before.verdicts
    changed = {c: j.verdict for c, j in moment.verdicts.items() if c not in old or old[c].verdict != j.verdict}
    for check in sorted({*changed, *shown.verdicts}):
        then, now = shown.verdicts.get(check, "no change"), changed.get(check, "no change")
        if then != now:
            found.append(f"{check} was shown as {then}, now it is {now}{_because(moment.verdicts.get(check))}")
    if shown.prompt != moment.prompt.key:
        found.append(
            f"the prompt was {shown.prompt}, now it is {moment.prompt.key}: the first thing that its checks leave open"
        )
    if isinstance(pull := moment.record.event, ev.PullTaken):
        found += _other_peaks(pull)
    return tuple(found)


def _other_peaks(pull: ev.PullTaken) -> Iterator[str]:
    """Say where the trace of a pull does not hold the peaks that are stored beside it."""
    try:
        again = retraced(pull)
    except BadInput as error:
        yield f"the trace of the pull cannot be read again: {error.message}"
        return
    if again is None:
        return
    for name, then, now in zip(("largest value", "click"), (pull.host_peak, pull.first_peak), again, strict=True):
        if then != now:
            yield f"the {name} of the pull is stored as {then or 'none'}, its trace gives {now or 'none'} ({pull.unit})"


def _because(judged: Judged | None) -> str:
    """Say what the verdict of now rests on."""
    if judged is None:
        return ": its sheet has no such check"
    value = f"{judged.text} {judged.unit}".rstrip()
    room = "" if judged.margin is None else f"margin {margin_text(judged)}"
    said = ", ".join(part for part in (value, room, judged.reason) if part)
    return f": {judged.verdict}" + (f", {said}" if said else "")


def retold(event: ev.Event) -> str:
    """Say what an event was that the person was shown no words for: what was stated of a tool, a recall's review."""
    match event:
        case ev.ToolDescribed():
            return _stated(event)
        case ev.Reviewed(changed=changed):
            found = ", ".join(f"{each.check} {each.was} -> {each.now}" for each in changed) or "no verdict changes"
            since = f" since {event.since}" if event.since else ""
            back = "; the machine is called back" if event.call_back else ""
            return f"Reviewed: {event.tool} was found to read wrong by {event.error}{since}: {found}{back}"
        case _:
            return ""


def _stated(event: ev.ToolDescribed) -> str:
    accuracy = "" if event.accuracy is None else f"accuracy ± {event.accuracy.lstrip('±').strip()}"
    dates = (("resolution", event.resolution), ("calibrated", event.calibrated), ("calibration due", event.due))
    said = ", ".join(part for part in (accuracy, *(f"{name} {text}" for name, text in dates if text)) if part)
    kind = "" if event.tool_kind in ("", event.tool) else f" ({event.tool_kind})"
    return f"Stated of {event.tool}{kind} by the {event.stated_by}: {said or 'no figures'}"


def margin_text(judged: Judged) -> str:
    """Return the room to the nearest limit with the digits that its value has; empty where there is none."""
    digits = decimals(trimmed(judged.text.removeprefix("≈ ")))
    return "" if judged.margin is None else approx_margin(judged.margin, judged.unit, digits)


def origin(opened: ev.JobOpened, program: str) -> str:
    """Say where a difference from what was shown may come from, by the versions that wrote and that judge."""
    if opened.program != program:
        return f"{opened.program} wrote the job and {program} judged it again: the rules may be others."
    return (
        f"A program of the same number, {program}, wrote the job: a rule was changed and the number was not, "
        "or what it stored as shown is not what its events give."
    )


def pause(before: ev.Record, after: ev.Record) -> float:
    """Return the seconds between two events: by the running clock within one start of the host, else by the other.

    Never below zero; zero where an instant cannot be read.
    """
    if before.boot and before.boot == after.boot and after.mono_us >= before.mono_us:
        return (after.mono_us - before.mono_us) / 1e6
    try:
        passed = datetime.fromisoformat(after.utc) - datetime.fromisoformat(before.utc)
    except (ValueError, TypeError):  # TypeError: one of them has no zone
        return 0.0
    return max(0.0, passed.total_seconds())


def opening(record: ev.Record) -> ev.JobOpened:
    """Return what a job was opened with; TrailDamaged when its first record is no opening."""
    if not isinstance(record.event, ev.JobOpened):
        raise TrailDamaged(f"Job {record.job} does not begin with its opening.", "Run: evenhand verify")
    return record.event


def local_time(utc: str, offset: str) -> str:
    """Return an RFC 3339 instant in the offset stored with its job, to the millisecond; no zone data, no locale.

    An instant or offset that cannot be read is returned as it is stored.
    """
    try:
        zone = _zone(offset)
        at = datetime.fromisoformat(utc).astimezone(zone)
    except ValueError:
        return f"{utc} ({offset})"
    return at.isoformat(sep=" ", timespec="milliseconds")


def _zone(offset: str) -> timezone:
    sign, hours, minutes = offset[:1], offset[1:3], offset[4:6]
    if sign not in ("+", "-") or offset[3:4] != ":" or len(offset) != 6:
        raise ValueError(offset)
    size = timedelta(hours=int(hours), minutes=int(minutes))
    return timezone(-size if sign == "-" else size)
