"""Readings -> how far to turn each adjuster, and what to expect after; pure.

Flats are positive when they tighten (that side of the axle moves rearward). Left and right are seen from the
saddle, and a difference is always left reading minus right reading.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from logger.drive import Drive, Exact
from logger.units import as_decimal

Grows = Literal["rearward", "forward"]
Adjuster = Literal["pulls", "pushes", "cam"]

ROOM_WITHOUT_WINDOW_MM = 5.0
ROOM_WITHOUT_AGREEMENT_MM = 0.5
ROOM_WITHOUT_WIDTH_MM = 0.05
"""Of limits that leave nothing between them; ours, so that there is one answer nearest to them."""
NOISE_MM = Fraction(1, 10**9)
"""What the arithmetic of a forecast may be off: a forecast within this of a limit is on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nut:
    """What tightening the nut did the last time, taken to come again; loosened and seated, the axle comes back."""

    movement_mm: float
    """Of the axle at the sprocket, rearward positive."""
    difference_mm: Fraction = Fraction(0)
    """Of left minus right, as the gauge reads."""
    holds: bool = False
    """Whether the readings were taken with the nut tight, so that they hold it already."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceInput:
    """What the advice starts from; ValueError when it contradicts itself."""

    drive: Drive
    slack_mm: Mapping[str, Decimal] = field(hash=False)
    """Slack readings by place."""
    governing: str
    """The place whose slack is brought to the aim; the window holds for every place."""
    aim_mm: Fraction
    window_mm: tuple[Fraction, Fraction] | None = None
    difference_mm: Decimal | None = None
    """Left minus right gauge reading; None where it was not taken: both sides are then turned alike."""
    grows: Grows = "rearward"
    """Which way the axle has moved when a side's gauge reads more."""
    offset_mm: Exact = 0
    """The proven difference (left minus right reading) of this machine when its axle is square."""
    agree_within_mm: Fraction | None = None
    adjuster: Adjuster = "pulls"
    tightens: str = "clockwise"
    """Which way an adjuster is turned to tighten, as the person sees it."""
    last_turns: tuple[Fraction, Fraction] | None = None
    """Flats (left, right) of the adjustment before this one."""
    max_flats: int = 12
    left_share: Fraction = Fraction(1, 2)
    """Share of the left side's movement that reaches the sprocket; the rest is the right side's."""
    slack_u_mm: float = 0.0
    difference_u_mm: float = 0.0
    """Standard uncertainties of the governing slack and of the difference."""
    called: str = "slack"
    """What the sheet calls the slack, such as "chain sag"."""
    nut: Nut | None = None
    """What to allow for; None forecasts the next reading from what was read, and nothing else."""

    def __post_init__(self) -> None:
        if self.governing not in self.slack_mm:
            raise ValueError(f"no slack was read at {self.governing!r}, the place that governs: measure it first")
        for place, slack in self.slack_mm.items():
            if slack < 0:
                raise ValueError(f"slack at {place} is {slack} mm: it cannot be below zero, measure it again")
        if self.window_mm is not None and self.window_mm[0] > self.window_mm[1]:
            raise ValueError("the slack window's lowest value is above its highest: swap them")
        if self.max_flats < 1 or not 0 <= self.left_share <= 1:
            raise ValueError("at least one flat must be allowed, and the left share must lie between 0 and 1")

    @property
    def sense(self) -> int:
        """+1 where a larger gauge reading means further rearward, else -1."""
        return 1 if self.grows == "rearward" else -1

    @property
    def difference_before(self) -> Fraction:
        """The measured difference in mm; an axle that was not measured counts as square."""
        return Fraction(self.offset_mm if self.difference_mm is None else self.difference_mm)


@dataclass(frozen=True, slots=True)
class Advice:
    """Turns for each side and what to expect after them (unrounded, mm)."""

    left: Fraction
    right: Fraction
    axle_movement_mm: float
    """At the sprocket, rearward positive."""
    expected_slack_mm: Mapping[str, float | None]
    """By place; None where the chain would run taut, which only `predict` can answer."""
    expected_difference_mm: Fraction
    """Left minus right, as the gauge would read."""
    fits: bool
    """Every place inside the window and the sides in agreement; allowing for the nut, also before it is tight."""
    notes: tuple[str, ...] = ()


@lru_cache(maxsize=8)  # it is asked again at each event of an adjust prompt, and hundreds of answers take 30 ms
def advise(given: AdviceInput) -> Advice:
    """Solve both adjusters at once, whole flats first, half flats only where no whole answer fits.

    Among answers that fit, the cost is ((slack - aim) / room)^2 + ((difference - offset) / room)^2, where a room
    is half the window (or the agreement), less the standard uncertainty but never under a quarter of it; of equal
    costs the looser wins, then fewer sides going back, then sides turned more alike, then fewer turns. Where none
    fits, the smallest miss of the limits wins before the cost; as a tight place gains more from an axle movement than
    a loose one loses, that leans to the loose side. Taut is never an answer.
    """
    for denominator in (1, 2):
        fitting = [found for found in _answers(given, denominator) if found.fits]
        if fitting:
            best = min(fitting, key=lambda found: _rank(given, found))
            return _with_notes(given, best)
    best = min(_answers(given, 2), key=lambda found: (_miss(given, found), *_rank(given, found)))
    return _with_notes(given, best)


def predict(given: AdviceInput, left: Exact, right: Exact) -> Advice:
    """Say what these turns (flats, positive tightens) would give, without judging whether they are wise.

    Allowing for the nut, that is what will be read once it is tight; `snug` tells what will be read before.
    """
    turns = Fraction(left), Fraction(right)
    per_flat, nut = given.drive.per_flat_mm, given.nut
    moved = float(per_flat * (given.left_share * turns[0] + (1 - given.left_share) * turns[1]))
    more = nut.movement_mm if nut is not None and not nut.holds else 0.0
    apart = nut.difference_mm if nut is not None and not nut.holds else Fraction(0)
    slack = {place: given.drive.slack_after(read, moved + more) for place, read in given.slack_mm.items()}
    difference = given.difference_before + given.sense * per_flat * (turns[0] - turns[1]) + apart
    taut = [place for place, value in slack.items() if value is None]
    noise = NOISE_MM if moved + more else Fraction(0)  # what does not move is judged as it was read, exactly
    fits = not taut and _inside(given, given.slack_mm if not noise else slack, difference, noise)
    return Advice(
        *turns,
        axle_movement_mm=moved,
        expected_slack_mm=slack,
        expected_difference_mm=difference,
        fits=fits and (nut is None or predict(snug(given), *turns).fits),
        notes=tuple(f"the chain would run taut at {place}: do not turn so far" for place in taut),
    )


def snug(given: AdviceInput) -> AdviceInput:
    """Return the same case as it will be read with the axle seated and the nut snug, before it is tight."""
    nut = given.nut
    if nut is None or not nut.holds:
        return replace(given, nut=None)
    slack = {place: given.drive.slack_after(read, -nut.movement_mm) or 0.0 for place, read in given.slack_mm.items()}
    apart = None if given.difference_mm is None else given.difference_mm - as_decimal(nut.difference_mm)
    read = {place: Decimal(value).quantize(Decimal("0.001")) for place, value in slack.items()}
    return replace(given, slack_mm=read, difference_mm=apart, nut=None)


def _inside(
    given: AdviceInput, slack: Mapping[str, Decimal] | Mapping[str, float | None], difference: Fraction, noise: Fraction
) -> bool:
    """Whether everything lies within its limits; only a forecast slack is allowed the noise of its arithmetic."""
    if given.agree_within_mm is not None and abs(difference - Fraction(given.offset_mm)) > given.agree_within_mm:
        return False
    if given.window_mm is None:
        return True
    low, high = given.window_mm
    return all(value is not None and low - noise <= Fraction(value) <= high + noise for value in slack.values())


def _answers(given: AdviceInput, denominator: int) -> Iterator[Advice]:
    """Every pair of turns within reach that leaves slack everywhere."""
    reach = given.max_flats * denominator
    steps = [Fraction(step, denominator) for step in range(-reach, reach + 1)]
    for left in steps:
        for right in [left] if given.difference_mm is None else steps:
            found = predict(given, left, right)
            if None not in found.expected_slack_mm.values():
                yield found


def _room(half: float, uncertainty: float) -> float:
    return max(half - uncertainty, half / 4) or ROOM_WITHOUT_WIDTH_MM


def _rooms(given: AdviceInput) -> tuple[float, float]:
    window, agree = given.window_mm, given.agree_within_mm
    slack_half = ROOM_WITHOUT_WINDOW_MM if window is None else float(window[1] - window[0]) / 2
    side_half = ROOM_WITHOUT_AGREEMENT_MM if agree is None else float(agree)
    return _room(slack_half, given.slack_u_mm), _room(side_half, given.difference_u_mm)


def _rank(given: AdviceInput, found: Advice) -> tuple[float, ...]:
    """How an answer ranks, the least first: by its cost, then what moves less, goes back less and turns alike."""
    slack_room, side_room = _rooms(given)
    slack = found.expected_slack_mm[given.governing] or 0.0
    apart = float(abs(found.expected_difference_mm - Fraction(given.offset_mm)))
    cost = ((slack - float(given.aim_mm)) / slack_room) ** 2 + (apart / side_room) ** 2
    left, right = found.left, found.right
    going_back = (left < 0) + (right < 0)
    alike = float(abs(left - right)), float(abs(left) + abs(right))
    return (round(cost, 9), found.axle_movement_mm, going_back, *alike, -float(left))


def _miss(given: AdviceInput, found: Advice) -> float:
    """How far outside the limits an answer lies, each limit's miss as a share of its room."""
    slack_room, side_room = _rooms(given)
    missed = 0.0
    if given.window_mm is not None:
        low, high = map(float, given.window_mm)
        for value in found.expected_slack_mm.values():
            slack = value or 0.0
            missed += max(low - slack, slack - high, 0.0) / slack_room
    if given.agree_within_mm is not None:
        apart = abs(found.expected_difference_mm - Fraction(given.offset_mm))
        missed += max(0.0, float(apart - given.agree_within_mm)) / side_room
    return round(missed, 9)


def _with_notes(given: AdviceInput, best: Advice) -> Advice:
    return replace(best, notes=(*_doubts(given), *_misfit(given, best), *_how(given, best)))


def _doubts(given: AdviceInput) -> Iterator[str]:
    for place, slack in given.slack_mm.items():
        if slack == 0:
            yield (
                f"no {given.called} at {place}: the chain may be tighter than can be read; "
                "slacken, seat and measure again"
            )
    if given.window_mm is None:
        return
    low, high = given.window_mm
    excess = {place: given.drive.excess(slack) for place, slack in given.slack_mm.items()}
    if max(excess.values()) - min(excess.values()) > given.drive.excess(high) - given.drive.excess(low):
        yield (
            "the places differ by more than the window is wide: no turning brings them all in; "
            "look for uneven chain wear or a sprocket that runs out"
        )


def _misfit(given: AdviceInput, best: Advice) -> Iterator[str]:
    if best.fits:
        return
    slack = ", ".join(f"{place} {value:.1f} mm" for place, value in best.expected_slack_mm.items() if value)
    apart = float(best.expected_difference_mm - Fraction(given.offset_mm))
    yield f"nothing fits; nearest is {given.called} {slack}, sides {abs(apart):.2f} mm apart"
    if max(abs(best.left), abs(best.right)) == given.max_flats:
        yield f"{given.max_flats} flats are the most to turn at once: turn them, seat it, measure again"


def _how(given: AdviceInput, best: Advice) -> Iterator[str]:
    step = "notch" if given.adjuster == "cam" else "flat"
    last = given.last_turns or (Fraction(0), Fraction(0))
    if best.left.denominator == 2 or best.right.denominator == 2:
        yield f"a half {step}: " + ("between two notches" if given.adjuster == "cam" else "corner up")
    for side, flats, before in (("left", best.left, last[0]), ("right", best.right, last[1])):
        if flats < 0:
            yield f"{side} is to be loosened: turn it out one {step} too many, seat it, then in again by one"
        elif flats > 0 and before < 0:
            yield f"{side} was turned out last: take up its play {given.tightens} before counting"
