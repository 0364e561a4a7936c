"""What comes out of a torque stream: pulls, knocks and lone peaks; and the rise that becomes one of the first two."""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from drivers.reading import Source, Stamp, ToolPeak, TorqueSample
from logger.units import factor, unit_of

from .trace import Climb, Levels, Point, PullSettings, Trace, climb, levels, signed, value_of

Direction = Literal["clockwise", "anticlockwise"]
_MS = 1_000_000


@dataclass(frozen=True, slots=True)
class FoundPull:
    """One pull from rest to rest, in the unit of its samples; an anticlockwise one has negative peaks."""

    tool: str
    unit: str
    direction: Direction
    first_peak: Decimal
    """The peak at the click; the maximum where there was no click."""
    first_peak_text: str
    maximum: Decimal
    """The largest sample, unfiltered."""
    maximum_text: str
    started: Stamp
    ended: Stamp
    """When it fell."""
    sample_count: int
    period_ms: Decimal | None
    """Mean time between its samples as they arrived, in ms."""
    under_read_bound: Decimal | None
    """How far the true peak can lie above the maximum: rate of rise over sample rate; None when that cannot be told."""
    trace: Trace
    invalid: str = ""
    """Why no verdict can rest on it; empty when one can."""
    warning: str = ""
    """That the wrench did not read zero before it."""
    own_peak: ToolPeak | None = None
    """What the tool itself recorded: the figure that decides."""
    cross_check: str = ""
    """How the maximum and the tool's own peak disagree by more than sampling explains; empty when they agree."""
    source: Source = "sig"
    """How its samples were understood."""


@dataclass(frozen=True, slots=True)
class Knock:
    """A rise that is no pull: a knock, a rattle, or the bounce after a pull."""

    tool: str
    unit: str
    reason: str
    maximum: Decimal
    started: Stamp
    ended: Stamp
    trace: Trace
    own_peak: ToolPeak | None = None
    source: Source = "sig"


@dataclass(frozen=True, slots=True)
class LonePeak:
    """A tool's own peak that no pull was waiting for: too late, repeated, or of a tool that sends no samples."""

    peak: ToolPeak
    streams: bool
    """Whether this tool has sent samples; where not, the peak is all there is of a pull."""


Found = FoundPull | Knock | LonePeak


class Link(NamedTuple):
    """One sample of a growing trace and what came before it, so that adding one copies nothing."""

    earlier: "Link | None"
    ms: int
    text: str


@dataclass(frozen=True, slots=True)
class Rise:
    """A pull or knock in progress, as far as its samples go."""

    tool: str
    unit: str
    sign: int
    began: Stamp
    at: Stamp
    """When its last sample arrived."""
    climb: Climb
    chain: Link = field(repr=False, compare=False)
    count: int = 1
    up_ms: int | None = None
    """Since when it has been up without a break, ms from its first sample; None while fallen."""
    longest_ms: int = 0
    """The longest time it stayed up without a break."""
    invalid: str = ""
    source: Source = "sig"

    def spoiled(self, why: str) -> "Rise":
        """The same with the first reason why it cannot be trusted."""
        return replace(self, invalid=self.invalid or why)

    def ms_of(self, at: Stamp) -> int:
        """Milliseconds from its first sample; time never goes back."""
        return max((at.mono_ns - self.began.mono_ns) // _MS, self.climb.last.ms)

    def size(self, value: Decimal) -> Decimal:
        """A value in the direction of this pull."""
        return signed(value, self.sign)


def first_of(sample: TorqueSample, value: Decimal, sign: int, settings: PullSettings) -> Rise:
    """Begin a rise in a direction with one sample."""
    level, point = levels(settings, sample.unit), Point(0, signed(value, sign), sample.text or "")
    up = 0 if point.size >= level.start else None
    known, chain = climb(None, point, level, settings), Link(None, 0, point.text)
    return Rise(sample.tool, sample.unit, sign, sample.at, sample.at, known, chain, up_ms=up, source=sample.source)


def extended(rise: Rise, sample: TorqueSample, value: Decimal, settings: PullSettings) -> Rise:
    """Add one sample: up from `start` on, fallen below `rest`."""
    level = levels(settings, sample.unit)
    point = Point(rise.ms_of(sample.at), rise.size(value), sample.text or "")
    is_up = point.size >= (level.start if rise.up_ms is None else level.rest)
    up = (point.ms if rise.up_ms is None else rise.up_ms) if is_up else None
    return replace(
        rise,
        at=sample.at,
        climb=climb(rise.climb, point, level, settings),
        chain=Link(rise.chain, point.ms, point.text),
        count=rise.count + 1,
        up_ms=up,
        longest_ms=max(rise.longest_ms, 0 if up is None else point.ms - up),
    )


def why_no_pull(rise: Rise, fell_ns: int | None, settings: PullSettings) -> str:
    """Why this rise is no pull after the last one fell, or empty; a spoiled one is a pull, to be asked for again."""
    if rise.invalid:
        return ""
    if rise.longest_ms < settings.min_ms:
        return f"a knock: up for {rise.longest_ms} ms only"
    if fell_ns is not None and rise.at.mono_ns - fell_ns <= settings.dead_ms * _MS:
        return "the bounce after a pull"
    return ""


def ended(rise: Rise, own: ToolPeak | None, fell_ns: int | None, settings: PullSettings) -> FoundPull | Knock:
    """Close a rise; `fell_ns` is when the last pull before it fell."""
    knock, top, first = why_no_pull(rise, fell_ns, settings), rise.climb.top, rise.climb.first_peak
    maximum = signed(top.size, rise.sign)
    if knock:
        return Knock(rise.tool, rise.unit, knock, maximum, rise.began, rise.at, _trace(rise.chain), own, rise.source)
    pull = FoundPull(
        tool=rise.tool,
        unit=rise.unit,
        direction="clockwise" if rise.sign > 0 else "anticlockwise",
        first_peak=signed(first.size, rise.sign),
        first_peak_text=first.text,
        maximum=maximum,
        maximum_text=top.text,
        started=rise.began,
        ended=rise.at,
        sample_count=rise.count,
        period_ms=_period(rise),
        under_read_bound=rise.climb.under_read,
        trace=_trace(rise.chain),
        invalid=rise.invalid,
        source=rise.source,
    )
    return pull if own is None else with_own_peak(pull, own, levels(settings, rise.unit))


def _trace(chain: Link) -> Trace:
    found: list[tuple[int, str]] = []
    link: Link | None = chain
    while link is not None:
        found.append((link.ms, link.text))
        link = link.earlier
    return tuple(reversed(found))


def _period(rise: Rise) -> Decimal | None:
    if rise.count < 2:
        return None
    ns = Decimal(rise.at.mono_ns - rise.began.mono_ns) / (rise.count - 1)
    return (ns / _MS).quantize(Decimal("0.001"))


def with_own_peak(pull: FoundPull, own: ToolPeak, level: Levels) -> FoundPull:
    """Give a pull the tool's own peak and compare the two."""
    return replace(pull, own_peak=own, cross_check=_cross_check(pull, own, level))


def _cross_check(pull: FoundPull, own: ToolPeak, level: Levels) -> str:
    """Compare sizes, since a peak register may have no sign; a last digit each and four deviations are no doubt."""
    value, known = value_of(own.text), unit_of(own.unit)
    if value is None or known is None or known[0] != "torque":
        return f"the tool's own peak {own.text} {own.unit} is no torque"
    scale = factor(own.unit, pull.unit)
    peak, host = abs(Fraction(value)) * scale, abs(Fraction(pull.maximum))
    slack = _last_digit(value) * scale + _last_digit(pull.maximum) + 4 * Fraction(level.noise)
    said = f"the samples reached {pull.maximum_text} {pull.unit}, the tool's own peak is {own.text} {own.unit}"
    if host > peak + slack:
        return f"{said}: it must not be smaller"
    if pull.under_read_bound is not None and peak > host + Fraction(pull.under_read_bound) + slack:
        return f"{said}: further apart than the {pull.under_read_bound} {pull.unit} that sampling can miss"
    return ""


def _last_digit(value: Decimal) -> Fraction:
    exponent = value.as_tuple().exponent
    return Fraction(10) ** exponent if isinstance(exponent, int) else Fraction(0)
