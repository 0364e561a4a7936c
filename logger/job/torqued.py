"""The verdict of a fastener: a torque starts from loose, and the first pull that takes it to its window decides.

Pulls below the window are the run-up and change nothing. Any instant above the window of its pass makes it `high`
until it is loosened. A pull after the one that decided is a re-hit: told, and it replaces nothing. Values are at the
fastener: with an adapter on the wrench they are worked out, and the reason says what the wrench read.
"""

from dataclasses import replace
from fractions import Fraction

from logger.metrology.conformity import decide
from logger.sheets.sheet import TorqueStep, check_id
from logger.units import Limits, approx_limits, decimals, in_unit, margin, trimmed

from .facts import Fastener, Job, Pull
from .figures import is_unstated, unstated
from .judged import PASSES, Judged, number
from .loosenagain import loosen_again
from .torquefit import budget, fitness
from .torquepass import Progress, at_fastener, goes_over, passes_of, progress, reached, takes_hold, window_of
from .weighed import rule_of


def torqued(job: Job, step: TorqueStep, slot: str) -> Judged:
    """Judge one fastener of a torque step."""
    fastener, disturbed = job.fastener((step.id, slot)), job.disturbed.get(step.id, 0)
    tried = sum(takes_hold(step, pull) or goes_over(step, pull) for pull in fastener.pulls)
    judged = Judged(check_id(step.id, slot), "waiting", attempts=tried)
    went = progress(step, fastener)
    if went.over is not None:
        return _high(job, judged, step, went.over)
    if not fastener.loosened:
        return _never_loosened(job, step, judged, went)
    if went.holds and went.holds[0].seq < max(disturbed, fastener.undone):
        reason = f"disturbed since it was torqued: {loosen_again(job, step)}"
        return replace(judged, verdict="stale", reason=reason, to_loosen=True)
    spoiled = next((why for pull in went.holds if (why := why_not(pull))), "")
    if spoiled:
        reason = f"tight by a pull that does not count ({spoiled}): {loosen_again(job, step)}"
        return replace(judged, reason=reason, to_loosen=True)
    if went.reached < passes_of(step):
        return _not_yet(judged, step, fastener, went)
    return _decided(job, step, judged, went.holds[-1], fastener.since_loose)


def why_not(pull: Pull) -> str:
    """Why a pull that took hold does not count, or nothing when it does."""
    if not pull.asked:
        return "another wrench was picked for it" if pull.set_aside == "other tool" else "nothing asked for it"
    return "taken back" if pull.withdrawn else pull.invalid


# --- the pass that is open ------------------------------------------------------------------------------------------


def open_pass(job: Job, step: TorqueStep, slot: str) -> int:
    """Return the number of the pass that a pull on this fastener is made in now.

    It is the next one of this fastener as long as no other that still wants pulls lags behind; else the one it is
    through, and the pull is a re-hit.
    """
    if not step.passes:
        return 1
    mine = reached(job, step, slot)
    lagging = min((reached(job, step, each) for each in step.slots if not _settled(job, step, each)), default=mine)
    return min(mine + 1, passes_of(step)) if mine <= lagging else mine


def _settled(job: Job, step: TorqueStep, slot: str) -> bool:
    return check_id(step.id, slot) in job.overrides or torqued(job, step, slot).verdict in PASSES


def is_through(job: Job, step: TorqueStep, slot: str) -> bool:
    """Whether a pull on this fastener now is one after the pull that decided: a re-hit."""
    return reached(job, step, slot) >= open_pass(job, step, slot)


# --- verdicts -------------------------------------------------------------------------------------------------------


def _valued(judged: Judged, pull: Pull, shown: Fraction, text: str, limits: Limits) -> Judged:
    """Put the torque at the fastener on a check, and what the wrench read where an adapter is between the two."""
    value = at_fastener(pull, shown)
    if pull.adapter is not None:
        text = number(value, pull.unit, decimals(text) + 1, limits)
    return replace(judged, value=value, text=text, unit=pull.unit, margin=margin(value, limits))


def _read_as(pull: Pull, text: str) -> str:
    """What the wrench read, where that is not the torque at the fastener."""
    return f"the wrench read {text} {pull.unit}, with the adapter" if pull.adapter is not None else ""


def _high(job: Job, judged: Judged, step: TorqueStep, over: Pull) -> Judged:
    limits = in_unit(window_of(step, over.number), over.unit)
    assert over.most is not None
    said = trimmed(str(over.most))
    high = _valued(judged, over, Fraction(over.most), said, limits)
    above = f"above the window of pass {over.number}" if over.number < passes_of(step) else "above the window"
    wrench = f"{_read_as(over, said)}, " if over.adapter is not None else ""
    reason = f"{wrench}{above}: {loosen_again(job, step)}"
    return replace(high, verdict="high", reason=reason, to_loosen=True)


def _never_loosened(job: Job, step: TorqueStep, judged: Judged, went: Progress) -> Judged:
    place = judged.check.removeprefix(step.id).removeprefix(".")
    fastener, disturbed = job.fastener((step.id, place)), job.disturbed.get(step.id, 0)
    if went.holds:
        tight = went.holds[0]
        reason = f"pulled to {tight.text} {tight.unit} without being loosened: {loosen_again(job, step)}"
        return replace(judged, reason=reason, to_loosen=True)
    if fastener.turned:
        reason = "the adjusters were turned: loosen it, then torque it"
        return replace(judged, verdict="stale" if fastener.untouched else "waiting", reason=reason, to_loosen=True)
    if fastener.untouched > max(disturbed, fastener.undone, fastener.pulled):
        return replace(judged, verdict="done", reason="not loosened, witness mark in line")
    reason = "confirm that it is untouched, or loosen it"
    return replace(judged, verdict="stale" if fastener.untouched else "waiting", reason=reason)


def _not_yet(judged: Judged, step: TorqueStep, fastener: Fastener, went: Progress) -> Judged:
    last, pulls = passes_of(step), fastener.since_loose
    held = any(pull.number == last and takes_hold(step, pull) and not why_not(pull) for pull in fastener.pulls)
    through = f"through pass {went.reached} of {last}" if went.holds else ""
    if not pulls:
        reason = "loosened since it was torqued" if held else "loose, not torqued yet"
    elif pulls[-1].invalid:
        reason = f"the last pull cannot be used ({pulls[-1].invalid}): pull again"
    elif went.holds and pulls[-1].number <= went.reached:
        reason = through
    else:
        so_far = f"so far {pulls[-1].text} {pulls[-1].unit}, still below the window"
        reason = f"{through}; {so_far}" if through else so_far
    return replace(judged, verdict="stale" if held and not pulls else "waiting", reason=reason)


def _decided(job: Job, step: TorqueStep, judged: Judged, good: Pull, pulls: tuple[Pull, ...]) -> Judged:
    """Judge the pull that took the fastener through its last pass."""
    limits = in_unit(step.window, good.unit)
    assert good.peak is not None
    valued = _valued(judged, good, Fraction(good.peak), good.text, limits)
    fit = fitness(job, step, good, limits)
    worth, rule = budget(job, good), rule_of(job, step, good.unit)
    unweighed = is_unstated(worth) and rule.guard is None
    if unweighed and rule.kind == "guarded":
        fit = replace(fit, refusal=unstated(good.tool))
    valued = replace(valued, warnings=fit.warnings, assumed=worth.assumed, unknown=worth.unknown)
    if fit.refusal:
        reason = f"{fit.refusal}: {loosen_again(job, step)} with another tool, or override with a note"
        return replace(valued, reason=reason, to_loosen=True)
    decision = decide(at_fastener(good, Fraction(good.peak)), limits, worth, rule)
    valued = replace(valued, decision=None if unweighed else decision)
    if decision.word == "unsure":
        return replace(valued, verdict="unsure", reason=_too_near(job, step, good, decision.acceptance), to_loosen=True)
    again = [f"{pull.text} {pull.unit}" for pull in pulls if pull.seq > good.seq]
    told = f"pulled again since, to {', '.join(again)}: the first pull stands" if again else ""
    reason = "; ".join(each for each in (_read_as(good, good.text), told) if each)
    return replace(valued, verdict=decision.word, reason=reason)


def _too_near(job: Job, step: TorqueStep, pull: Pull, acceptance: Limits | None) -> str:
    """Why a pull inside the window cannot be told from one outside, and what would be."""
    if acceptance is None:
        return f"{pull.tool} cannot tell any torque in this window: torque with a better tool, or override with a note"
    low, high = approx_limits(acceptance, pull.unit, decimals(pull.text))
    return f"too near a limit to tell: {loosen_again(job, step)} into {low} to {high}, or override with a note"
