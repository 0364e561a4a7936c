"""The kinds of step of a job sheet, each with its keys and the checks it adds to a job."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StringConstraints, model_validator

from logger.confined import Confined, Id, Line
from logger.errors import BadInput
from logger.units import Quantity, parse_quantity, share

from .written import Aside, Fastener, Guarded, Ids, Lines, Text, Title, ToolKind, Window, as_tuple


def check_id(step: str, place: str) -> str:
    """`step.place`, or `step` where the place has no name."""
    return f"{step}.{place}" if place else step


def _as_length(value: object, whole: Quantity) -> object:
    """Return what is written in % as a length; anything else as it is, for its own key to judge."""
    if isinstance(value, list | tuple):
        return [_as_length(each, whole) for each in value]
    try:
        part = parse_quantity(value) if isinstance(value, str) else None
    except BadInput:
        return value
    return share(part, whole) if part is not None and part.kind == "share" else value


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
    tools: Annotated[tuple[ToolKind, ...], BeforeValidator(as_tuple), Field(min_length=1)]
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
    tools: Annotated[tuple[ToolKind, ...], BeforeValidator(as_tuple), Field(min_length=1)]
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
    loosen: Annotated[tuple[Fastener, ...], BeforeValidator(as_tuple)] = ()
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
    tools: Annotated[tuple[ToolKind, ...], BeforeValidator(as_tuple)] = ("torque wrench",)
    ask: Line
    fasteners: Annotated[Ids, Field(max_length=16)] = ()
    """In the order they are tightened; none when the step is itself one fastener."""
    window: Window
    aim: Text
    passes: Annotated[tuple[TorquePass, ...], BeforeValidator(as_tuple), Field(max_length=4)] = ()
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
