"""The form of a JSON record, version 1: what each key holds. A key is never renamed; new ones raise the version."""

from typing import Literal

from .confined import Confined
from .events import Figures, SetAside, Verdict

FORMAT = "evenhand-record"
VERSION = 1


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


class CheckPart(Confined):
    """One check at the moment of the record."""

    check: str
    title: str
    kind: str
    window: tuple[str, str] | None
    """Lowest and highest value that pass, limits included, as the sheet wrote them."""
    aim: str | None
    agree_within: str | None
    value: str
    unit: str
    margin: str
    """Room left to the nearest limit, with its unit; negative outside, rounded away from zero; empty without one."""
    verdict: Verdict
    reason: str
    attempts: int
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
    raw: str
    trace: tuple[tuple[int, str], ...]
    """Milliseconds from the first sample, value."""
    withdrawn: Withdrawn | None


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


class NotePart(Confined):
    """Something written down; `step` is empty for a free note."""

    seq: int
    utc: str
    step: str
    text: str


class ToolPart(Confined):
    """A tool that took part, with what it told of itself last."""

    tool: str
    kind: str
    serial: str
    model: str
    firmware: str
    address: str
    battery: int | None


class DuePart(Confined):
    """What becomes due after the job."""

    what: str
    after: str


class RefusalPart(Confined):
    """A closing that was refused, with the checks that were open then."""

    seq: int
    utc: str
    open: tuple[str, ...]


class HeadPart(Confined):
    """The head of the whole trail when the record was made: to be held against the trail later."""

    trail: str
    seq: int
    sha256: str


class RecordFile(Confined):
    """A whole record."""

    format: Literal["evenhand-record"] = "evenhand-record"
    version: Literal[1] = 1
    job: str
    state: Literal["open", "closed"]
    machine: str
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
    turns: tuple[TurnPart, ...]
    acts: tuple[ActPart, ...]
    notes: tuple[NotePart, ...]
    tools: tuple[ToolPart, ...]
    due: tuple[DuePart, ...]
    refusals: tuple[RefusalPart, ...]
    undecoded: int
    """Frames that could not be understood; they are on the trail as hex."""
    head: HeadPart
