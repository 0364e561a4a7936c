"""Expected beside measured after an adjustment, with the likely causes where they disagree; pure."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import product
from typing import Literal

from logger.drive import Exact
from logger.job.facts import Job, Turn
from logger.units import as_decimal

from .advice import AdviceInput, predict
from .history import UNSTATED_U_MM, Figure, Round, Seen, State, rounds

FAR_OFF = 4
"""A forecast missed by more than this many times its expanded uncertainty is not advised on until it was read again:
ours."""
THREADS = ("0.75", "1.0", "1.25", "1.5", "1.75", "2.0")
"""Usual pitches of adjuster threads, mm (ISO 261, as two charts give them)."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """What was expected of an adjustment beside what was measured after it (mm)."""

    outcome: Literal["agrees", "differs", "opposite"]
    expected_mm: float
    measured_mm: float
    off_mm: float
    """Measured minus expected."""
    causes: tuple[str, ...] = ()
    """Likely causes, the likeliest first."""
    u_mm: float = 0.0
    """Standard uncertainty of measured minus expected."""
    counted: str = ""
    """From where it was expected, when not from the readings that the turning was worked out from."""
    wanted_mm: float = 0.0
    """The change that was expected."""

    @property
    def may_advise(self) -> bool:
        """False once the machine answered the other way round: advice would then make it worse."""
        return self.outcome != "opposite"

    @property
    def surprises(self) -> bool:
        """Whether it came out the other way round, or so far off that a slip of the hand is the likelier cause."""
        return not self.may_advise or abs(self.off_mm) > FAR_OFF * 2 * self.u_mm

    @property
    def tells(self) -> bool:
        """Whether the change that was expected is worth seeing, so that it can come out the right way round."""
        return abs(self.wanted_mm) > 2 * self.u_mm


TAUT = "the chain taut"
SNUG = "counted from before the nut was tightened"
SWAPPED = (
    "left and right may be swapped",
    "the gauge may grow the other way than the sheet says",
    "the adjusters may have been turned the other way",
)
SEATED = "it may not have been seated against its adjusters"
MISCOUNTED = "the flats may have been miscounted"
ELSEWHERE = "slack may have been read at another place than the tightest"
THREAD = "the thread pitch may not be what the sheet says"
DIFFERS = (SEATED, MISCOUNTED, ELSEWHERE, THREAD, SWAPPED[0])


def compare(before: Exact, expected: float | Fraction, measured: Exact, u_mm: float) -> Comparison:
    """Hold a slack or a difference after an adjustment against its forecast.

    `u_mm` is the standard uncertainty of measured minus expected (see `comparison_u`); within twice that they
    agree. Opposite means: a change worth seeing came out nearer to its mirror image than to nothing at all.
    """
    forecast, seen = float(expected), float(measured)
    wanted, got = forecast - float(before), seen - float(before)
    off = seen - forecast
    if abs(off) <= 2 * u_mm:
        return Comparison("agrees", forecast, seen, off, u_mm=u_mm, wanted_mm=wanted)
    if wanted * got < 0 and abs(wanted) > 2 * u_mm and abs(got) > max(2 * u_mm, abs(wanted) / 2):
        return Comparison("opposite", forecast, seen, off, SWAPPED, u_mm, wanted_mm=wanted)
    return Comparison("differs", forecast, seen, off, DIFFERS, u_mm, wanted_mm=wanted)


def compare_taut(before: Exact, measured: Exact, u_mm: float) -> Comparison:
    """Hold a slack against the forecast that there would be none; one that grew is the other way round.

    `u_mm` is the standard uncertainty of measured minus before.
    """
    found = replace(compare(before, 0, measured, u_mm), counted=TAUT)
    if float(measured) - float(before) <= 2 * u_mm:
        return found
    return replace(found, outcome="opposite", causes=SWAPPED)


def comparison_u(reading_u_mm: float, before: Exact, expected: float, after_u_mm: float | None = None) -> float:
    """Standard uncertainty in mm of a slack against its forecast: the reading before is magnified by before/after."""
    gain = float(before) / expected if expected > 0 else 1.0
    after = reading_u_mm if after_u_mm is None else after_u_mm
    return float(((reading_u_mm * gain) ** 2 + after**2) ** 0.5)


# --- the last adjustment --------------------------------------------------------------------------------------------


def came_out_of(job: Job, given: AdviceInput) -> dict[str, Comparison]:
    """Hold what was expected of the last adjustment beside what was read after it, before the nut if it was read then.

    What was expected was written down with the turning; what it is worth comes from the readings.
    """
    return next(every_outcome(job, given), {})


def every_outcome(job: Job, given: AdviceInput) -> Iterator[dict[str, Comparison]]:
    """Hold each adjustment of the job, the last one first, against what was read after it."""
    every = rounds(job)
    for turn, last, now in reversed(tuple(zip(job.turns, every, every[1:], strict=False))):
        yield _outcome(turn, last, now, given)


def _outcome(turn: Turn, last: Round, now: Round, given: AdviceInput) -> dict[str, Comparison]:
    if turn.expected is None or turn.before is None:
        return {}
    after, place = now.before_a_turn(), given.governing
    tight = State(last.tight.slack or last.snug.slack, last.tight.difference or last.snug.difference)
    found: dict[str, Comparison] = {}
    if after.slack is not None and place in turn.before.slack:
        before, u = Decimal(turn.before.slack[place]), _u(tight.slack, "slack")
        told = None if place in turn.expected.taut else turn.expected.slack.get(place)
        if told is not None or place in turn.expected.taut:
            found["slack"] = _of_slack(before, None if told is None else float(told), after.slack, u)
    if after.difference is not None and turn.before.difference is not None and turn.expected.difference is not None:
        u = math.hypot(_u(tight.difference, "difference"), after.difference.u_mm)
        apart = Decimal(turn.before.difference), Fraction(turn.expected.difference)
        found["difference"] = compare(*apart, after.difference.mm, u)
    if last.pulled:
        found |= _given_back(turn, last.snug, after, given)
    likely = tuple(_likely(turn, found, _case(turn, given, last.snug if last.pulled else None)))
    return {what: _with_causes(each, likely) for what, each in found.items()}


def _given_back(turn: Turn, snug: State, after: State, given: AdviceInput) -> dict[str, Comparison]:
    """Count from what was read before the nut was tightened: loosened and seated, the axle goes back there."""
    case = _case(turn, given, snug)
    if case is None:
        return {}
    told, found = predict(case, Fraction(turn.left), Fraction(turn.right)), {}
    if snug.slack is not None and after.slack is not None:
        expected = told.expected_slack_mm[given.governing]
        slack = _of_slack(snug.slack.mm, expected, after.slack, snug.slack.u_mm)
        found["slack"] = replace(slack, counted=SNUG if expected is not None else f"{TAUT}, {SNUG}")
    if snug.difference is not None and after.difference is not None:
        u = math.hypot(snug.difference.u_mm, after.difference.u_mm)
        apart = compare(snug.difference.mm, told.expected_difference_mm, after.difference.mm, u)
        found["difference"] = replace(apart, counted=SNUG)
    return found


def _of_slack(before: Exact, expected: float | None, after: Seen, u_mm: float) -> Comparison:
    """Hold a slack against its forecast; None is a chain that was to run taut."""
    if expected is None:
        return compare_taut(before, after.mm, math.hypot(u_mm, after.u_mm))
    return compare(before, expected, after.mm, comparison_u(u_mm, before, expected, after.u_mm))


def _u(seen: Seen | None, what: Figure) -> float:
    return UNSTATED_U_MM[what] if seen is None else seen.u_mm


def _with_causes(found: Comparison, likely: tuple[str, ...]) -> Comparison:
    """Put the causes that would explain every figure before those that are only possible."""
    if found.outcome != "differs":
        return found
    rest = (cause for cause in found.causes if not any(each.startswith(cause) for each in likely))
    return replace(found, causes=(*likely, *rest))


def _case(turn: Turn, given: AdviceInput, snug: State | None) -> AdviceInput | None:
    """Return the machine as it stood before the turning: as read then, or as read before the nut was tightened."""
    assert turn.before is not None
    slack, apart = turn.before.slack.get(given.governing), turn.before.difference
    read = None if slack is None else Fraction(slack)
    difference = None if apart is None else Fraction(apart)
    if snug is not None:
        read = read if snug.slack is None else snug.slack.mm
        difference = difference if snug.difference is None else snug.difference.mm
    if read is None:
        return None
    apart_mm = None if difference is None else as_decimal(difference)
    return replace(given, slack_mm={given.governing: as_decimal(read)}, difference_mm=apart_mm, nut=None)


def _likely(turn: Turn, found: Mapping[str, Comparison], case: AdviceInput | None) -> Iterator[str]:
    """Name what would bring all that was read, each tried as turns of the same machine."""
    if case is None or not found:
        return
    left, right = Fraction(turn.left), Fraction(turn.right)
    if "difference" in found and found["difference"].outcome == "agrees":
        yield ELSEWHERE
    if left != right and _brings(case, (right, left), found):
        yield SWAPPED[0]
    for off, side in product((-1, 1), ("left", "right", "both sides")):
        turns = left + off * (side != "right"), right + off * (side != "left")
        if _brings(case, turns, found):
            yield f"{MISCOUNTED}: one {'fewer' if off < 0 else 'more'} on {side} would bring this"
    for thread in map(Fraction, THREADS):
        other = replace(case, drive=replace(case.drive, advance_per_turn_mm=thread))
        if thread != case.drive.advance_per_turn_mm and _brings(other, (left, right), found):
            yield f"{THREAD}: {float(thread):g} mm would bring this"


def _brings(case: AdviceInput, turns: tuple[Fraction, Fraction], found: Mapping[str, Comparison]) -> bool:
    """Whether these turns would have brought all that was read, within its expanded uncertainty."""
    told = predict(case, *turns)
    slack = told.expected_slack_mm[case.governing] or 0.0
    would = {"slack": slack, "difference": float(told.expected_difference_mm)}
    return all(abs(would[what] - each.measured_mm) <= 2 * each.u_mm for what, each in found.items())
