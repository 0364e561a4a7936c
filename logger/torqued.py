"""The verdict of a fastener: a torque starts from loose, and the first pull that takes it to its window decides.

Pulls below the window are the run-up and change nothing. Any instant above the window makes it `high` until it is
loosened. A pull after the one that decided is a re-hit: told, and it replaces nothing.
"""

from dataclasses import replace
from fractions import Fraction

from .facts import Fastener, Job, Pull
from .judged import Judged, limit_in
from .sheet import TorqueStep, check_id
from .units import in_unit, margin, position


def torqued(job: Job, step: TorqueStep, slot: str) -> Judged:
    """Judge one fastener of a torque step."""
    fastener, disturbed = job.fastener((step.id, slot)), job.disturbed.get(step.id, 0)
    judged = Judged(check_id(step.id, slot), "waiting", attempts=len(fastener.pulls))
    pulls = fastener.since_loose
    over = next((pull for pull in pulls if goes_over(step, pull)), None)
    if over is not None:
        return _high(judged, step, over)
    tight = next((pull for pull in pulls if takes_hold(step, pull)), None)
    if not fastener.loosened:
        return _never_loosened(judged, fastener, disturbed, tight)
    if tight is None:
        return _not_yet(judged, step, fastener)
    if tight.seq < max(disturbed, fastener.undone):
        reason = "disturbed since it was torqued: loosen it and torque again"
        return replace(judged, verdict="stale", reason=reason, to_loosen=True)
    if why_not(step, tight):
        reason = f"tight by a pull that does not count ({why_not(step, tight)}): loosen it and torque again"
        return replace(judged, reason=reason, to_loosen=True)
    return _inside(judged, step, tight, pulls)


def goes_over(step: TorqueStep, pull: Pull) -> bool:
    """Whether any instant of a pull lay above the window."""
    return pull.most is not None and pull.most > limit_in(step.window[1], pull.unit)


def takes_hold(step: TorqueStep, pull: Pull) -> bool:
    """Whether a pull took the fastener to its window, asked for or not: it is tight then, and no longer from loose.

    The deciding peak tells; of a pull that cannot be trusted, any instant of it.
    """
    figure = pull.most if pull.invalid else pull.peak
    return figure is not None and figure >= limit_in(step.window[0], pull.unit)


def why_not(step: TorqueStep, pull: Pull) -> str:
    """Why a pull that took hold does not count, or nothing when it does."""
    if not pull.asked:
        return "nothing asked for it"
    return "taken back" if pull.withdrawn else pull.invalid


def _high(judged: Judged, step: TorqueStep, over: Pull) -> Judged:
    limits = in_unit(step.window, over.unit)
    assert over.most is not None
    said = format(over.most, "f")
    return replace(
        judged,
        verdict="high",
        reason=f"reached {said} {over.unit}: loosen it and torque again",
        value=Fraction(over.most),
        text=said,
        unit=over.unit,
        margin=margin(over.most, limits),
        to_loosen=True,
    )


def _never_loosened(judged: Judged, fastener: Fastener, disturbed: int, tight: Pull | None) -> Judged:
    if tight is not None:
        reason = f"pulled to {tight.text} {tight.unit} without being loosened: loosen it, then torque it"
        return replace(judged, reason=reason, to_loosen=True)
    if fastener.turned:
        reason = "the adjusters were turned: loosen it, then torque it"
        return replace(judged, verdict="stale" if fastener.untouched else "waiting", reason=reason, to_loosen=True)
    if fastener.untouched > max(disturbed, fastener.undone, fastener.pulled):
        return replace(judged, verdict="done", reason="not loosened, witness mark in line")
    reason = "confirm that it is untouched, or loosen it"
    return replace(judged, verdict="stale" if fastener.untouched else "waiting", reason=reason)


def _not_yet(judged: Judged, step: TorqueStep, fastener: Fastener) -> Judged:
    held = any(takes_hold(step, pull) and not why_not(step, pull) for pull in fastener.pulls)
    pulls = fastener.since_loose
    if not pulls:
        reason = "loosened since it was torqued" if held else "loose, not torqued yet"
    elif pulls[-1].invalid:
        reason = f"the last pull cannot be used ({pulls[-1].invalid}): pull again"
    else:
        reason = f"so far {pulls[-1].text} {pulls[-1].unit}, still below the window"
    return replace(judged, verdict="stale" if held and not pulls else "waiting", reason=reason)


def _inside(judged: Judged, step: TorqueStep, good: Pull, pulls: tuple[Pull, ...]) -> Judged:
    limits = in_unit(step.window, good.unit)
    assert good.peak is not None
    again = [f"{pull.text} {pull.unit}" for pull in pulls if pull.seq > good.seq]
    return replace(
        judged,
        verdict=position(good.peak, limits),
        reason=f"pulled again since, to {', '.join(again)}: the first pull stands" if again else "",
        value=Fraction(good.peak),
        text=good.text,
        unit=good.unit,
        margin=margin(good.peak, limits),
    )
