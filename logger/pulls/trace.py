"""What one pull's samples say: its first peak, its maximum, how far sampling can under-read it; and the settings.

Peaks are the raw samples, unfiltered, digit for digit: a filter eats the peak of a fast pull, and a maximum that was
computed could not be checked against what the tool sent. A raw maximum over-reads by the noise instead, which is one
more reason why it only cross-checks the tool's own peak.
"""

import functools
import statistics
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import NamedTuple, Self

from drivers.reading import TorqueSample
from logger.errors import BadInput
from logger.units import factor

Trace = tuple[tuple[int, str], ...]
"""Milliseconds from the first sample, and the value exactly as received."""


@dataclass(frozen=True, slots=True)
class PullSettings:
    """When samples are a pull; torques in `unit`, converted to the unit of the samples; BadInput where absurd."""

    unit: str = "N·m"
    start: Decimal = Decimal(5)
    """A value this far from zero begins a pull, either way round."""
    rest: Decimal | None = None
    """Below this a pull is released; half of `start` when None. The two apart are the hysteresis."""
    zero_band: Decimal = Decimal(1)
    """A rest value further from zero than this asks to zero the wrench."""
    noise: Decimal = Decimal("0.1")
    """Standard deviation of the samples at rest."""
    click_share: Decimal = Decimal("0.05")
    """A fall of this share of the largest value, within `click_ms` and above the noise, is a click: a first peak."""
    click_ms: int = 100
    release_ms: int = 200
    """A pull is over when nothing reached `start` for this long after it fell below `rest`."""
    min_ms: int = 80
    """A pull stays above `rest` for at least this long, first to last sample; what does not is a knock."""
    dead_ms: int = 300
    """A rise that is over again within this time after a pull fell is its bounce."""
    gap_ms: int = 250
    """A longer silence hides something."""
    lost_ms: int = 2000
    """After a longer silence the stream has ended."""
    max_ms: int = 60_000
    """Nobody pulls longer than this: the tool does not come back to zero."""
    zero_ms: int = 500
    """How long a rest value must be off zero before a person is bothered with it."""
    has_own_peak: bool = True
    """Whether a pull waits for the peak that the tool itself recorded."""
    own_peak_within_ms: int = 1000
    """How long after the fall it waits."""

    def __post_init__(self) -> None:
        if not 0 < self.released_below <= self.start:
            raise BadInput(
                f"A pull cannot begin at {self.start} {self.unit} and be released below {self.released_below}.",
                "Give a start above zero, and a rest between zero and the start.",
            )

    @property
    def released_below(self) -> Decimal:
        """The level below which a pull is released, in `unit`."""
        return self.start / 2 if self.rest is None else self.rest

    def above(self, noise: "Noise") -> Self:
        """These settings with thresholds clear of the noise at rest: ten deviations to begin, five to be released."""
        sigma = _scaled(noise.sigma, noise.unit, self.unit)
        start, rest = max(self.start, 10 * sigma), max(self.released_below, 5 * sigma)
        return replace(self, start=start, rest=rest, noise=max(self.noise, sigma))


class Levels(NamedTuple):
    """The torques of the settings in the unit of the samples."""

    start: Decimal
    rest: Decimal
    zero_band: Decimal
    noise: Decimal


def _scaled(value: Decimal, unit: str, to: str) -> Decimal:
    if unit == to:
        return value
    exact = Fraction(value) * factor(unit, to)
    return Decimal(exact.numerator) / exact.denominator


@functools.lru_cache(maxsize=64)
def levels(settings: PullSettings, unit: str) -> Levels:
    """Return the thresholds in `unit`; BadInput when it is no torque. They find pulls and judge nothing."""
    found = (settings.start, settings.released_below, settings.zero_band, settings.noise)
    return Levels(*(_scaled(value, settings.unit, unit) for value in found))


def value_of(text: str | None) -> Decimal | None:
    """Return the exact number, or None where the tool did not know it or sent no finite number."""
    try:
        value = Decimal(text) if text is not None else None
    except InvalidOperation:
        return None
    return value if value is not None and value.is_finite() else None


class Noise(NamedTuple):
    """What a wrench reads when nobody touches it."""

    offset: Decimal
    sigma: Decimal
    unit: str


def noise_at_rest(samples: Iterable[TorqueSample]) -> Noise:
    """Estimate offset and standard deviation from samples at rest, robust against a few knocks.

    Median, and 1.4826 times the median absolute deviation (the usual factor for a normal distribution); BadInput
    below 20 known samples of one unit.
    """
    known = [(value, each.unit) for each in samples if (value := value_of(each.text)) is not None]
    units = {unit for _, unit in known}
    if len(known) < 20 or len(units) > 1:
        raise BadInput(
            f"The noise at rest cannot be told from {len(known)} samples in {len(units)} units.",
            "Leave the wrench untouched until it has sent at least 20 samples in one unit.",
        )
    offset = statistics.median(value for value, _ in known)
    spread = statistics.median(abs(value - offset) for value, _ in known)
    return Noise(offset, spread * Decimal("1.4826"), units.pop())


class Point(NamedTuple):
    """One sample of a pull: time from its first, torque in the direction of the pull, and the text received."""

    ms: int
    size: Decimal
    text: str


class Climb(NamedTuple):
    """What is known of a pull after some of its samples; `climb` adds one more."""

    top: Point
    """The largest sample so far, the first of equals."""
    top_until: int
    """When the largest value was last seen."""
    last: Point
    first: Point | None = None
    """The peak before the first click, once there was one."""
    steepest: Decimal = Decimal(0)
    """Largest rise from one sample to the next: rate of rise divided by the sample rate."""
    rising: int = 0
    """Samples above the rest level up to the largest."""
    high: int = 0
    """Samples above the rest level so far."""

    @property
    def first_peak(self) -> Point:
        """The peak at the click, or the maximum of a pull that did not click."""
        return self.first or self.top

    @property
    def under_read(self) -> Decimal | None:
        """How far the true peak can lie above the largest sample, or None when the stream is too slow to tell.

        The tool may have climbed for almost a whole sample period after its largest sample, at the steepest rate seen;
        that needs one whole period within the rise, so two samples of it.
        """
        return self.steepest if self.rising >= 2 else None


def climb(before: Climb | None, point: Point, level: Levels, settings: PullSettings) -> Climb:
    """Add one sample to what is known of a pull."""
    high = (before.high if before else 0) + (point.size >= level.rest)
    if before is None:
        return Climb(point, point.ms, point, rising=high, high=high)
    steepest = max(before.steepest, point.size - before.last.size)
    now = before._replace(last=point, steepest=steepest, high=high)
    if point.size > before.top.size:
        return now._replace(top=point, top_until=point.ms, rising=high)
    if point.size == before.top.size:
        return now._replace(top_until=point.ms)
    clicked = before.first is None and _is_click(before, point, level, settings)
    return now._replace(first=before.top) if clicked else now


def _is_click(before: Climb, point: Point, level: Levels, settings: PullSettings) -> bool:
    fall = before.top.size - point.size
    sudden = point.ms - before.top_until <= settings.click_ms
    return sudden and fall >= max(before.top.size * settings.click_share, 6 * level.noise)


def signed(value: Decimal, sign: int) -> Decimal:
    """The size of a value in the direction of a pull; copied, since arithmetic would round to the context."""
    return value if sign > 0 else value.copy_negate()


def replayed(trace: Trace, settings: PullSettings, unit: str) -> Climb:
    """Recompute a pull from its stored trace by the steps it went through live; BadInput when it is empty."""
    values = [(ms, Decimal(text), text) for ms, text in trace]
    if not values:
        raise BadInput("The trace of this pull is empty.", "A typed torque and a lone peak have none to replay.")
    sign = 1 if max(values, key=lambda each: abs(each[1]))[1] >= 0 else -1
    known: Climb | None = None
    for ms, value, text in values:
        known = climb(known, Point(ms, signed(value, sign), text), levels(settings, unit), settings)
    assert known is not None
    return known
