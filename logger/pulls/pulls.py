"""Torque samples -> pulls: at rest, pulling, fallen; one pure step per arrival, so chunks of any size agree.

A pull begins when a sample reaches `start` either way round and is over `release_ms` after it fell below `rest`. Then,
where the tool keeps its own peak, the pull waits for it, since that figure decides and the stream only checks it.
What a pull means (run-up, re-hit, too high) is decided elsewhere, and so are knocks and peaks that belong to no pull:
they come out too, so that nothing is lost. Samples lost on the way must arrive as samples without text.
"""

from dataclasses import dataclass, replace
from decimal import Decimal

from drivers.reading import ToolPeak, TorqueSample

from .found import Found, FoundPull, Knock, LonePeak, Rise, ended, extended, first_of, why_no_pull, with_own_peak
from .trace import Noise, PullSettings, levels, noise_at_rest, replayed, signed, value_of

__all__ = [
    "Found",
    "FoundPull",
    "Knock",
    "Live",
    "LonePeak",
    "Noise",
    "PullSettings",
    "PullState",
    "feed",
    "flush",
    "noise_at_rest",
    "replayed",
]

_MS = 1_000_000
_FOREVER = 1 << 100


@dataclass(frozen=True, slots=True)
class Live:
    """What a screen shows of a wrench now."""

    text: str | None
    """The present value as received, or None when not known."""
    unit: str
    held: str | None
    """The largest value of the pull in progress as received, or None at rest."""


@dataclass(frozen=True, slots=True)
class PullState:
    """Where the stream of one tool stands; `PullState()` is before its first sample."""

    seen: TorqueSample | None = None
    """The last sample; None before any and once the stream has ended."""
    rise: Rise | None = None
    """The pull (or knock) in progress."""
    fallen: Rise | None = None
    """The same as it was when it fell, until it is over or goes on."""
    own: ToolPeak | None = None
    """The tool's own peak of the pull in progress."""
    waiting: FoundPull | None = None
    """A pull that is over and waits for the tool's own peak."""
    fell_ns: int | None = None
    """When the last pull fell."""
    off_zero_ns: int | None = None
    warning: str = ""
    """One sentence when the wrench does not read zero at rest."""
    streams: bool = False
    """Whether this tool has ever sent a sample."""

    @property
    def live(self) -> Live:
        """The present value and the held maximum."""
        held = self.rise.climb.top.text if self.rise else None
        return Live(self.seen.text, self.seen.unit, held) if self.seen else Live(None, "", None)


Step = tuple[PullState, tuple[Found, ...]]


def feed(state: PullState, arrival: TorqueSample | ToolPeak, settings: PullSettings) -> Step:
    """Take one arrival of one tool; BadInput when its unit is no torque."""
    state, out = _pass_time(state, arrival.at.mono_ns, settings)
    if isinstance(arrival, ToolPeak):
        state, more = _peak(state, arrival, settings)
    else:
        state, more = _sample(state, arrival, settings)
    return state, out + more


def flush(state: PullState, now_mono_ns: int | None, settings: PullSettings) -> Step:
    """Let time pass without samples: what is over by then comes out; None says that the stream has ended."""
    now = now_mono_ns if now_mono_ns is not None else _FOREVER
    state, out = _pass_time(state, now, settings)
    return (state, out) if now_mono_ns is not None else (replace(state, seen=None), out)


def _pass_time(state: PullState, now_ns: int, settings: PullSettings) -> Step:
    """End what is over by now."""
    out: tuple[Found, ...] = ()
    if state.fallen is not None:
        if now_ns - state.fallen.at.mono_ns >= settings.release_ms * _MS:
            state, out = _end(state, state.fallen, settings)
    elif state.rise is not None and state.seen and now_ns - state.seen.at.mono_ns >= settings.lost_ms * _MS:
        state, out = _end(state, state.rise.spoiled("the stream ended inside the pull"), settings)
    waited = state.waiting
    if waited is not None and now_ns - waited.ended.mono_ns >= settings.own_peak_within_ms * _MS:
        return replace(state, waiting=None), (*out, waited)
    return state, out


def _end(state: PullState, rise: Rise, settings: PullSettings) -> Step:
    found = ended(rise, state.own, state.fell_ns, settings)
    state = replace(state, rise=None, fallen=None, own=None)
    if isinstance(found, Knock):
        return state, (found,)
    found = replace(found, warning=state.warning)
    state = replace(state, fell_ns=found.ended.mono_ns)
    state, out = _no_longer_wait(state)
    if settings.has_own_peak and found.own_peak is None:
        return replace(state, waiting=found), out
    return state, (*out, found)


def _no_longer_wait(state: PullState) -> Step:
    return (replace(state, waiting=None), (state.waiting,)) if state.waiting else (state, ())


def _peak(state: PullState, peak: ToolPeak, settings: PullSettings) -> Step:
    """Give the tool's own peak to the pull that waits for it, or else to the one in progress."""
    if peak.duplicate:
        return state, (LonePeak(peak, state.streams),)
    if state.waiting is not None:
        found = with_own_peak(state.waiting, peak, levels(settings, state.waiting.unit))
        return replace(state, waiting=None), (found,)
    if state.rise is None:
        return state, (LonePeak(peak, state.streams),)
    earlier = (LonePeak(state.own, state.streams),) if state.own else ()
    return replace(state, own=peak), earlier


def _sample(state: PullState, sample: TorqueSample, settings: PullSettings) -> Step:
    value, broken = value_of(sample.text), _broken(state.seen, sample, settings)
    if broken:
        state = replace(state, seen=None)
    out: tuple[Found, ...] = ()
    more: tuple[Found, ...] = ()
    if state.rise is not None and state.rise.unit != sample.unit:
        state, out = _end(state, state.fallen or state.rise.spoiled("the unit changed inside the pull"), settings)
    if state.rise is None:
        state = _resting(state, sample, value, settings)
    else:
        state, more = _pulling(state, state.rise.spoiled(broken), sample, value, settings)
    return replace(state, seen=sample, streams=True), out + more


def _broken(seen: TorqueSample | None, sample: TorqueSample, settings: PullSettings) -> str:
    """Why this sample does not follow on the last one, or empty."""
    if seen is None:
        return ""
    silence_ms = (sample.at.mono_ns - seen.at.mono_ns) // _MS
    if silence_ms > settings.gap_ms:
        return f"a gap of {silence_ms} ms in the stream"
    return "samples out of order" if silence_ms < 0 else ""


def _resting(state: PullState, sample: TorqueSample, value: Decimal | None, settings: PullSettings) -> PullState:
    if value is None:
        return state
    if value.copy_abs() < levels(settings, sample.unit).start:
        return _watch_zero(state, sample, value, settings)
    return replace(state, rise=_begin(state.seen, sample, value, settings), off_zero_ns=None)


def _begin(before: TorqueSample | None, sample: TorqueSample, value: Decimal, settings: PullSettings) -> Rise:
    """Begin with the last sample at rest, so that the first step of the rise is known."""
    sign, start = 1 if value > 0 else -1, levels(settings, sample.unit).start
    rested = value_of(before.text) if before is not None and before.unit == sample.unit else None
    if before is None or rested is None or signed(rested, sign) >= start:
        return first_of(sample, value, sign, settings).spoiled("the stream does not show how it began")
    if signed(rested, -sign) >= start:
        return first_of(sample, value, sign, settings)
    return extended(first_of(before, rested, sign, settings), sample, value, settings)


def _pulling(state: PullState, rise: Rise, sample: TorqueSample, value: Decimal | None, settings: PullSettings) -> Step:
    if value is None:
        return replace(state, rise=rise.spoiled("a sample without a value")), ()
    if rise.size(value) <= -levels(settings, sample.unit).start:
        state, out = _end(state, state.fallen or rise, settings)
        return _resting(state, sample, value, settings), out
    rise = extended(rise, sample, value, settings)
    if rise.up_ms is not None and rise.climb.last.ms >= settings.max_ms:
        return _end(state, rise.spoiled("it never came back to rest: zero the wrench"), settings)
    state = replace(state, rise=rise, fallen=None if rise.up_ms is not None else state.fallen or rise)
    if state.waiting is None or why_no_pull(state.fallen or rise, state.fell_ns, settings):
        return state, ()
    return _no_longer_wait(state)


def _watch_zero(state: PullState, sample: TorqueSample, value: Decimal, settings: PullSettings) -> PullState:
    """Say that the wrench is off zero once it has been so for a while; a touch is not an offset."""
    if value.copy_abs() <= levels(settings, sample.unit).zero_band:
        return replace(state, off_zero_ns=None, warning="")
    since = sample.at.mono_ns if state.off_zero_ns is None else state.off_zero_ns
    if sample.at.mono_ns - since < settings.zero_ms * _MS:
        return replace(state, off_zero_ns=since)
    said = f"The wrench reads {sample.text} {sample.unit} at rest: zero the wrench."
    return replace(state, warning=said)
