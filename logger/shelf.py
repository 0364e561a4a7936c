"""Jobs read back from a trail: one whole, or a line about each."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from . import events as ev
from .errors import BadInput, TrailDamaged
from .job import Job, apply, opened
from .sheetfile import load_sheet
from .trail import need_sound, read
from .trail_file import is_there


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job as a list shows it."""

    job: str
    sheet: str
    machine: str
    by: str
    state: str
    """"open" or "closed"."""
    opened: str
    """UTC."""
    last: str
    """UTC of its last event."""
    simulated: bool
    events: int


def records(path: Path, job: str | None = None) -> Iterator[ev.Record]:
    """Return the typed records of a trail, or of one job, in order; TrailDamaged where one cannot be read."""
    for stored in read(path, job):
        try:
            yield ev.Record.model_validate_json(stored.bytes)
        except ValidationError as error:
            raise TrailDamaged(
                f"Event {stored.seq} of {path} is not one this version can read.", "Run: evenhand verify"
            ) from error


def job_records(path: Path, job_id: str) -> tuple[ev.Record, ...]:
    """Return the records of one job of a trail that is sound as a whole.

    TrailDamaged when it is not, since what is gone from a job shows in the whole alone; BadInput without such a job.
    """
    need_sound(path)
    found = tuple(records(path, job_id))
    if not found:
        raise BadInput(f"There is no job {job_id} on {path}.", "List them with: evenhand jobs")
    return found


def begin(record: ev.Record) -> Job:
    """Return the job that a `job_opened` record begins, with the sheet that it carries."""
    event = record.event
    if not isinstance(event, ev.JobOpened):
        raise TrailDamaged(f"Job {record.job} does not begin with its opening.", "Run: evenhand verify")
    return opened(record, load_sheet(event.sheet_text, f"the sheet kept with {record.job}").sheet)


def load_job(path: Path, job_id: str) -> tuple[Job, tuple[ev.Record, ...]]:
    """Return one job folded to its end, and its records; raises what `job_records` raises."""
    found = job_records(path, job_id)
    job = begin(found[0])
    for record in found[1:]:
        job = apply(job, record)
    return job, found


def job_lines(path: Path) -> list[JobLine]:
    """Return a line for every job of a trail, newest first."""
    if not is_there(path):
        return []
    lines: dict[str, JobLine] = {}
    for record in records(path):
        match record.event:
            case ev.JobOpened() as event:
                lines[record.job] = JobLine(
                    record.job, event.sheet, event.machine, event.by, "open", record.utc, record.utc, event.simulated, 1
                )
            case event if record.job in lines:
                before = lines[record.job]
                state = "closed" if isinstance(event, ev.JobClosed) else before.state
                lines[record.job] = JobLine(
                    before.job,
                    before.sheet,
                    before.machine,
                    before.by,
                    state,
                    before.opened,
                    record.utc,
                    before.simulated,
                    before.events + 1,
                )
    return list(reversed(lines.values()))


def resolve(path: Path, wanted: str, *, state: str = "") -> str:
    """Return a job id; `last` means the newest (of `state`, when given); BadInput when there is none.

    To find the last, the trail must be sound as a whole (TrailDamaged), or the one before would be taken for it.
    """
    if wanted != "last":
        return wanted
    if is_there(path):
        need_sound(path)
    for line in job_lines(path):
        if not state or line.state == state:
            return line.job
    raise BadInput(f"There is no {state + ' ' if state else ''}job on {path}.", "Start one with: evenhand start")
