"""The form of a JSON record, version 4: what each key holds. A key is never renamed; new ones raise the version."""

from typing import Literal

from logger.confined import Confined
from logger.events import Adapter, Figures, PullFigures, SetAside, SideOffset, Verdict

from .told import CommentPart, DuePart, FaultPart, NotePart, RefusalPart, ReviewPart, SuspectPart

FORMAT = "evenhand-record"
VERSION = 4


class SheetPart(Confined):
    """The sheet the job was done by; `sha256` is of the bytes of its file."""

    id: str
    title: str
    revision: str
    sha256: str
    decision: str
    conditions: dict[str, str]
    cautions: tuple[str, ...]


class OverridePart(Confined):
    """Who let a check pass as it was, why, and when."""

    name: str
    note: str
    was: str
    seq: int
    utc: str


class Standing(Confined):
    """A check at one time: its verdict, and the value it rested on, in digits as received and their unit."""

    verdict: Verdict
    value: str
    unit: str


class WorthPart(Confined):
    """What the value of a check is worth and how it was decided; figures in the unit of the value, as decimal text."""

    u: str
    """Combined standard uncertainty."""
    expanded: str
    """U = k u."""
    chance_inside: str
    """Probability, 0 to 1, that the truth lies inside the window; empty where nothing is known of the uncertainty."""
    acceptance: tuple[str | None, str | None] | None
    """The window drawn in by the guard band, limits included; None when nothing is left of it."""
    guard: str
    assumed: str
    unknown: tuple[str, ...]
    """What nobody stated, and which therefore counts as nothing."""


class CheckPart(Confined):
    """One check at the moment of the record."""

    check: str
    title: str
    kind: str
    window: tuple[str, str] | None
    """Lowest and highest value that pass, limits included, as the sheet wrote them; of a zero check, worked out."""
    aim: str | None
    """Of a zero check, what the tool should read."""
    within: str | None
    """Of a zero check, how far from that it may read."""
    agree_within: str | None
    value: str
    unit: str
    margin: str
    """Room left to the nearest limit, with its unit; negative outside, rounded away from zero; empty without one."""
    verdict: Verdict
    reason: str
    warnings: tuple[str, ...]
    worth: WorthPart | None
    attempts: int
    """How many were taken, the one it rests on included."""
    passes: bool
    as_found: Standing | None
    """As it stood before anything on the machine was changed; None where it was not read by then."""
    override: OverridePart | None
    settle: str
    """What would settle it; empty when it passes."""


class Withdrawn(Confined):
    """Why and when a reading or a pull was taken back."""

    why: str
    seq: int
    utc: str


class ReadingPart(Confined):
    """One reading, whether it counted or not; `value` as received, in the unit as sent."""

    seq: int
    utc: str
    step: str
    place: str
    part: str
    attempt: int | None
    """The number of its attempt at this place, from 1; None where it does not count."""
    suspect: bool
    """Whether a zero check of its tool failed later; nothing of it was changed."""
    set_aside: SetAside
    """Why it does not count; empty when it answered a prompt."""
    value: str
    unit: str
    quantity: str
    tool: str
    tool_kind: str
    source: str
    raw: str
    characteristic: str
    mode: str
    key_gap_ms: int | None
    """Of a typed reading, the median time between its keys."""
    withdrawn: Withdrawn | None


class PullPart(Confined):
    """One pull of a torque wrench, or a typed torque, whether it counted or not."""

    seq: int
    utc: str
    step: str
    place: str
    asked: bool
    """Whether a prompt asked for it; a pull that was not asked for still disturbs."""
    set_aside: SetAside
    own_peak: str | None
    """The tool's own figure; it decides."""
    host_peak: str | None
    """The largest sample; it cross-checks."""
    first_peak: str | None
    unit: str
    direction: str
    warnings: tuple[str, ...]
    invalid: str
    tool: str
    source: str
    how: Literal["measured", "set and clicked"]
    figures: PullFigures | None
    """The settings it was found with."""
    under_read: str | None
    """How far the largest sample may lie below the true peak, in `unit`."""
    adapter: Adapter | None
    """The adapter on the wrench; peaks are as the wrench read them."""
    at_fastener: str | None
    """The torque that decides, at the fastener, in `unit`: the peak, or what an adapter makes of it, rounded."""
    window: tuple[str, str] | None
    """What passes at the fastener in the pass it was made in, as the sheet wrote it; None where none was meant."""
    stands: Literal["low", "inside", "high"] | None
    """Where the deciding torque lies in that window, worked out exactly."""
    raw: str
    key_gap_ms: int | None
    """Of a typed torque, the median time between its keys."""
    trace: tuple[tuple[int, str], ...]
    """Milliseconds from the first sample, value."""
    withdrawn: Withdrawn | None


class LetPassPart(Confined):
    """Every override that was made, also one that ended since; `stands` says whether it holds at the record."""

    seq: int
    utc: str
    check: str
    title: str
    name: str
    note: str
    was: str
    stands: bool


class MileagePart(Confined):
    """What a note step asked for as a number: the odometer, or the hours run."""

    title: str
    value: str
    unit: str


class WearPart(Confined):
    """What a wear check says of the chain; shares as decimal text, 0.01 is 1 %."""

    step: str
    pitches: int
    pitch_mm: str
    length_mm: str
    elongation: str
    limit: str | None


class DrivePart(Confined):
    """What the adjustment goes by, in mm: the window and the aim of the slack, how far the sides may differ."""

    slack: str
    slack_title: str
    governs: str
    """The place that the rounds follow; empty where there is one only."""
    low_mm: str | None
    high_mm: str | None
    aim_mm: str | None
    sides: str
    sides_title: str
    agree_mm: str | None


class RoundPart(Confined):
    """What was read in one round of adjustment, in mm, each with its standard uncertainty; None where nothing was."""

    after: int
    """How many turnings came before: 0 is as found."""
    tight: bool
    """Whether the nut was tightened by then."""
    slack: str | None
    slack_u: str | None
    difference: str | None
    """Left minus right."""
    difference_u: str | None


class TurnPart(Confined):
    """One turning of the adjusters, in flats, positive tightens; what was read before and expected after, in mm."""

    seq: int
    utc: str
    step: str
    left: str
    right: str
    advised_left: str | None
    advised_right: str | None
    before: Figures | None
    expected: Figures | None


class ActPart(Confined):
    """Something else a person did or confirmed: `what` is the tag of its event."""

    seq: int
    utc: str
    what: Literal["loosened", "seated", "confirmed", "untouched"]
    names: tuple[str, ...]
    items: tuple[str, ...]


class ToolPart(Confined):
    """A tool that took part, with what it told of itself last."""

    tool: str
    kind: str
    profile: str
    serial: str
    model: str
    firmware: str
    address: str
    battery: int | None
    accuracy: str | None
    resolution: str | None
    calibration_u: str | None
    calibrated: str | None
    due: str | None
    certificate: str
    stated_by: str
    """Who stated these figures: the toolbook, its profile, the program; empty when nobody did."""


class HeadPart(Confined):
    """The head of the whole trail when the record was made: to be held against the trail later."""

    trail: str
    seq: int
    sha256: str
    words: str
    """Number and first 64 bits of the hash in short words."""
    key: str
    """Ed25519 public key of the bench that signed this head, in hex; empty where nobody did."""
    signature: str


class RecordFile(Confined):
    """A whole record."""

    format: Literal["evenhand-record"] = "evenhand-record"
    version: Literal[4] = 4
    job: str
    state: Literal["open", "closed"]
    machine: str
    mileage: MileagePart | None
    mileage_asked: bool
    """Whether the sheet asks for one."""
    by: str
    simulated: bool
    seed: int | None
    opened: str
    closed: str | None
    offset: str
    """Local offset from UTC where the job was opened."""
    program: str
    sheet: SheetPart
    not_to_be_ridden: bool
    warnings: tuple[str, ...]
    """What stands in plain sight above everything else."""
    checks: tuple[CheckPart, ...]
    readings: tuple[ReadingPart, ...]
    pulls: tuple[PullPart, ...]
    overrides: tuple[LetPassPart, ...]
    turns: tuple[TurnPart, ...]
    drive: DrivePart | None
    rounds: tuple[RoundPart, ...]
    wear: tuple[WearPart, ...]
    acts: tuple[ActPart, ...]
    notes: tuple[NotePart, ...]
    tools: tuple[ToolPart, ...]
    due: tuple[DuePart, ...]
    suspects: tuple[SuspectPart, ...]
    faults: tuple[FaultPart, ...]
    side_offset: SideOffset | None
    """The proven left-right difference of the machine that was allowed for."""
    refusals: tuple[RefusalPart, ...]
    comments: tuple[CommentPart, ...]
    reviews: tuple[ReviewPart, ...]
    undecoded: int
    """Frames that could not be understood; they are on the trail as hex."""
    head: HeadPart


def record_schema() -> dict[str, object]:
    """Return the JSON schema (draft 2020-12) of a record, made from these models."""
    schema = RecordFile.model_json_schema(mode="serialization")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{FORMAT}:{VERSION}",
        **schema,
        "required": list(RecordFile.model_fields),
        "title": f"Evenhand record, version {VERSION}",
    }
