"""How the chain of a record's machine wore up to that job, for the record's page."""

from collections.abc import Sequence

from logger.shelf.machines import forecast_of, wear_lines
from logger.shelf.sums import Forecast, JobSum

from .page import WearStory
from .plots import WearPlot

_SPARE = 1.05
"""How far beyond the last point, or the limit, a fitted line is drawn."""


def story_of(jobs: Sequence[JobSum], job: str) -> WearStory | None:
    """Return the story from the jobs of one machine, oldest first, up to and with one; None where no wear was read."""
    upto = next((place for place, each in enumerate(jobs, 1) if each.job == job), 0)
    found = forecast_of(jobs[:upto])
    if found is None:
        return None
    return WearStory(_plot(found) if len(found.points) > 1 else None, wear_lines(found))


def _plot(found: Forecast) -> WearPlot:
    points = [(float(mileage), float(share) * 100) for _, mileage, share in found.points]
    line = None if found.slope is None or found.intercept is None else (float(found.slope), float(found.intercept))
    last = points[-1][0]
    met = float(found.at) if found.at is not None else last
    return WearPlot(
        points=points,
        unit=found.unit,
        limit=None if found.limit is None else float(found.limit) * 100,
        line=None if line is None else (line[0] * 100, line[1] * 100),
        until=min(max(last, met) * _SPARE, 3 * last),
    )
