"""What one link has said: its frames in turn -> arrivals. No I/O and no clock: time is in the stamps of the frames."""

from dataclasses import replace
from decimal import Decimal

from drivers.decode.bind import Speech
from drivers.decode.decode import Frame, decode, undecoded
from drivers.profile.values import NumberValue
from drivers.reading import Arrival, Stamp, ToolPeak, ToolReading, TorqueSample, Undecoded

from .echo import Echo, echo
from .gather import DOUBLED, Gathering, cut_off, gather
from .old import is_old
from .standing import Standing, stand

FRESH_NS = 1_000_000_000
"""A value of a stream is the present one for this long."""
TWICE_RUNNING = 2
"""So many messages running of which a part came twice: the link doubles all it brings. A single one may be an echo."""
MISSED = "Frames before this one did not arrive: {missed}, by its counter; measure again what is missing."


class Hearing:
    """Understands the frames of one link.

    Which values of a length are readings is the profile's `capture`: each one that the button sends, the present one
    when a pedal is pressed, or one that has stood still. The stream between is not a reading.
    """

    def __init__(self, speech: Speech) -> None:
        self._speech = speech
        self._held = Gathering()
        self._before: dict[int, Frame] = {}
        self._ready: Stamp | None = None
        self._last_old: Stamp | None = None
        self._standing: dict[int, Standing] = {}
        self._present: ToolReading | None = None
        self._pressed: Stamp | None = None
        self._echo: dict[int, Echo] = {}
        self._in_parts: dict[int, int] = {}  # by handle, the messages running of which a part came twice

    @property
    def doubled(self) -> bool:
        """Whether all comes twice, as a stream or messages in parts have shown."""
        in_parts = any(count >= TWICE_RUNNING for count in self._in_parts.values())
        return in_parts or any(each.doubled for each in self._echo.values())

    @property
    def clean(self) -> bool:
        """Whether a stream or a message in parts has shown that what comes, comes once."""
        return 0 in self._in_parts.values() or any(each.clean for each in self._echo.values())

    @property
    def by_pedal(self) -> bool:
        """Whether a pedal makes its values readings."""
        return self._speech.capture == "pedal"

    def ready(self, at: Stamp) -> None:
        """Note that the tool was told to be ready: a person may have answered a prompt with what comes from now on."""
        self._ready = at

    def take(self, frame: Frame) -> tuple[Arrival, ...]:
        """Take one notification and return what it completes."""
        begun = frame.handle in self._held.held
        self._held, messages = gather(self._held, frame, self._speech)
        if begun and any(isinstance(each, Undecoded) and each.reason == DOUBLED for each in messages):
            self._in_parts[frame.handle] = self._in_parts.get(frame.handle, 0) + 1
        elif begun and any(isinstance(each, Frame) for each in messages):
            self._in_parts[frame.handle] = 0
        return tuple(arrival for message in messages for arrival in self._message(message))

    def end(self) -> tuple[Undecoded, ...]:
        """Return what was begun and will not be completed: the link has ended."""
        return cut_off(self._held, self._speech)

    def capture(self, at: Stamp) -> ToolReading | None:
        """Return the present value as a reading, because a pedal was pressed now; None where there is no such value.

        A pedal that bounces gives a duplicate.
        """
        present = self._present
        if present is None or at.mono_ns - present.at.mono_ns > FRESH_NS:
            return None
        before, self._pressed = self._pressed, at
        again = before is not None and at.mono_ns - before.mono_ns < self._speech.duplicate_ms * 1_000_000
        return replace(present, at=at, duplicate=again)

    def _message(self, message: Frame | Undecoded) -> tuple[Arrival, ...]:
        if isinstance(message, Undecoded):
            return (message,)
        arrival = decode(message, self._speech, self._before.get(message.handle))
        gap = self._gap(message)
        self._before[message.handle] = message
        return (*gap, *self._understood(arrival, message))

    def _gap(self, message: Frame) -> tuple[Undecoded, ...]:
        """Say that frames are missing before this one, where its counter shows it; what they said is never guessed."""
        bound, before = self._speech.of(message.handle), self._before.get(message.handle)
        if bound is None or before is None or not isinstance(bound.format, NumberValue) or not bound.format.counter:
            return ()
        counter, order = bound.format.counter, bound.format.order
        then, now = counter.read(before.payload, order), counter.read(message.payload, order)
        missed = 0 if then is None or now is None else counter.missed(then, now)
        return (undecoded(message, self._speech.tool, MISSED.format(missed=missed)),) if missed else ()

    def _understood(self, arrival: Arrival, message: Frame) -> tuple[Arrival, ...]:
        match arrival:
            case TorqueSample():
                state = self._echo.get(message.handle, Echo())
                self._echo[message.handle] = echo(state, message.payload, message.at.mono_ns, self._speech.sample_rate)
                return (arrival,)
            case ToolPeak():
                return (self._offered(arrival, message) if self._is_old(message) else arrival,)
            case ToolReading():
                return self._reading(arrival, message)
            case _:
                return (arrival,)

    def _reading(self, reading: ToolReading, message: Frame) -> tuple[Arrival, ...]:
        match self._speech.capture:
            case "button":
                return (replace(reading, old=self._is_old(message)),)
            case "pedal":
                if self._ready is not None:  # what came before may be from its memory
                    self._present = replace(reading, duplicate=False)
                return ()
            case "steady":
                return (replace(reading, duplicate=False),) if self._stands(reading, message) else ()

    def _offered(self, peak: ToolPeak, message: Frame) -> ToolReading:
        """Return a peak from the tool's memory as the old reading that it is: no pull of this link belongs to it."""
        return ToolReading(
            tool=peak.tool,
            quantity="torque",
            text=peak.text,
            unit=peak.unit,
            source=peak.source,
            raw=peak.raw,
            at=peak.at,
            kind=self._speech.kind,
            characteristic=message.uuid,
            duplicate=peak.duplicate,
            old=True,
        )

    def _stands(self, reading: ToolReading, message: Frame) -> bool:
        value, at_ns = Decimal(reading.text), message.at.mono_ns
        before = self._standing.get(message.handle)
        self._standing[message.handle], still = stand(before, value, reading.unit, at_ns, self._speech.steady)
        return still

    def _is_old(self, message: Frame) -> bool:
        since_ready = _since(self._ready, message.at)
        old = is_old(self._speech.backlog, message.payload, since_ready, _since(self._last_old, message.at))
        if old:
            self._last_old = message.at
        return old


def _since(then: Stamp | None, now: Stamp) -> int | None:
    return None if then is None else now.mono_ns - then.mono_ns
