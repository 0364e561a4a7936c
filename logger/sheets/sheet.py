"""A job sheet: ordered steps with their windows; `file` reads the text, `rules` refuses what would trap."""

from functools import cached_property
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from logger.confined import Confined, Id, Line
from logger.errors import BadInput
from logger.units import Quantity, parse_quantity, share

ToolKind = Literal["caliper", "depth gauge", "tape", "rule", "torque wrench", "setting wrench"]
"""A setting wrench clicks at what it was set to; a torque wrench measures."""
Fastener = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_-]{0,31}(\.[a-z][a-z0-9_-]{0,31})?$")]
"""A torque step, or one of its fasteners: `axle_nut` or `lock_nuts.left`."""


def _quantity(value: object) -> Quantity:
    """Read a quantity; an error pydantic can collect, so that all problems of a sheet are told at once."""
    if isinstance(value, Quantity):
        return value
    if not isinstance(value, str):
        raise PydanticCustomError("quantity", "a quantity is text with a unit", {"found": value})
    try:
        return parse_quantity(value)
    except BadInput as error:
        raise PydanticCustomError("quantity", "{why}", {"why": str(error), "found": value}) from error


def _tuple(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value


def _window(value: object) -> tuple[Quantity, ...]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise PydanticCustomError("window", "a window is a list of two quantities", {"found": value})
    return tuple(_quantity(item) for item in value)


def _as_length(value: object, whole: Quantity) -> object:
    """Return what is written in % as a length; anything else as it is, for its own key to judge."""
    if isinstance(value, list | tuple):
        return [_as_length(each, whole) for each in value]
    try:
        part = parse_quantity(value) if isinstance(value, str) else None
    except BadInput:
        return value
    return share(part, whole) if part is not None and part.kind == "share" else value


Text = Annotated[Quantity, BeforeValidator(_quantity)]
"""A quantity written as text with its unit, "36 mm"."""
Window = Annotated[tuple[Quantity, Quantity], BeforeValidator(_window)]
"""The lowest and the highest value that pass, limits included, both in the unit as written."""
Guarded = Literal["both", "low", "high"]
Title = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=r"\S")]
"""What is read first; up to 34 characters can be read from two metres."""
Aside = Annotated[str, StringConstraints(max_length=300)]
"""A line that may be left out."""
Lines = Annotated[tuple[Line, ...], BeforeValidator(_tuple)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(_tuple)]


class Step(Confined):
    """What every step has."""

    id: Id
    title: Title
    """What the person reads first, at most a short line."""
    cautions: Lines = ()
    """Shown with the step, in plain sight."""

    @property
    def checks(self) -> tuple[str, ...]:
        """The ids of the checks this step adds to the job."""
        return (self.id,)


class ConfirmStep(Step):
    """Things to see to and confirm, grouped; may be disturbed by acts."""

    kind: Literal["confirm"]
    items: Annotated[Lines, Field(min_length=1, max_length=12)]
    conditions: Ids = ()
    """Conditions, named in [conditions], that this step confirms."""
    locks: Ids = ()
    """Torque steps that this step locks (split pin, witness mark)."""
    vital: bool = False
    """Whether a life hangs on it (lock-out, guard, brake), as on every torque and on what locks one."""


class NoteStep(Step):
    """A text or a number to write down, such as the mileage."""

    kind: Literal["note"]
    ask: Line
    value: Literal["text", "number"] = "text"
    unit: Annotated[str, StringConstraints(max_length=16)] = ""
    """Unit of a number, shown beside it."""


class ZeroStep(Step):
    """A zero check: the tool reads something known (jaws closed, a gauge block), and must read it within a limit."""

    kind: Literal["zero"]
    tools: Annotated[tuple[ToolKind, ...], BeforeValidator(_tuple), Field(min_length=1)]
    ask: Line
    """How to take it, in one sentence."""
    reference: Text
    """What the tool should read: zero with closed jaws, else the size of the gauge block."""
    within: Text
    """How far from the reference it may read, limits included."""
    every: Annotated[int, Field(ge=1, le=500)] | None = None
    """After so many counted readings of the tool the check is wanted again."""

    @property
    def slots(self) -> tuple[str, ...]:
        """One nameless place."""
        return ("",)


class MeasureStep(Step):
    """Readings at one or more places, judged one by one and, for paired places, against each other."""

    kind: Literal["measure"]
    tools: Annotated[tuple[ToolKind, ...], BeforeValidator(_tuple), Field(min_length=1)]
    ask: Line
    """How to take it, in one sentence."""
    places: Annotated[Ids, Field(max_length=8)] = ()
    datum: Aside = ""
    """What the gauge measures from."""
    condition: Aside = ""
    """The condition the window holds for, named in [conditions]."""
    takes: Literal["value", "difference"] = "value"
    parts: Lines = ()
    """The two readings of a difference, in the order they are taken."""
    larger: Aside = ""
    """Which part of a difference reads larger; the value is that one minus the other."""
    repeats: Annotated[int, Field(ge=1, le=10)] = 1
    spread_within: Text | None = None
    window: Window | None = None
    aim: Text | None = None
    agree_within: Text | None = None
    """How far the two paired places may differ."""
    grows: Literal["", "rearward", "forward"] = ""
    """Which way the axle moves when the gauge reads larger."""
    governs: Aside = ""
    """The place that steers the adjustment and is read again in every round."""
    recheck: Literal["all", "governing"] = "all"
    """Whether the rounds before the torque read every place again, or only the governing one."""
    share_of: Text | None = None
    """A length that window, aim and plausible may be shares of, written in %; they become lengths once, exactly."""
    pitches: Annotated[int, Field(ge=1, le=200)] | None = None
    """Makes the step a wear check: over how many chain pitches (one less than pins) the length was read."""
    method_u: Text | None = None
    """Standard uncertainty of hands, push and placement."""
    guard: Text | None = None
    """Width of the guard band of a guarded decision; left out it is the expanded uncertainty of the reading."""
    guarded: Guarded = "both"
    """Which limits a guarded decision guards."""
    allow_coarse: bool = False
    """Whether a tool may be used whose resolution is more than a quarter of the window."""
    plausible: Window | None = None
    """Values outside are held in doubt (slip of the hand, wrong unit) instead of judged."""

    @model_validator(mode="before")
    @classmethod
    def _lengths(cls, data: object) -> object:
        """Turn shares into lengths, once and exactly; a share of nothing usable stays, for the rules to refuse."""
        if not isinstance(data, dict) or "share_of" not in data:
            return data
        whole = data["share_of"]
        try:
            whole = parse_quantity(whole) if isinstance(whole, str) else whole
        except BadInput:
            return data
        if not isinstance(whole, Quantity) or whole.kind != "length" or whole.value <= 0:
            return data
        return data | {key: _as_length(data[key], whole) for key in ("window", "aim", "plausible") if key in data}

    @property
    def slots(self) -> tuple[str, ...]:
        """The places to read; one nameless place when the step names none."""
        return self.places or ("",)

    @property
    def set_size(self) -> int:
        """How many readings make one attempt at one place."""
        return self.repeats * (2 if self.takes == "difference" else 1)

    @property
    def checks(self) -> tuple[str, ...]:
        """`step.place` for each judged place, and `step.agreement` for a pair."""
        judged = self.window is not None or self.agree_within is None
        places = tuple(check_id(self.id, place) for place in self.slots) if judged else ()
        return (*places, f"{self.id}.agreement") if self.agree_within is not None else places


class AdjustStep(Step):
    """Turning the adjusters: what it corrects, what it disturbs, what to loosen first and do after."""

    kind: Literal["adjust"]
    corrects: Annotated[Ids, Field(min_length=1)]
    disturbs: Annotated[Ids, Field(min_length=1)]
    loosen: Annotated[tuple[Fastener, ...], BeforeValidator(_tuple)] = ()
    """Torque steps or fasteners of them that must be loose before turning."""
    first: Lines = ()
    """What to do before and while loosening (split pin out, far side counter-held)."""
    after: Annotated[Lines, Field(min_length=1)]
    """What to do after the turns (seat the axle, snug the nut)."""


class TorquePass(Confined):
    """One of the passes before the last of a torque step."""

    window: Window
    aim: Text


class AdapterTable(Confined):
    """A torque adapter (extension, crowfoot): what is needed to correct for it."""

    wrench: Text
    """Centre of the square drive to the middle of the grip."""
    extension: Text
    """Centre of the square drive to the centre of the fastener."""
    angle: Annotated[int, Field(ge=0, le=180)] = 0
    """Degrees: 0 straight out, 90 square to the wrench, 180 folded back."""


class TorqueStep(Step):
    """Fasteners tightened inside a window, in order."""

    kind: Literal["torque"]
    tools: Annotated[tuple[ToolKind, ...], BeforeValidator(_tuple)] = ("torque wrench",)
    ask: Line
    fasteners: Annotated[Ids, Field(max_length=16)] = ()
    """In the order they are tightened; none when the step is itself one fastener."""
    window: Window
    aim: Text
    passes: Annotated[tuple[TorquePass, ...], BeforeValidator(_tuple), Field(max_length=4)] = ()
    """The passes before the last: every fastener goes through one, in order, before any begins the next."""
    to_slot: bool = False
    """Whether past the aim it goes on to the next slot of a pin, inside the window."""
    adapter: AdapterTable | None = None
    """A torque adapter on the wrench; window and aim hold at the fastener."""
    guard: Text | None = None
    guarded: Guarded = "both"
    allow_coarse: bool = False
    disturbs: Ids = ()
    witness: Line
    """What to look at when nobody loosened it: the witness mark."""

    @property
    def slots(self) -> tuple[str, ...]:
        """The fasteners; one nameless one when the step names none."""
        return self.fasteners or ("",)

    @property
    def checks(self) -> tuple[str, ...]:
        """One check for each fastener."""
        return tuple(check_id(self.id, fastener) for fastener in self.slots)


AnyStep = Annotated[
    ConfirmStep | NoteStep | ZeroStep | MeasureStep | AdjustStep | TorqueStep,
    Field(discriminator="kind"),
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
    due: Annotated[tuple[Due, ...], BeforeValidator(_tuple)] = ()
    step: Annotated[tuple[AnyStep, ...], BeforeValidator(_tuple), Field(min_length=1, max_length=64)]

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
        step = self.by_id[check.partition(".")[0]]
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


def check_id(step: str, place: str) -> str:
    """`step.place`, or `step` where the place has no name."""
    return f"{step}.{place}" if place else step
