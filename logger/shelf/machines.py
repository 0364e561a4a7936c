"""What the jobs of one machine tell together: how its chain wears, and what becomes due on it next; pure.

The rate is ordinary least squares, worked out exactly; when the limit is met, with its interval, is Fieller's theorem
(E. C. Fieller, 1954) on the fitted line, k from the GUM's table of Student's t (JCGM 100, table G.2).
"""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from logger.metrology.uncertainty import coverage_factor
from logger.units import show_number

from .sums import DueItem, Forecast, JobSum, MachineSum, number_of

# --- how the chain wears --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Point:
    """One reading of wear: the mileage in its own unit, elongation and its standard uncertainty as shares."""

    job: str
    mileage: Fraction
    share: Fraction
    """0.01 is 1 %."""
    u: float


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line by ordinary least squares, exact; its uncertainties are standard ones."""

    slope: Fraction
    intercept: Fraction
    count: int
    mean_x: Fraction
    sxx: Fraction
    scatter: float
    """Standard deviation of one reading: from what is left over, or what the readings are worth where that is more."""
    k: float

    @property
    def slope_u(self) -> float:
        """Standard uncertainty of the slope, as a share for each unit of the mileage."""
        return self.scatter / math.sqrt(self.sxx)


def fit_line(points: Sequence[tuple[Fraction, Fraction]], worth: float = 0.0) -> Line | None:
    """Fit (x, y); `worth` is what one y is worth at least. None for less than two different x."""
    count = len(points)
    mean_x, mean_y = (sum(each, Fraction(0)) / (count or 1) for each in (tuple(zip(*points, strict=True)) or ((), ())))
    sxx = sum(((x - mean_x) ** 2 for x, _ in points), Fraction(0))
    if sxx == 0:
        return None
    slope = sum(((x - mean_x) * (y - mean_y) for x, y in points), Fraction(0)) / sxx
    intercept = mean_y - slope * mean_x
    rest = sum(((y - intercept - slope * x) ** 2 for x, y in points), Fraction(0))
    left_over = math.sqrt(rest / (count - 2)) if count > 2 else 0.0
    by_scatter = left_over > worth
    k = float(coverage_factor(Fraction(count - 2))) if by_scatter else 2.0
    return Line(slope, intercept, count, mean_x, sxx, max(left_over, worth), k)


def crossing(line: Line, level: Fraction) -> tuple[float, float, float] | None:
    """Return where a rising line meets a level, with the ends of its interval; None where it does not surely rise."""
    slope, c = float(line.slope), float(level - line.intercept - line.slope * line.mean_x)
    noise = (line.k * line.scatter) ** 2
    a = slope**2 - noise / float(line.sxx)
    if slope <= 0 or a <= 0:
        return None
    root = math.sqrt(max(0.0, noise * (a / line.count + c**2 / float(line.sxx))))
    centre = float(line.mean_x)
    return centre + c / slope, centre + (slope * c - root) / a, centre + (slope * c + root) / a


def points_of(jobs: Sequence[JobSum]) -> tuple[tuple[Point, ...], str]:
    """Return the readings of wear since the chain was new last, in order, and the unit of their mileage.

    A chain is taken to be a new one where less wear is read than before by more than three times what both readings
    are worth, or where the mileage goes back.
    """
    unit = next((each.mileage_unit for each in reversed(jobs) if each.wear and each.mileage_unit), "")
    found: list[Point] = []
    for job in jobs:
        mileage = number_of(job.mileage)
        if job.wear is None or mileage is None or job.mileage_unit != unit:
            continue
        point = Point(job.job, mileage, Fraction(job.wear.share), float(job.wear.u))
        if found and (mileage < found[-1].mileage or _is_new(found[-1], point)):
            found.clear()
        found.append(point)
    return tuple(found), unit


def _is_new(before: Point, after: Point) -> bool:
    return float(before.share - after.share) > 3 * math.hypot(before.u, after.u)


def forecast_of(jobs: Sequence[JobSum]) -> Forecast | None:
    """Return how the chain of one machine wears; None where no wear was read at a mileage."""
    points, unit = points_of(jobs)
    if not points:
        return None
    limit = next((each.wear.limit for each in reversed(jobs) if each.wear is not None), None)
    worth = math.sqrt(sum(each.u**2 for each in points) / len(points))
    line = fit_line([(each.mileage, each.share) for each in points], worth)
    met = None if line is None or limit is None else crossing(line, Fraction(limit))
    at, earliest, latest = (f"{each:.0f}" for each in met) if met is not None else (None, None, None)
    return Forecast(
        unit=unit,
        points=tuple((each.job, show_number(each.mileage, 1), show_number(each.share, 6)) for each in points),
        limit=limit,
        slope=None if line is None else f"{float(line.slope):.4e}",
        slope_u=None if line is None else f"{line.slope_u:.2e}",
        intercept=None if line is None else f"{float(line.intercept):.6e}",
        at=at,
        earliest=earliest,
        latest=latest,
    )


def goes_back(jobs: Sequence[JobSum]) -> tuple[str, ...]:
    """Say of each mileage of a machine that is less than that of the job before, in one sentence; oldest first."""
    told: list[JobSum] = []
    said = []
    for job in jobs:
        mileage = number_of(job.mileage)
        before = next((each for each in reversed(told) if each.mileage_unit == job.mileage_unit), None)
        if mileage is None:
            continue
        if before is not None and mileage < (number_of(before.mileage) or 0):
            said.append(f"{_mileage(job)} of job {job.job} is less than the {_mileage(before)} of job {before.job}.")
        told.append(job)
    return tuple(said)


def too_little(jobs: Sequence[JobSum], job: str, mileage: str, unit: str) -> str:
    """Say that a mileage noted in a job is less than that of the job before it; empty where it is not."""
    earlier = [each for each in jobs if each.job != job and each.mileage_unit == unit and number_of(each.mileage)]
    noted, last = number_of(mileage), earlier[-1] if earlier else None
    if last is None or noted is None or noted >= (number_of(last.mileage) or 0):
        return ""
    return f"{mileage} {unit} is less than the {_mileage(last)} of job {last.job}: check it"


def _mileage(job: JobSum) -> str:
    return f"{job.mileage} {job.mileage_unit}".rstrip()


def wear_lines(found: Forecast, back: Sequence[str] = ()) -> tuple[str, ...]:
    """Say how a chain wears, in sentences; `back` is what `goes_back` says, which may be why there is no rate."""
    job, mileage, share = found.points[-1]
    limit = "" if found.limit is None else f", worn out at {_percent(found.limit)}"
    read = f"{_percent(share)} longer than new at {_plain(mileage)} {found.unit} (job {job}){limit}."
    if found.slope is None or found.slope_u is None:
        if back:
            return (read, "No rate: what was read before a mileage that goes back does not count.")
        return (read, "One mileage alone shows no rate.")
    rate, rate_u = (float(each) * 1e5 for each in (found.slope, found.slope_u))
    fitted = f"{rate:.3f} % per 1000 {found.unit}, standard uncertainty {rate_u:.3f} %, from {len(found.points)} jobs."
    if found.at is None:
        return (read, fitted, "That is not surely a rise yet: when the limit is met cannot be told.")
    return (
        read,
        fitted,
        f"At that rate it is worn out at {found.at} {found.unit}; with the uncertainty of the line between "
        f"{found.earliest} and {found.latest} {found.unit} (about 95 %).",
    )


def _percent(share: str) -> str:
    return f"{float(share):.2%}".replace("%", " %")


def _plain(mileage: str) -> str:
    return mileage.removesuffix(".0")


# --- what becomes due -----------------------------------------------------------------------------------------------


def machine_of(jobs: Sequence[JobSum]) -> MachineSum:
    """Sum up the jobs of one machine, oldest first; there is at least one."""
    last = jobs[-1]
    ran = [(date.fromisoformat(job.opened[:10]), mileage, job) for job in jobs if (mileage := number_of(job.mileage))]
    unit = ran[-1][2].mileage_unit if ran else ""
    ran = [each for each in ran if each[2].mileage_unit == unit]
    wear = forecast_of(jobs)
    per_day = _per_day([(day, mileage) for day, mileage, _ in ran])
    use = None if per_day is None or not ran else (ran[-1][0], ran[-1][1], per_day)
    return MachineSum(
        machine=last.machine,
        jobs=len(jobs),
        last_job=last.job,
        last=last.opened[:10],
        mileage=ran[-1][2].mileage if ran else None,
        unit=unit,
        per_day=None if per_day is None else show_number(per_day, 2),
        wear=wear,
        due=tuple(_expected(each, use) for each in (*_now(jobs), *_worn(wear), *_intervals(jobs))),
    )


def _per_day(ran: Sequence[tuple[date, Fraction]]) -> Fraction | None:
    """Mileage a day, of two years at most; None where it did not grow."""
    recent = [each for each in ran if (ran[-1][0] - each[0]).days <= 730]
    days = (recent[-1][0] - recent[0][0]).days if recent else 0
    grown = recent[-1][1] - recent[0][1] if recent else Fraction(0)
    return grown / days if days > 0 and grown > 0 else None


def _now(jobs: Sequence[JobSum]) -> Iterator[DueItem]:
    """What cannot wait: open jobs, call-backs, and overrides that stand in the newest closed job of each sheet.

    A call-back is settled by a job of the same sheet that was begun after the recall and is closed: a recall made after
    that job is not.
    """
    newest = {job.sheet: job for job in jobs if job.state == "closed"}
    for job in jobs:
        done_since = job.sheet in newest and newest[job.sheet].first > job.called_back_at
        if job.state == "open":
            yield DueItem(what=f"Job {job.job} is open", job=job.job, now=True)
        if job.call_back and not done_since:
            tools = ", ".join(job.call_back)
            settles = f"settled once a new job of {job.sheet} is closed"
            yield DueItem(what=f"Called back after the recall of {tools}, {settles}", job=job.job, now=True)
    for job in newest.values():
        for let in job.standing:
            yield DueItem(what=f"{let.title or let.check}: let pass by {let.name}: {let.note}", job=job.job, now=True)


def _worn(wear: Forecast | None) -> Iterator[DueItem]:
    if wear is None or wear.limit is None:
        return
    job, _, share = wear.points[-1]
    if Fraction(share) > Fraction(wear.limit):
        yield DueItem(what="The chain is worn out", job=job, now=True)
    elif wear.at is not None:
        between = f"between {wear.earliest} and {wear.latest} {wear.unit}"
        yield DueItem(what=f"The chain reaches its wear limit, {between}", job=job, at=wear.earliest)


_AFTER = re.compile(r"\s*([0-9]{1,7}(?:\.[0-9]{1,3})?)\s*([^\W\d_]+)\s*")
_DAYS = {"day": 1, "week": 7, "month": 30.44, "year": 365.25}
"""A month and a year are those of a calendar on average."""


def _intervals(jobs: Sequence[JobSum]) -> Iterator[DueItem]:
    """What the newest closed job of each sheet opened as becoming due; an older one is settled by it."""
    newest = {job.sheet: job for job in jobs if job.state == "closed"}
    for job in newest.values():
        for due in job.due:
            yield _interval(job, due.what, due.after)


def _interval(job: JobSum, what: str, after: str) -> DueItem:
    found, mileage = _AFTER.fullmatch(after), number_of(job.mileage)
    item = DueItem(what=what, job=job.job, after=after)
    if found is None:
        return item
    amount, unit = Fraction(found[1]), found[2].lower()
    if unit == job.mileage_unit.lower() and mileage is not None:
        return item.model_copy(update={"at": show_number(mileage + amount, 0)})
    days = _DAYS.get(unit.removesuffix("s"))
    if days is None:
        return item
    later, began = round(float(amount) * days), date.fromisoformat((job.closed or job.opened)[:10])
    if later > (date.max - began).days:  # the calendar ends before: only the words are told
        return item
    return item.model_copy(update={"day": (began + timedelta(days=later)).isoformat()})


def _expected(item: DueItem, use: tuple[date, Fraction, Fraction] | None) -> DueItem:
    """Add the day on which a mileage is expected, from how the machine was used so far; at most twenty years on."""
    if item.at is None or item.day is not None or use is None:
        return item
    last, mileage, per_day = use
    days = round((Fraction(item.at) - mileage) / per_day)
    if abs(days) > 7300:
        return item
    return item.model_copy(update={"day": (last + timedelta(days=days)).isoformat(), "is_expected": True})
