"""Jobs read back from a trail that is sound as a whole."""

from collections.abc import Iterator
from pathlib import Path

from pydantic import ValidationError

from . import events as ev
from .errors import BadInput, TrailDamaged
from .job import Job, apply, opened
from .sheetfile import load_sheet
from .trail import need_sound, read
from .trail_file import is_there, reader


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


def resolve(path: Path, wanted: str, *, state: str = "") -> str:
    """Return a job id; `last` means the newest (of `state`, when given); BadInput when there is none.

    To find the last, the trail must be sound as a whole (TrailDamaged), or the one before would be taken for it.
    """
    if wanted != "last":
        return wanted
    if is_there(path):
        need_sound(path)
        for job in _newest_first(path):
            if not state or _state(path, job) == state:
                return job
    raise BadInput(f"There is no {state + ' ' if state else ''}job on {path}.", "Start one with: evenhand start")


def _newest_first(path: Path) -> Iterator[str]:
    """The jobs of a sound trail by their first event, the last first."""
    with reader(path) as connection:
        found = connection.execute("SELECT job FROM job_events GROUP BY job ORDER BY min(seq) DESC").fetchall()
    return (job for (job,) in found)


def _state(path: Path, job: str) -> str:
    closed = any(isinstance(each.event, ev.JobClosed) for each in records(path, job))
    return "closed" if closed else "open"
