"""Chain wear from a length over N pitches: elongation, what is left of the limit, and the fencepost trap; pure."""

from dataclasses import dataclass
from fractions import Fraction

from logger.drive import elongation, life_left
from logger.job.facts import Job
from logger.job.measured import value_at
from logger.job.rules import judge
from logger.sheets.amounts import exact
from logger.sheets.sheet import MeasureStep, Sheet, check_id
from logger.units import factor

CALIPER_MM = 150
"""What a usual workshop caliper takes between its jaws: common practice."""


@dataclass(frozen=True, slots=True)
class Wear:
    """What a wear check says of the chain."""

    step: str
    pitches: int
    pitch_mm: Fraction
    length_mm: Fraction
    share: Fraction
    """Elongation, 0.01 is 1 %; below zero for a length under that of a new chain."""
    limit: Fraction | None
    """The share at which the chain is worn out; None where the window has no upper limit above a new chain."""
    counted: int
    """How many pitches the length is nearest to."""
    past: bool
    """Whether the check stands as `high`, and nobody overrode it."""

    @property
    def left(self) -> Fraction | None:
        """Share of the limit that is left, 0 to 1."""
        return None if self.limit is None else life_left(self.share, self.limit)

    @property
    def miscounted(self) -> bool:
        """Whether the length is nearer to another number of pitches: pins were counted as pitches, or one left out."""
        return self.counted != self.pitches


def wear_of(job: Job, step: MeasureStep) -> Wear | None:
    """Return what a wear check says; None where the step is none, the pitch is unknown, or nothing whole was read.

    Of several places the longest counts.
    """
    pitch = pitch_of(job.sheet)
    if step.pitches is None or pitch is None:
        return None
    values = ((slot, value_at(job, step, slot)) for slot in step.slots)
    lengths = [(value.value * factor(value.unit, "mm"), slot) for slot, value in values if value.value is not None]
    if not lengths:
        return None
    length, slot = max(lengths)
    return Wear(
        step.id,
        step.pitches,
        pitch,
        length,
        elongation(length, step.pitches, pitch),
        limit_of(step, pitch),
        max(1, round(length / pitch)),
        judge(job)[check_id(step.id, slot)].verdict == "high",
    )


def pitch_of(sheet: Sheet) -> Fraction | None:
    """Return the chain pitch of [drive] in mm."""
    return None if sheet.drive is None or sheet.drive.pitch is None else exact(sheet.drive.pitch)


def limit_of(step: MeasureStep, pitch_mm: Fraction) -> Fraction | None:
    """Return the elongation that the window allows, as a share (0.01 is 1 %); None where it allows none."""
    high = step.window[1] if step.window is not None else None
    if high is None or step.pitches is None or high.kind != "length":
        return None
    share = elongation(exact(high), step.pitches, pitch_mm)
    return share if share > 0 else None


def worn_chain(job: Job) -> Wear | None:
    """Return the wear check that says the chain is past its limit; None where none does, or it was overridden."""
    steps = (step for step in job.sheet.step if isinstance(step, MeasureStep) and step.pitches is not None)
    found = (wear_of(job, step) for step in steps)
    return next((wear for wear in found if wear is not None and wear.past), None)
