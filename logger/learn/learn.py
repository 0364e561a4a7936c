"""Frames with known readings -> every way of reading that fits them all, and the reading to ask for next; pure."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from .busy import busy_octets
from .capture import Seen
from .kind import Around, Sorted, measurements
from .number import NumberGuess, number_guesses
from .rivals import Guess, widest
from .scale import Display, displays
from .text import text_guesses

MOST_FITS = 100
FAR = 20
"""A number so many times the largest one shown is none, unless it is within what such tools measure."""
MOST_WORK = 12_000_000
"""Octets looked at for all ways of reading together, in some seconds; long frames that repeat a number have more."""
STRAINED = 6
"""A number so many times the largest one shown makes a fit less likely."""
WITHIN: Mapping[str, int] = {"mm": 1000, "in": 40, "N·m": 1000, "lbf·ft": 750, "lbf·in": 9000, "kgf·m": 100}


@dataclass(frozen=True, slots=True)
class Fit:
    """One way of reading that fits every known reading of a characteristic."""

    characteristic: str
    """As given."""
    guess: Guess
    readings: Mapping[int, str]
    """What each measurement says, by its place in the capture: "30.41 mm", the unit spelled as it was shown."""
    known: int
    """How many different readings it rests on."""
    alike: tuple[Guess, ...]
    """The other guesses, which read every frame seen alike."""
    odd: frozenset[int] = frozenset()
    """Frames that look like measurements, but whose number cannot be."""
    doubtful: tuple[int, ...] = ()
    """Measurements with bits never seen beside a shown value."""

    def uuid(self, frames: Sequence[Seen]) -> str:
        """Return the characteristic in full."""
        return frames[next(iter(self.readings))].uuid


@dataclass(frozen=True, slots=True)
class Ask:
    """The reading to take next."""

    say: str
    """One sentence for a person."""
    place: int | None = None
    """The frame of the capture whose reading would tell best, where there is one."""
    readings: tuple[str, ...] = ()
    """What that frame says, by one fit or another."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """What was learned from a capture."""

    frames: tuple[Seen, ...]
    fits: tuple[Fit, ...]
    """Likeliest first; those that read every frame seen alike are one."""
    ask: Ask | None
    """None when one fit is left, or none."""
    refusal: str = ""
    """Why there is no fit."""
    shown: Mapping[str, Display] = field(default_factory=dict)


class TooManyError(Exception):
    """More ways of reading fit than can be compared in a few seconds."""


def learn(frames: Sequence[Seen]) -> Lesson:
    """Find every way of reading that fits each known reading of a capture."""
    frames = tuple(frames)
    known = [each for each in frames if each.shown is not None]
    refusal = _too_little(known)
    if refusal:
        return Lesson(frames, (), Ask(FIRST) if not known or _all_zero(known) else None, refusal)
    shown = displays(each.shown for each in known if each.shown is not None)
    uuids = Counter(each.uuid for each in known)
    try:
        fits = [fit for uuid, _ in uuids.most_common() for fit in _of_characteristic(frames, uuid, shown)]
    except TooManyError:
        return Lesson(frames, (), None, TOO_MANY, shown)
    fits.sort(key=lambda fit: (-fit.known, fit.guess.rank))
    refusal = "" if fits else NONE_FITS
    return Lesson(frames, tuple(fits[:MOST_FITS]), _ask(frames, fits), refusal, shown)


FIRST = "Measure something that is not zero, and write down what the display shows beside its frame."
TOO_MANY = (
    "More ways of reading fit the readings shown than can be compared; keep fewer frames, "
    "and readings that differ more."
)
NONE_FITS = (
    "No way of reading that is known fits every reading shown; check that each was read off the display "
    "when its frame came."
)


def _too_little(known: Sequence[Seen]) -> str:
    if not known:
        return 'No frame has a reading beside it ("shown"); at least two different ones are needed.'
    kinds = {spelled in _TORQUES for spelled in (each.shown.unit for each in known if each.shown)}
    if len(kinds) > 1:
        return "Some readings are lengths and some are torques; learn one tool at a time."
    return "Every reading shown is zero; measure something that is not." if _all_zero(known) else ""


_TORQUES = {"N·m", "cN·m", "dN·m", "daN·m", "N·cm", "kgf·m", "kgf·cm", "lbf·ft", "lbf·in", "ozf·in"}


def _all_zero(known: Sequence[Seen]) -> bool:
    return all(each.shown is not None and not each.shown.value for each in known)


# --- one characteristic ---------------------------------------------------------------------------------------------


def _of_characteristic(frames: Sequence[Seen], uuid: str, shown: Mapping[str, Display]) -> list[Fit]:
    places = [i for i, each in enumerate(frames) if each.uuid == uuid]
    mine = [frames[i] for i in places]
    known = [each for each in mine if each.shown is not None]
    if _all_zero(known):
        return []
    busy = busy_octets([each.octets for each in mine], [each.octets for each in known])
    guesses: list[Guess] = [*number_guesses(known, shown, busy), *text_guesses(known, shown)]
    guesses.sort(key=lambda guess: guess.rank)
    if len(guesses) * sum(len(each.octets) for each in mine) > MOST_WORK:
        raise TooManyError
    distinct = len({abs(each.shown.value) for each in known if each.shown is not None})
    fits = [_fit(guess, mine, places, shown, distinct) for guess in guesses]
    limits = {unit: value * STRAINED for unit, value in _largest(mine).items()}
    merged = [_strained(fit, limits, shown) for fit in _merged(fits)]
    return _undominated(merged)


def _strained(fit: Fit, limits: Mapping[str, Decimal], shown: Mapping[str, Display]) -> Fit:
    """Return a fit as less likely where it reads something far larger than all that was shown."""
    most = {display.spelled: limits[unit] for unit, display in shown.items() if unit in limits}
    pairs = (text.split(" ", 1) for text in fit.readings.values())
    far = any(abs(Decimal(number)) > most.get(unit, Decimal(0)) for number, unit in pairs)
    return replace(fit, guess=replace(fit.guess, rank=fit.guess.rank + 6)) if far else fit


def _fit(guess: Guess, mine: Sequence[Seen], places: Sequence[int], shown: Mapping[str, Display], known: int) -> Fit:
    if isinstance(guess, NumberGuess):
        around = Around(guess.value.offset, frozenset(guess.span))
        limits = _limits(mine)
        kinds = measurements(mine, around, lambda seen: _plausible(guess, seen, limits))
    else:
        read = frozenset(i for i, each in enumerate(mine) if guess.raw(each.octets) is not None)
        kinds = Sorted(read, frozenset(), frozenset())
    readings = {places[i]: reading_of(guess, mine[i], shown) for i in sorted(kinds.measured)}
    odd, doubtful = ({places[i] for i in some} for some in (kinds.odd, kinds.doubtful))
    return Fit(mine[0].characteristic, guess, readings, known, (), frozenset(odd), tuple(sorted(doubtful)))


def _limits(mine: Sequence[Seen]) -> Mapping[str, Decimal]:
    """Return the largest number, in each unit shown, that is not too far from all that was shown."""
    return {unit: max(FAR * value, Decimal(WITHIN.get(unit, 0))) for unit, value in _largest(mine).items()}


def _largest(mine: Sequence[Seen]) -> dict[str, Decimal]:
    """Return the largest number shown in each unit."""
    largest: dict[str, Decimal] = {}
    for each in mine:
        if each.shown is not None:
            unit = each.shown.unit
            largest[unit] = max(largest.get(unit, Decimal(0)), abs(each.shown.value))
    return largest


def _plausible(guess: Guess, seen: Seen, limits: Mapping[str, Decimal]) -> bool:
    raw = guess.raw(seen.octets)
    if raw is None:
        return False
    case = guess.case(seen.octets)
    size = abs(Decimal(case.text(raw, None)))
    return size <= limits.get(case.unit, size)


def reading_of(guess: Guess, seen: Seen, shown: Mapping[str, Display]) -> str:
    """Return what a measurement says, its unit spelled as it was shown; a shown one says what was shown."""
    if seen.shown is not None:
        return f"{seen.shown.number} {seen.shown.spelled}"
    case = guess.case(seen.octets)
    display = shown.get(case.unit)
    raw = guess.raw(seen.octets)
    return f"{case.text(raw or Decimal(0), display)} {display.spelled if display else case.unit}"


def _merged(fits: Iterable[Fit]) -> list[Fit]:
    """Make one of those that read every frame alike: the likeliest, with how many it stands for."""
    classes: dict[tuple[tuple[int, str, str], ...], list[Fit]] = {}
    for fit in fits:
        classes.setdefault(_key(fit.readings), []).append(fit)
    return [_as_one(fits) for fits in classes.values()]


def _as_one(fits: Sequence[Fit]) -> Fit:
    guess = widest([fit.guess for fit in fits])
    others = (fit.guess for fit in fits if replace(fit.guess, rank=guess.rank) != guess)
    return replace(fits[0], guess=guess, alike=tuple(others))


def _key(readings: Mapping[int, str]) -> tuple[tuple[int, str, str], ...]:
    return tuple((place, *_same(text)) for place, text in sorted(readings.items()))


def _same(text: str) -> tuple[str, str]:
    number, _, unit = text.partition(" ")
    return (str(Decimal(number).normalize() + 0) if number else "", unit)


def _undominated(fits: list[Fit]) -> list[Fit]:
    """Leave out a fit that reads as another one does, but for a flaw that the other one has not."""
    return [
        fit
        for fit in fits
        if not any(_dominates(other, fit) or _swallowed(other, fit) for other in fits if other is not fit)
    ]


def _swallowed(exact: Fit, wider: Fit) -> bool:
    """Say whether a fit takes octets beside the number for digits that the display does not show."""
    a, b = exact.guess, wider.guess
    if not isinstance(a, NumberGuess) or not isinstance(b, NumberGuess) or not set(a.span) < set(b.span):
        return False
    if not all(case.exact for case in a.cases.values()) or all(case.exact for case in b.cases.values()):
        return False
    both = exact.readings.keys() & wider.readings.keys()
    return all(_same(exact.readings[place]) == _same(wider.readings[place]) for place in both)


def _dominates(better: Fit, worse: Fit) -> bool:
    """Say whether a fit reads all that another one reads, and well where that one finds impossible numbers."""
    lost = better.readings.keys() - worse.readings.keys()
    if not lost or not worse.readings.keys() <= better.readings.keys() or not lost <= worse.odd:
        return False
    return all(_same(better.readings[place]) == _same(text) for place, text in worse.readings.items())


# --- what to ask ----------------------------------------------------------------------------------------------------


def _ask(frames: Sequence[Seen], fits: Sequence[Fit]) -> Ask | None:
    if not fits:
        return None
    rivals = [fit for fit in fits if fit.characteristic == fits[0].characteristic]
    if len(rivals) > 1:
        return _telling(frames, rivals)
    if fits[0].known < 2:
        return Ask("Only one value is known: measure something clearly different, and note what the display shows.")
    return _settling(frames, fits[0]) if fits[0].doubtful else None


def _settling(frames: Sequence[Seen], fit: Fit) -> Ask:
    place = fit.doubtful[0]
    say = (
        f"One way of reading is left, but the frame {frames[place].hex} of line {frames[place].line} has bits never "
        f"seen beside a shown value. Does the display show {fit.readings[place]} for it?"
    )
    return Ask(say, place, (fit.readings[place],))


def _telling(frames: Sequence[Seen], fits: Sequence[Fit]) -> Ask:
    """Ask for the frame that leaves the fewest fits, whatever the display turns out to show."""
    places = {place for fit in fits for place in fit.readings if frames[place].shown is None}

    def worth(place: int) -> tuple[bool, int, int]:
        """Fits that are left in the worst case; last a frame on which only its being a measurement is in doubt."""
        counts = Counter(_same(fit.readings.get(place, "")) for fit in fits)
        unread = counts.pop(("", ""), 0)
        if len(counts) > 1:
            return (False, max(counts.values()) + unread, -len(counts))
        return (True, max(unread, len(fits) - unread), 0)

    best = min(sorted(places), key=worth)
    texts = list(dict.fromkeys(fit.readings.get(best, "no reading") for fit in fits))
    few = " or ".join(texts[:4]) + (" or another" if len(texts) > 4 else "")
    near = next(text for text in texts if text != "no reading")
    say = (
        f"{len(fits)} ways of reading are left. What does the display show for the frame {frames[best].hex} of line "
        f"{frames[best].line}: {few}? If it has gone from the display, bring the tool near {near} and read it again."
    )
    return Ask(say, best, tuple(texts[:8]))
