"""A stored job as frames of a timeline, and how it is played: position, speed and jumps; pure, and owns no rule."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from fractions import Fraction

from drivers.reading import ToolState
from logger import events as ev
from logger.bench.moment import Moment
from logger.bench.replay import moments, pause
from logger.job.named import spoken
from tui.glance.alarms import alarming
from tui.glance.glance import Slot, follow

from .linked import linked

LEAST_MS = 300
"""Every event is in sight this long at the speed of the job, however quickly the next one came."""
MOST_MS = 5000
"""A longer wait is shortened to this, and told."""
SPEEDS = tuple(Fraction(speed) for speed in ("1/4", "1/2", "1", "2", "4", "8", "16", "32"))


class Mark(Enum):
    """What a timeline can be jumped along to, with its shape; what matters most first."""

    OVERRIDE = "⚑"
    ADJUSTMENT = "⇄"
    WARNING = "!"
    COMMENT = "¶"


@dataclass(frozen=True, slots=True)
class Frame:
    """One event of a job with what was in sight then."""

    moment: Moment
    slot: Slot | None
    """The place whose value is in sight."""
    passed_ms: int
    """Since the event before, as it was."""
    marks: frozenset[Mark]
    then: Mapping[str, ev.Verdict]
    """Every verdict as it was shown when it happened."""
    tools: Mapping[str, ToolState] = field(default_factory=dict)
    """Every tool with its link, as far as the trail tells."""

    @property
    def wait_ms(self) -> int:
        """How long the event before stays in sight."""
        return min(max(self.passed_ms, LEAST_MS), MOST_MS)

    @property
    def shortened(self) -> bool:
        """Whether the job waited longer than is waited now."""
        return self.passed_ms > MOST_MS


Frames = Sequence[Frame]


def frames(records: Sequence[ev.Record]) -> tuple[Frame, ...]:
    """Return the frames of one job; TrailDamaged when it does not begin with its opening."""
    return tuple(_frames(records))


def _frames(records: Sequence[ev.Record]) -> Iterator[Frame]:
    slot: Slot | None = None
    then: Mapping[str, ev.Verdict] = {}
    tools: Mapping[str, ToolState] = {}
    before: Moment | None = None
    for moment in moments(records):
        slot, then = follow(slot, moment), {**then, **moment.record.shown.verdicts}
        tools = linked(tools, moment.record.event)
        passed = 0.0 if before is None else pause(before.record, moment.record)
        yield Frame(moment, slot, round(passed * 1000), frozenset(_marks(moment)), then, tools)
        before = moment


def _marks(moment: Moment) -> Iterator[Mark]:
    match moment.record.event:
        case ev.Overridden():
            yield Mark.OVERRIDE
        case ev.Turned():
            yield Mark.ADJUSTMENT
        case ev.Commented():
            yield Mark.COMMENT
        case _ if alarming(moment):
            yield Mark.WARNING


# --- playing --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Player:
    """Where a replay stands."""

    at: int = 0
    """Index of the frame in sight."""
    playing: bool = False
    speed: Fraction = Fraction(1)
    waited_ms: Fraction = Fraction(0)
    """Time of the job that has gone by since that frame came in sight."""


def toggled(player: Player, of: Frames) -> Player:
    """Play, or pause; at the end it begins again."""
    if player.playing:
        return replace(player, playing=False)
    at = 0 if player.at >= len(of) - 1 else player.at
    return replace(player, playing=len(of) > 1, at=at, waited_ms=Fraction(0))


def ticked(player: Player, of: Frames, passed_ms: int) -> Player:
    """Let time go by; at the last frame it pauses."""
    if not player.playing:
        return player
    at, waited = player.at, player.waited_ms + passed_ms * player.speed
    while at + 1 < len(of) and waited >= of[at + 1].wait_ms:
        at, waited = at + 1, waited - of[at + 1].wait_ms
    at_end = at + 1 >= len(of)
    return replace(player, at=at, playing=not at_end, waited_ms=Fraction(0) if at_end else waited)


def gone(player: Player, of: Frames, at: int) -> Player:
    """Go to a frame, the nearest there is, and pause."""
    return replace(player, at=min(max(at, 0), len(of) - 1), playing=False, waited_ms=Fraction(0))


def stepped(player: Player, of: Frames, by: int) -> Player:
    """Go so many frames on, or back."""
    return gone(player, of, player.at + by)


def jumped(player: Player, of: Frames, mark: Mark, *, back: bool = False) -> Player | None:
    """Go to the next frame with a mark, or the one before, round by the end; None where there is none at all."""
    places = [at for at, frame in enumerate(of) if mark in frame.marks]
    if not places:
        return None
    if back:
        return gone(player, of, next((at for at in reversed(places) if at < player.at), places[-1]))
    return gone(player, of, next((at for at in places if at > player.at), places[0]))


def sped(player: Player, by: int) -> Player:
    """Go faster or slower by so many steps of `SPEEDS`."""
    return replace(player, speed=SPEEDS[min(max(SPEEDS.index(player.speed) + by, 0), len(SPEEDS) - 1)])


# --- recorded beside worked out now ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Beside:
    """One check as it was shown when it happened and as it is judged now; None where only one of the two has it."""

    check: str
    title: str
    place: str
    then: ev.Verdict | None
    now: ev.Verdict | None
    value: str = ""

    @property
    def differs(self) -> bool:
        """Whether the two are not the same."""
        return self.then != self.now


def beside(frame: Frame) -> tuple[Beside, ...]:
    """Return every check of a frame, recorded and worked out, in sheet order."""
    now = frame.moment.verdicts
    return tuple(_beside(frame, check) for check in dict.fromkeys((*now, *frame.then)))


def _beside(frame: Frame, check: str) -> Beside:
    judged, then = frame.moment.verdicts.get(check), frame.then.get(check)
    if judged is None:
        return Beside(check, check, "", then, None)
    step_id, _, place = check.partition(".")
    value = f"{judged.text} {judged.unit}" if judged.text else ""
    title = frame.moment.job.sheet.by_id[step_id].title
    return Beside(check, title, spoken(place), then, judged.verdict, value)


def other_prompt(frame: Frame) -> str:
    """Return the prompt as it was shown, where another would be shown now; else nothing."""
    shown = frame.moment.record.shown.prompt
    return shown if shown != frame.moment.prompt.key else ""
