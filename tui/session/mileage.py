"""Beside a session: say at once when a mileage is noted that is less than that of the machine's job before."""

from collections.abc import Sequence
from pathlib import Path

from logger import events as ev
from logger.bench.moment import Moment
from logger.errors import EvenhandError
from logger.shelf.index import ask
from logger.shelf.machines import too_little
from logger.shelf.summing import mileage_unit
from logger.shelf.sums import JobSum, key_of
from logger.trail.file import is_there
from tui.services import Service, Workplace, notice


def earlier_jobs(trail: Path, machine: str) -> tuple[JobSum, ...]:
    """Return the real jobs of a machine, oldest first; none where the trail cannot be read, which is told elsewhere."""
    try:
        found = ask(trail, lambda index: index.machine(machine)) if is_there(trail) else None
    except EvenhandError:
        return ()
    jobs = () if found is None else found[1]
    return tuple(job for job in jobs if key_of(job.machine) == key_of(machine) and not job.simulated)


def said_of(moment: Moment, jobs: Sequence[JobSum]) -> str:
    """Return what is to be said of a mileage that was just noted; empty where there is nothing."""
    event = moment.record.event
    if not isinstance(event, ev.Noted) or not event.step:
        return ""
    unit = mileage_unit(moment.job.sheet, event.step)
    little = too_little(jobs, moment.job.id, event.text, unit) if unit else ""
    return f"{little}; note {event.step} and the right number correct it." if little else ""


def mileage_watch(jobs: Sequence[JobSum]) -> Service:
    """Return the service that warns of such a mileage; it ends at once on a machine without earlier jobs."""

    async def mileage(workplace: Workplace) -> None:
        async def warn(sentence: str) -> None:
            workplace.warn(sentence)

        if jobs:
            await notice(workplace, lambda moment: said_of(moment, jobs), warn)

    return mileage
