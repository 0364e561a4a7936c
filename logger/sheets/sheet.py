"""A job sheet: ordered steps with their windows; `file` reads the text, `rules` refuses what would trap.

The kinds of step are in `steps` and reached from here too, so that whoever knows a sheet needs one name.
"""

from functools import cached_property
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from logger.confined import Confined, Id, Line

from .steps import (
    AdapterTable,
    AdjustStep,
    AnyStep,
    ConfirmStep,
    MeasureStep,
    NoteStep,
    Step,
    TorquePass,
    TorqueStep,
    ZeroStep,
    check_id,
)
from .written import Aside, Lines, Text, Title, as_tuple

__all__ = [
    "AdapterTable",
    "AdjustStep",
    "AnyStep",
    "ConfirmStep",
    "DriveTable",
    "Due",
    "MeasureStep",
    "NoteStep",
    "Sheet",
    "Step",
    "TorquePass",
    "TorqueStep",
    "ZeroStep",
    "check_id",
]


class DriveTable(Confined):
    """[drive]: what the geometry of the advice needs, for a chain drive whose axle moves in adjusters."""

    front_teeth: Annotated[int, Field(ge=5, le=200)] | None = None
    rear_teeth: Annotated[int, Field(ge=5, le=400)] | None = None
    pitch: Text | None = None
    centre: Text | None = None
    span: Text | None = None
    """Free length of the measured run, when the teeth are unknown."""
    slack: Id
    """The measure step that is the slack."""
    sides: Aside = ""
    """The measure step that is the left and right axle position; empty when the sheet has none."""
    off_centre: Text | None = None
    """How far from the middle of the run the slack is measured."""
    slack_is: Literal["total", "rest to up", "sag"] = "total"
    thread: Text
    """Advance of an adjuster in one turn."""
    flats_per_turn: Annotated[int, Field(ge=1, le=24)] = 6
    adjuster: Literal["pulls", "pushes", "cam"]
    tighten: Line
    """Which way an adjuster is turned to tighten, as the person sees it."""
    chain_side: Literal["left", "right"]
    """As seen from where `seen_from` says, as are all sides."""
    seen_from: Line = "the saddle"
    """Where left and right are seen from."""


class Due(Confined):
    """[[due]]: what becomes due after the job, and when."""

    what: Line
    after: Line


class Sheet(Confined):
    """A whole sheet, checked."""

    format: Annotated[int, Field(ge=1, le=1)]
    id: Id
    title: Title
    revision: Line
    about: Line
    decision: Literal["simple", "guarded"] = "simple"
    kit: Lines = ()
    cautions: Annotated[Lines, Field(min_length=1)]
    conditions: dict[Id, Line] = Field(default_factory=dict)
    drive: DriveTable | None = None
    due: Annotated[tuple[Due, ...], BeforeValidator(as_tuple)] = ()
    step: Annotated[tuple[AnyStep, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=64)]

    @cached_property
    def by_id(self) -> dict[str, AnyStep]:
        """Steps by their id."""
        return {step.id: step for step in self.step}

    @cached_property
    def order(self) -> dict[str, int]:
        """Position of each step."""
        return {step.id: position for position, step in enumerate(self.step)}

    @cached_property
    def checks(self) -> tuple[str, ...]:
        """Every check of the job, in sheet order."""
        return tuple(check for step in self.step if step.kind != "adjust" for check in step.checks)

    @cached_property
    def adjusts(self) -> tuple[AdjustStep, ...]:
        """The adjust steps, in order."""
        return tuple(step for step in self.step if isinstance(step, AdjustStep))

    @cached_property
    def zeros(self) -> tuple[ZeroStep, ...]:
        """The zero checks, in order."""
        return tuple(step for step in self.step if isinstance(step, ZeroStep))

    @cached_property
    def torques(self) -> tuple[TorqueStep, ...]:
        """The torque steps, in order."""
        return tuple(step for step in self.step if isinstance(step, TorqueStep))

    def is_vital(self, check: str) -> bool:
        """Whether a life hangs on a check: a torque, what locks one, and what the sheet says is vital."""
        step = self.by_id.get(check.partition(".")[0])
        return isinstance(step, TorqueStep) or (isinstance(step, ConfirmStep) and (step.vital or bool(step.locks)))

    def fasteners(self, names: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
        """Spell out fastener names as (step, fastener); a bare torque step means all its fasteners."""
        found: list[tuple[str, str]] = []
        for name in names:
            step_id, _, place = name.partition(".")
            step = self.by_id.get(step_id)
            if isinstance(step, TorqueStep):
                found += [(step_id, place)] if place else [(step_id, each) for each in step.slots]
        return tuple(found)
