"""The checks of a record, made from its trail: how each stands, how it stood as found, what it rests on."""

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType

from logger import events as ev
from logger.bench.replay import margin_text
from logger.job.facts import Job
from logger.job.job import apply
from logger.job.judged import Judged
from logger.job.named import check_title
from logger.job.rules import judge
from logger.job.verdictwords import settle
from logger.job.zeroed import limits_of
from logger.sheets.sheet import AnyStep, MeasureStep, TorqueStep, ZeroStep
from logger.shelf.shelf import begin
from logger.units import Quantity, decimals, show_number

from .checked import CheckPart, OverridePart, Standing, WorthPart
from .parts import Records

_FINER = 4
"""Further decimals of limits that were converted into another unit."""


def checks_of(job: Job, found: Records, verdicts: Mapping[str, Judged]) -> tuple[CheckPart, ...]:
    """Return every check with its verdict now and as found, in the order of the sheet."""
    # as it was read, whoever let it pass already
    as_found = judge(replace(_before_acts(found), overrides=MappingProxyType({})))
    utc = {each.seq: each.utc for each in found}
    return tuple(_check(job, judged, as_found[check], utc) for check, judged in verdicts.items())


def _before_acts(found: Records) -> Job:
    """The job just before the first act: anything loosened, turned or pulled."""
    job = begin(found[0])
    for record in found[1:]:
        if isinstance(record.event, ev.Loosened | ev.Turned | ev.PullTaken):
            break
        job = apply(job, record)
    return job


def _check(job: Job, judged: Judged, before: Judged, utc: Mapping[int, str]) -> CheckPart:
    step = job.sheet.by_id[judged.check.partition(".")[0]]
    is_pair = judged.check.endswith(".agreement")
    within = step.agree_within if is_pair and isinstance(step, MeasureStep) else None
    window, aim = (None, None) if is_pair else _bounds(step)
    return CheckPart(
        check=judged.check,
        title=check_title(job, judged.check),
        kind=step.kind,
        window=window,
        aim=None if aim is None else str(aim),
        within=str(step.within) if isinstance(step, ZeroStep) else None,
        agree_within=None if within is None else str(within),
        value=judged.text,
        unit=judged.unit,
        margin=margin_text(judged),
        verdict=judged.verdict,
        reason=judged.reason,
        warnings=judged.warnings,
        worth=_worth(judged),
        attempts=judged.attempts,
        passes=judged.passes,
        as_found=_as_found(before),
        override=_override(job, judged.check, utc),
        settle="" if judged.passes else settle(job, judged),
    )


def _bounds(step: AnyStep) -> tuple[tuple[str, str] | None, Quantity | None]:
    """The window of a check as text, and what to aim at."""
    match step:
        case MeasureStep(window=(low, high), aim=aim) | TorqueStep(window=(low, high), aim=aim):
            return (str(low), str(high)), aim
        case ZeroStep(reference=reference, within=within):
            digits = max(decimals(reference.text), decimals(within.text)) + _FINER * (reference.unit != within.unit)
            ends = (show_number(end or Fraction(0), digits) for end in limits_of(step, reference.unit))
            lowest, highest = (f"{end} {reference.unit}" for end in ends)
            return (lowest, highest), reference
        case _:
            return None, None


def _as_found(before: Judged) -> Standing | None:
    """What was read and not doubted."""
    if not before.text or before.verdict == "waiting":
        return None
    return Standing(verdict=before.verdict, value=before.text, unit=before.unit)


def _worth(judged: Judged) -> WorthPart | None:
    found = judged.decision
    if found is None:
        return None
    zone = found.acceptance
    return WorthPart(
        u=f"{found.u:.6g}",
        expanded=f"{found.expanded:.6g}",
        chance_inside=found.chance_stored if found.u else "",
        acceptance=None if zone is None else (_end(zone.low), _end(zone.high)),
        guard=f"{float(found.guard):.6g}",
        assumed=judged.assumed,
        unknown=judged.unknown,
    )


def _end(limit: Fraction | None) -> str | None:
    return None if limit is None else f"{float(limit):.9g}"


def _override(job: Job, check: str, utc: Mapping[int, str]) -> OverridePart | None:
    found = job.overrides.get(check)
    if found is None:
        return None
    return OverridePart(name=found.name, note=found.note, was=found.was, seq=found.seq, utc=utc[found.seq])
