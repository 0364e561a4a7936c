"""The trace of a pull against the window it was pulled for, as plain values to plot; pure, and owns no rule."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from logger import events as ev
from logger.bench.moment import Moment
from logger.errors import BadInput
from logger.job.facts import Pull
from logger.job.named import check_title
from logger.job.torquepass import aim_of, aim_on_wrench, on_wrench, passes_of, window_of
from logger.sheets.sheet import TorqueStep, check_id
from logger.sheets.written import Window
from logger.units import Limits, Quantity, approx, approx_limits, decimals, show, trimmed

from .replaying import Frame


@dataclass(frozen=True, slots=True)
class Plot:
    """One pull, as the wrench read it, in the direction it was pulled."""

    title: str
    unit: str
    points: tuple[tuple[int, Fraction], ...]
    """Milliseconds from its first sample, and the torque."""
    low: Fraction | None = None
    high: Fraction | None = None
    aim: Fraction | None = None
    low_text: str = ""
    high_text: str = ""
    aim_text: str = ""
    peak_text: str = ""
    """The figure that decides."""
    verdict: ev.Verdict | None = None
    notes: tuple[str, ...] = ()

    @property
    def most(self) -> int:
        """Index of the largest sample, the first of equals."""
        return max(range(len(self.points)), key=lambda at: (self.points[at][1], -at))


def last_pull(frames: Sequence[Frame], at: int) -> Frame | None:
    """Return the frame of the last pull up to a frame; None before any."""
    found = (frame for frame in reversed(frames[: at + 1]) if isinstance(frame.moment.record.event, ev.PullTaken))
    return next(found, None)


def plot_of(moment: Moment) -> Plot | None:
    """Return the plot of the pull that a moment is of; None for another event. Without a trace it has no points."""
    event, job = moment.record.event, moment.job
    if not isinstance(event, ev.PullTaken):
        return None
    sign = -1 if event.direction == "anticlockwise" else 1
    points = tuple((ms, sign * abs(Fraction(Decimal(text)))) for ms, text in event.trace)
    plain = Plot("A pull nothing asked for", event.unit, points, peak_text=_peak(event), notes=_notes(event))
    meant = event.answers or event.touches
    step = job.sheet.by_id.get(meant.step) if meant is not None else None
    if meant is None or not isinstance(step, TorqueStep):
        return plain
    check = check_id(step.id, meant.place)
    pull = next((each for each in job.fastener((step.id, meant.place)).pulls if each.seq == moment.record.seq), None)
    windowed = _windowed(plain, step, pull) if pull is not None else plain
    verdict = moment.verdicts[check].verdict if pull is not None else None
    return replace(windowed, title=check_title(job, check), verdict=verdict)


def _windowed(plot: Plot, step: TorqueStep, pull: Pull) -> Plot:
    """The window of the pass it was made in, as the wrench had to show it; none where its unit is of no torque."""
    try:
        limits = on_wrench(window_of(step, pull.number), pull.adapter, pull.unit)
        aim = aim_on_wrench(aim_of(step, pull.number), pull.adapter, pull.unit)
    except BadInput:
        return plot
    low, high, wanted = _texts(window_of(step, pull.number), aim_of(step, pull.number), limits, aim, pull)
    one_of = (f"Pass {pull.number} of {passes_of(step)}",) if step.passes else ()
    return replace(
        plot,
        low=limits.low,
        high=limits.high,
        aim=aim,
        low_text=low,
        high_text=high,
        aim_text=wanted,
        notes=(*one_of, *plot.notes),
    )


def _texts(window: Window, wanted: Quantity, limits: Limits, aim: Fraction, pull: Pull) -> tuple[str, str, str]:
    """Limits and aim as the sheet wrote them; in another unit or with an adapter, as they come out."""
    low, high = window
    if pull.adapter is None and low is not None and high is not None and low.unit == high.unit == pull.unit:
        return show(low), show(high), show(wanted)
    digits = max(decimals(pull.text), 1)
    below, above = approx_limits(limits, pull.unit, digits)
    return below or "", above or "", approx(aim, pull.unit, digits)


def _peak(event: ev.PullTaken) -> str:
    peak = event.own_peak or event.host_peak
    return f"{trimmed(peak)} {event.unit}" if peak is not None else "no peak"


def _from(event: ev.PullTaken) -> str:
    """Where the figure that decides is from."""
    if event.own_peak is None:
        return "Largest sample" if event.host_peak is not None else ""
    if event.source == "typed":
        return "Set and clicked" if event.how == "set and clicked" else "Typed"
    largest = f"; largest sample {trimmed(event.host_peak)}" if event.host_peak is not None else ""
    return f"By the wrench{largest}"


def _notes(event: ev.PullTaken) -> tuple[str, ...]:
    aside = (f"Does not count: {event.set_aside}",) if event.set_aside else ()
    invalid = (f"Cannot be trusted: {event.invalid}",) if event.invalid else ()
    way = ("Anticlockwise",) if event.direction == "anticlockwise" else ()
    return (*aside, *invalid, *way, *filter(None, (_from(event),)), *event.warnings)
