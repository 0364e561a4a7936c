"""What a pull is held against: the pass it was made in and the adapter on the wrench; all torques are at the fastener.

With passes every fastener goes through one, in order, before any begins the next; a fastener that was loosened begins
at the first again. Which pass a pull was made in is fixed when it is taken.
"""

from dataclasses import dataclass
from fractions import Fraction

from logger import events as ev
from logger.pulls.adapter import TorqueAdapter
from logger.sheets.sheet import TorqueStep
from logger.sheets.written import Window
from logger.units import Limits, Quantity, in_unit, parse_quantity

from .facts import Fastener, Job, Pull
from .judged import limit_in


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the pulls since loosening took one fastener."""

    holds: tuple[Pull, ...]
    """The pull that took it through each pass, the first that reached its window."""
    over: Pull | None
    """The first pull that went above the window of its pass at any instant."""

    @property
    def reached(self) -> int:
        """The number of the last pass it is through, 0 before the first."""
        return self.holds[-1].number if self.holds else 0


def passes_of(step: TorqueStep) -> int:
    """How many passes a step has, the last included."""
    return len(step.passes) + 1


def window_of(step: TorqueStep, number: int) -> Window:
    """Return the window of a pass at the fastener; the last pass has that of the step."""
    return step.passes[number - 1].window if number <= len(step.passes) else step.window


def aim_of(step: TorqueStep, number: int) -> Quantity:
    """Return the aim of a pass at the fastener."""
    return step.passes[number - 1].aim if number <= len(step.passes) else step.aim


# --- the adapter ----------------------------------------------------------------------------------------------------


def adapter_of(job: Job, step: TorqueStep) -> ev.Adapter | None:
    """Return the adapter on the wrench now: what a person declared, else what the sheet states."""
    if step.id in job.adapters:
        return job.adapters[step.id]
    table = step.adapter
    if table is None:
        return None
    return ev.Adapter(wrench=_text(table.wrench), extension=_text(table.extension), angle=table.angle)


def _text(quantity: Quantity) -> str:
    return f"{quantity.text} {quantity.unit}"


def geometry(adapter: ev.Adapter | None) -> TorqueAdapter | None:
    """Return an adapter for reckoning, in mm; BadInput when it cannot be."""
    if adapter is None:
        return None
    wrench, extension = (limit_in(parse_quantity(text), "mm") for text in (adapter.wrench, adapter.extension))
    return TorqueAdapter(wrench, extension, Fraction(adapter.angle))


def at_fastener(pull: Pull, shown: Fraction) -> Fraction:
    """Return what the fastener got when the wrench showed `shown` in a pull, in the same unit."""
    adapter = geometry(pull.adapter)
    return shown if adapter is None else adapter.at_fastener(shown)


def on_wrench(window: Window, adapter: ev.Adapter | None, unit: str) -> Limits:
    """Return a window at the fastener as what the wrench has to show, exactly."""
    limits, known = in_unit(window, unit), geometry(adapter)
    return limits if known is None else known.settings(limits)


def aim_on_wrench(aim: Quantity, adapter: ev.Adapter | None, unit: str) -> Fraction:
    """Return an aim at the fastener as what the wrench has to show or is set to, exactly and in `unit`."""
    exact, known = limit_in(aim, unit), geometry(adapter)
    return exact if known is None else known.setting(exact)


# --- passes ---------------------------------------------------------------------------------------------------------


def goes_over(step: TorqueStep, pull: Pull) -> bool:
    """Whether any instant of a pull lay above the window of its pass."""
    if pull.most is None:
        return False
    return at_fastener(pull, Fraction(pull.most)) > limit_in(window_of(step, pull.number)[1], pull.unit)


def takes_hold(step: TorqueStep, pull: Pull) -> bool:
    """Whether a pull took the fastener to the window of its pass, asked for or not: it is no longer from loose.

    The deciding peak tells; of a pull that cannot be trusted, any instant of it.
    """
    figure = pull.most if pull.invalid else pull.peak
    if figure is None:
        return False
    return at_fastener(pull, Fraction(figure)) >= limit_in(window_of(step, pull.number)[0], pull.unit)


def progress(step: TorqueStep, fastener: Fastener) -> Progress:
    """Return how far one fastener is since it was loosened."""
    holds: list[Pull] = []
    over: Pull | None = None
    for pull in fastener.since_loose:
        if over is None and goes_over(step, pull):
            over = pull
        if pull.number > (holds[-1].number if holds else 0) and takes_hold(step, pull):
            holds.append(pull)
    return Progress(tuple(holds), over)


def reached(job: Job, step: TorqueStep, slot: str) -> int:
    """Return the number of the last pass a fastener is through, 0 before the first."""
    return progress(step, job.fastener((step.id, slot))).reached
