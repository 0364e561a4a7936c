"""What a person calls a place, a check, fasteners, a reading and a number of flats; pure."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from logger.units import trimmed

from .facts import Job, Place


def spoken(place: str) -> str:
    """A place or fastener as a person says it."""
    return place.replace("_", " ").replace("-", " ")


def target(job: Job, step_id: str, place: str) -> str:
    """The step's title with its place, "Chain slack, tightest"; its id where the sheet has no such step."""
    step = job.sheet.by_id.get(step_id)
    title = step_id if step is None else step.title
    return f"{title}, {spoken(place)}" if place else title


def check_title(job: Job, check: str) -> str:
    """A check as a person says it."""
    step, _, place = check.partition(".")
    return target(job, step, place)


def fastener_names(job: Job, names: tuple[str, ...]) -> str:
    """Fasteners as a person says them, "Axle nut; Adjuster lock nuts, left"."""
    return places_named(job, job.sheet.fasteners(names))


def places_named(job: Job, places: Iterable[Place]) -> str:
    """Places of steps as a person says them; a name may hold a comma, so none stands between two."""
    return "; ".join(target(job, step, place) for step, place in places)


def reading_named(job: Job, seq: int) -> str:
    """A counted reading or pull by its number as a person says it, "40.6 mm for Axle position, left"; empty if none.

    One that was taken back is still known.
    """
    for (step, place), attempts in job.attempts.items():
        for taken in (taken for attempt in attempts for taken in attempt.taken):
            if taken.seq == seq:
                part = f", {taken.part}" if taken.part else ""
                return f"{trimmed(taken.text)} {taken.unit} for {target(job, step, place)}{part}"
    for (step, place), fastener in job.fasteners.items():
        for pull in fastener.pulls:
            if pull.seq == seq:
                return f"{pull.text} {pull.unit} on {target(job, step, place)}"
    return ""


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
