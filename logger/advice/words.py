"""The words of the advice: chain wear, the thread a job shows, what the nut did, why it is not converging; pure."""

from fractions import Fraction

from logger.drive import worn_length
from logger.job.judged import number
from logger.job.named import flats, spoken
from logger.sheets.sheet import MeasureStep
from logger.units import Limits

from .advice import Advice
from .ownpairs import Fitted, Shift
from .wear import CALIPER_MM, Wear, limit_of

# --- wear -----------------------------------------------------------------------------------------------------------


def how_to_span(step: MeasureStep, pitch_mm: Fraction) -> str:
    """How to span the pitches of a wear check without the fencepost trap; empty for another step."""
    if step.pitches is None:
        return ""
    limit = limit_of(step, pitch_mm)
    new, worn = (worn_length(share, step.pitches, pitch_mm) for share in (0, limit or 0))
    fits = "fits" if worn <= CALIPER_MM else "is too long for"
    at = "" if limit is None else f", worn out above {_mm(worn)}"
    return f"{_pins(step.pitches)}: {_mm(new)} new{at}; it {fits} a {CALIPER_MM} mm caliper"


def _pins(pitches: int) -> str:
    return f"{pitches} pitch{'es' if pitches > 1 else ''} is pin 1 to pin {pitches + 1}"


def wear_line(wear: Wear) -> str:
    """What a wear check says, in one sentence's beginning."""
    if wear.miscounted:
        return fencepost(wear)
    if wear.past:
        return worn_out(wear)
    if wear.share <= 0:
        return f"no wear to be seen over {wear.pitches} pitches"
    if wear.limit is None or wear.left is None:
        return f"worn by {_percent(wear.share)}"
    return f"worn by {_share(wear)}; {float(wear.left) * 100:.0f} % of the wear limit is left"


def fencepost(wear: Wear) -> str:
    """Name the fencepost trap for a length that is nearer to another number of pitches."""
    return (
        f"{_mm(wear.length_mm)} is nearer to {wear.counted} pitches than to {wear.pitches}: "
        f"{_pins(wear.pitches)}; count the pins again"
    )


def worn_out(wear: Wear) -> str:
    """Say that a chain past its limit is replaced, with both sprockets (common practice), and not adjusted."""
    if wear.miscounted:
        return fencepost(wear)
    return (
        f"the chain is worn by {_share(wear)}: it is not to be adjusted but replaced, together with both sprockets "
        "(common practice)"
    )


def _share(wear: Wear) -> str:
    if wear.limit is None:
        return _percent(wear.share)
    limits = Limits(None, wear.limit * 100)
    return f"{number(wear.share * 100, '', 2, limits).removeprefix('≈ ')} %, limit {_percent(wear.limit)}"


def _percent(share: Fraction) -> str:
    return f"{float(share * 100):.2f} %"


def _mm(length: Fraction) -> str:
    return f"{float(length):.2f}".rstrip("0").rstrip(".") + " mm"


# --- thread and nut -------------------------------------------------------------------------------------------------


def fitted_line(found: Fitted) -> str:
    """The advance per flat that this job shows beside the nominal one; what it suggests only where it differs."""
    by = "slack" if found.what == "slack" else "left minus right"
    line = (
        f"a flat moved its side {found.fit.per_flat_mm:.3f} ± {2 * found.fit.u_mm:.3f} mm here by the {by}, "
        f"nominal {float(found.nominal_mm):.3f} mm"
    )
    if not found.differs:
        return line
    if found.fit.per_flat_mm < 0:
        return f"{line}: the other way round, so something is reversed or swapped; the advice keeps the nominal figure"
    return f"{line}: another thread than the sheet says, or miscounted flats; the advice keeps the nominal figure"


def shift_lines(
    shift: Shift | None, advice: Advice | None, allowing: Advice | None, called: str = "slack"
) -> tuple[str, ...]:
    """What tightening the nut did, and what would be turned to allow for it; the default advice is without it."""
    if shift is None:
        return ()
    did = f"tightening the nut changed {_did(shift, called)}"
    if not shift.tells:
        return (f"{did}: no more than the readings scatter",)
    back = "; loosened and seated, expect that back" if shift.nut.holds else ""
    if advice is None or allowing is None:
        return (f"{did}{back}",)
    turns = f"left {flats(allowing.left)}, right {flats(allowing.right)}"
    same = " as above" if (allowing.left, allowing.right) == (advice.left, advice.right) else ""
    return (
        f"{did}{back}",
        f"allowing for the same again: {turns}{same}; with the nut tight {_expected(allowing, shift, called)}",
    )


def _did(shift: Shift, called: str) -> str:
    parts = []
    if shift.slack_mm is not None:
        parts.append(f"{called} by {shift.slack_mm:+.1f} ± {2 * shift.slack_u_mm:.1f} mm")
    if shift.difference_mm is not None:
        parts.append(f"left minus right by {shift.difference_mm:+.2f} ± {2 * shift.difference_u_mm:.2f} mm")
    return " and ".join(parts)


def _expected(advice: Advice, shift: Shift, called: str) -> str:
    slack = ", ".join(
        f"{spoken(place)} {value:.1f} mm".strip()
        for place, value in advice.expected_slack_mm.items()
        if value is not None
    )
    apart = "" if shift.difference_mm is None else f", left minus right {float(advice.expected_difference_mm):.2f} mm"
    return f"{called} {slack}{apart}"


def why_not_line(reasons: tuple[str, ...], rounds: int) -> str:
    """Why it may not be converging, as one line; empty before there is anything to say."""
    return f"after {rounds} rounds: {'; '.join(reasons)}" if reasons else ""
