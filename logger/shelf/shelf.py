"""Jobs read back from a trail that is sound as a whole."""

import contextlib
import gc
import json
from collections.abc import Iterator
from pathlib import Path

from pydantic import ValidationError

from logger import events as ev
from logger.errors import BadInput, TrailDamaged
from logger.job.facts import Job
from logger.job.job import fold, opened
from logger.sheets.file import load_sheet
from logger.trail.file import is_there, reader
from logger.trail.read import StoredEvent, need_sound, read, sound_job


def records(path: Path, job: str | None = None) -> Iterator[ev.Record]:
    """Return the typed records of a trail, or of one job, in order; TrailDamaged where one cannot be read."""
    return (_typed(path, each.seq, each.bytes) for each in read(path, job))


def _typed(path: Path, seq: int, data: bytes) -> ev.Record:
    try:
        record: ev.Record = ev.Record.__pydantic_validator__.validate_json(data)
    except ValidationError as error:
        raise TrailDamaged(
            f"Event {seq} of {path} is not one this version can read.", "Run: evenhand verify"
        ) from error
    return record


def job_records(path: Path, job_id: str) -> tuple[ev.Record, ...]:
    """Return the records of one job of a trail that is sound as a whole.

    TrailDamaged when it is not, since what is gone from a job shows in the whole alone; BadInput without such a job.
    """
    with _no_garbage():
        return tuple(_typed(path, *each) for each in _stored(path, job_id))


def _stored(path: Path, job_id: str) -> tuple[tuple[int, bytes], ...]:
    found = sound_job(path, job_id)
    if not found:
        raise BadInput(f"There is no job {job_id} on {path}.", "List them with: evenhand jobs")
    return found


@contextlib.contextmanager
def _no_garbage() -> Iterator[None]:
    """Keep the collector from going through all that is kept again and again while nothing but that is made."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def every_job(path: Path, tool: str = "") -> list[tuple[ev.Record, ...]]:
    """Return every job of a sound trail, in the order they were opened; with a tool, those whose events name it.

    TrailDamaged when the trail is not sound; none where there is no trail.
    """
    if not is_there(path):
        return []
    need_sound(path)
    named = f'"tool":{json.dumps(tool, ensure_ascii=False)}'.encode()
    wanted = {_job_of(stored) for stored in read(path) if named in stored.bytes} if tool else None
    jobs: dict[str, list[ev.Record]] = {}
    for stored in read(path):
        if wanted is None or _job_of(stored) in wanted:
            record = _typed(path, stored.seq, stored.bytes)
            jobs.setdefault(record.job, []).append(record)
    return [tuple(job) for job in jobs.values() if isinstance(job[0].event, ev.JobOpened)]


def _job_of(stored: StoredEvent) -> str:
    return str(stored.record().get("job", ""))


def begin(record: ev.Record) -> Job:
    """Return the job that a `job_opened` record begins, with the sheet it carries; TrailDamaged for any other."""
    event = record.event
    if not isinstance(event, ev.JobOpened):
        raise TrailDamaged(f"Job {record.job} does not begin with its opening.", "Run: evenhand verify")
    return opened(record, load_sheet(event.sheet_text, f"the sheet kept with {record.job}").sheet)


def job_as_left(path: Path, job_id: str) -> tuple[Job, ev.Record]:
    """Return one job folded to its end, and its last record; the others are not kept. Raises as `job_records` does."""
    found = _stored(path, job_id)
    first, last = _typed(path, *found[0]), _typed(path, *found[-1])
    return fold(begin(first), (_typed(path, *each) for each in found[1:])), last


def load_job(path: Path, job_id: str) -> tuple[Job, tuple[ev.Record, ...]]:
    """Return one job folded to its end, and its records; raises what `job_records` raises."""
    found = job_records(path, job_id)
    with _no_garbage():
        return fold(begin(found[0]), found[1:]), found


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
